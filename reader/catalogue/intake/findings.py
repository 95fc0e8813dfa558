"""From a `Reading` to what the catalogue keeps of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from itertools import combinations, islice
from typing import Any

from reader.catalogue.db.records import Findings, Share
from reader.catalogue.intake.facts import facts_read
from reader.catalogue.intake.surroundings import surroundings
from reader.language import N_
from reader.markings import PAIRS
from reader.pipeline import Settings
from reader.records import Marking, Reading, Verdict
from reader.selection import around, cleanest, photo_of, plainest

KEEP = 12  # candidates a part; what follows has no weight in any count
CLEAR = 1.0  # cost up to which a pair is read clearly
READ = 4  # texts that a person is shown beside the picture


def findings_of(reading: Reading, engines: Sequence[str] = Settings().engines) -> Findings:
    """What to store of a reading; needs its strips, so call it where the reading was made."""
    from reader.ocr.stamp import as_json, stamp, wanting
    from reader.report import reading_to_dict

    # A photo of a whole wheel has a thousand spellings that were tried, and looked-at places.
    slim = replace(reading, markings=cleanest(reading.markings), regions=())
    document = reading_to_dict(slim, everything=True)
    document["read"] = [one.text for one in islice(plainest(slim.markings), READ)]
    document.pop("seconds", None)  # the same photos shall give the same document
    best = reading.best
    kind = reading.part if reading.part != "unknown" or best is None else best.part
    return Findings(
        verdict=reading.verdict.value,
        kind=kind,
        shares=tuple(
            Share(c.part, c.size.bsd, c.size.width, round(c.probability, 6))
            for c in reading.candidates[:KEEP]
        ),
        document=json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":")),
        strip=strip_png(reading),
        around=surroundings(_fitting(reading)) if best is not None else None,
        rim_kind=_rim_kind(reading),
        tube_label=_tube_label(reading),
        facts=facts_read(reading.facts),
        split=split(reading),
        foreign=foreign(reading),
        seconds=reading.seconds,
        engines=as_json(stamp(engines)),
        wanting=" ".join(wanting(engines)),
        **apart(reading),
    )


def apart(reading: Reading) -> dict[str, Any]:
    """How sure the best candidate's diameter and width are, each alone.

    A width that an inch or French name gives may be some millimetres off, so it stays open.
    """
    best, bsd, width = reading.best, reading.diameter, reading.width
    if best is None:
        return {}
    verdicts: dict[str, Any] = {}
    if bsd.value is not None:
        same = bsd.value == best.size.bsd
        verdicts["bsd_verdict"] = bsd.verdict.value if same else Verdict.CANT_TELL.value
        verdicts["bsd_probability"] = bsd.probability if same else 0.0
    if best.size.width is not None and reading.verdict is not Verdict.SURE:
        same = width.value == best.size.width and not width.nominal
        verdicts["width_verdict"] = width.verdict.value if same else Verdict.CANT_TELL.value
    return verdicts


def split(reading: Reading) -> str:
    """Why the photos may show two different parts: each tells another diameter clearly, alone."""
    told: dict[str, set[int]] = {}
    for marking in reading.markings:
        photo = photo_of(marking)
        if photo is not None and marking.notation in PAIRS and marking.cost <= CLEAR:
            told.setdefault(photo.name, set()).add(int(marking.numbers["bsd_mm"]))
    names = [name for name in reading.photos if len(told.get(name, ())) == 1]
    for one, other in combinations(names, 2):
        if told[one] != told[other]:
            first, second = (f"{min(told[name])} mm ({name})" for name in (one, other))
            return N_(f"its photos tell {first} and {second}")
    return ""


def foreign(reading: Reading) -> str:
    """Why it is no part of a bicycle; '' if it may be one."""
    if reading.kind.value != "other" or not reading.kind.told:
        return ""
    return reading.advice[0] if reading.advice else N_("no bicycle part")


def _fitting(reading: Reading) -> list[Marking]:
    """The markings that say the best candidate's size, cleanest first, then all others."""
    best = reading.best

    def order(marking: Marking) -> tuple[bool, float]:
        says = best is not None and marking.numbers.get("bsd_mm") == best.size.bsd
        return (not says, marking.cost)

    return sorted(reading.markings, key=order)


def strip_png(reading: Reading) -> bytes | None:
    """The straightened picture of the marking that carries the answer, as PNG; None if none."""
    from PIL import Image

    for marking in _fitting(reading):
        pixels = around(marking)
        if pixels.size:
            out = BytesIO()
            Image.fromarray(pixels).save(out, "PNG", optimize=False)
            return out.getvalue()
    return None


def _rim_kind(reading: Reading) -> str:
    rims = [marking for marking in _fitting(reading) if marking.notation == "rim"]
    return str(rims[0].numbers.get("kind", "")) if rims else ""


def _tube_label(reading: Reading) -> str:
    tubes = [marking.text for marking in _fitting(reading) if marking.notation == "tube"]
    return tubes[0] if tubes else ""
