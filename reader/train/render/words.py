"""Words on rendered tyres, rims and tubes: invented makers and models, and the trade's phrases.

Every name is invented and was compared with the makers and models of tyres, rims, tubes and
bicycles known to the author; none is one. The phrases are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

_MAKERS = """
Tornaveld Quillmark Brevantis Oskerholm Varnlund Pellorin Dravenhout Halvettor Mirrowen Ombrask
Fennigore Torsvane Wexholt Lindravo Garnisk Yarrowby Hobrecken Zanthorpe Nordquay Jasprell Cavidor
Rastellon Ektavian Ploverdale Thornuck Corvanth Dunmerrel Selkova Wolmere Grethlin Pintagon
Tarquenne Bolstrand Ridgewick Vossarine Kettlund Aldermoss Okendale Trellimar Ganzeveer Ibbenrath
Juxwell
"""

_MODELS = """
Duskrunner Mossway Copperline Harrowgrip Slatefoot Tramwise Otterpath Lanternride Ferrygate
Cinderloop Woolpacker Peatwalker Brickyarder Rainledger Kerbmouse Twinfurrow Quarrygoat Hedgeway
Saltmarsher Puddlejay Nightferry Milldrover Sparrowjet Ochrefield Tidewarden Barnswift Gullyfox
Zinkway Felthorn Cobblewren Jettybird Marlbarrow Orchardist Vaultbeam Willowhack Xylowave
Plumbwright Knotfallow Dovecrest Hurrowmere Lochbarrow Hazelpacer
"""

_SLOGANS = """
SHARDSTOP FIBRELOOM THORNFLANK GRIPLOFT DRYSEAT TOUGHFLANK QUIETWEAVE ROLLEASY GLASSTURN
STEADYBEAD LONGWHEEL MUDSHED CLAYGRIP TWINBELT RAINHOLD COOLCARCASS SILKROLL STONEGUARDIAN
"""

_RIMS = """
Arcwellen Spindral Tenorim Planewright Hoopsmith Ringwarden Lathebright Bevelund Truemarrow
Anvilhoop Fluxwald Quadrivel Circumbrel Vellorim Hubstead Spokewald Evenring Polyward
"""

_PLACES = "Norlund Vellmark Estavia Brunnow Halcaster Ostermere Pellavia Quensby"


def _phrases(text: str) -> list[str]:
    return text.strip().replace("\n", "|").split("|")


TYRE_PHRASES = _phrases(
    """
TUBELESS READY|TUBELESS|TUBE TYPE|FOLDING|WIRED|REFLECTIVE|PUNCTURE GUARD|PUNCTURE GUARD LAYER
PUNCTURE PROTECTION|PROTECTION LEVEL 5|E-BIKE READY|E-BIKE READY 50|REAR|FRONT|DRIVE|ROTATION
ROTATION FRONT|DRIVE REAR|DIRECTION|THIS SIDE DRIVE|INNER TUBE REQUIRED|FOR HOOKED RIMS ONLY
DO NOT EXCEED MAX PRESSURE|RUBBER COMPOUND 60A|DUAL COMPOUND|SKINWALL|NYLON|ALL WEATHER|ALL TERRAIN
HIGH PRESSURE|MOUNT ON STRAIGHT SIDE OR CROCHET RIM|READ THE MANUAL|LIGHT|CITY|TOUR|TRAIL|ROAD
"""
)

RIM_PHRASES = _phrases(
    """
DOUBLE WALL|SINGLE WALL|TUBELESS READY|HOOKLESS|WEAR INDICATOR|DISC ONLY|RIM BRAKE|ALLOY 6061-T6
6005A|EYELETS|WELDED|SLEEVED|MAX TYRE PRESSURE SEE MANUAL|SAFETY LINE|MACHINED|36H|32H|28H|24H|20H
ALUMINIUM|WHEN GROOVE IS WORN REPLACE RIM|CHECK WEAR|ASYM
"""
)

TUBE_PHRASES = _phrases(
    """
BUTYL|INNER TUBE|PRESTA 40mm|PRESTA 48mm|PRESTA 60mm|VALVE 35mm|AV 40|SV 42|SV 60|DV 26|FV 48|LIGHT
REMOVABLE CORE|LATEX|KEEP AWAY FROM OIL|RECYCLE
"""
)


@dataclass(frozen=True)
class Names:
    """Invented words of one set; no word is in both sets."""

    makers: tuple[str, ...]
    models: tuple[str, ...]
    slogans: tuple[str, ...]
    rims: tuple[str, ...]
    places: tuple[str, ...]


def _part(words: str, held_out: bool) -> tuple[str, ...]:
    """Every sixth word is held out."""
    return tuple(word for index, word in enumerate(words.split()) if (index % 6 == 5) == held_out)


def names(held_out: bool = False) -> Names:
    """The invented words for training, or those held out from it."""
    lists = (_MAKERS, _MODELS, _SLOGANS, _RIMS, _PLACES)
    return Names(*(_part(words, held_out) for words in lists))
