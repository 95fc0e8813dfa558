"""Typed sizes: the same notations and tables as for photos, for what a visitor types in."""

from __future__ import annotations

import re
from dataclasses import dataclass

from reader.errors import InputError
from reader.markings import parse_text
from reader.names.meanings import meanings
from reader.records import PartKind, Size
from reader.tables import load_tables

EXAMPLES = "write it as marked, for example 37-590, 26 x 1 3/8, 700x28C or 622x19C"
ENOUGH = 0.97  # share from which one meaning of a text may stand for it
BARE = re.compile(r"(?:\?\s*-\s*)?(\d{2,3})(?:\s*x\s*\?|\s*mm)?", re.ASCII)


@dataclass(frozen=True)
class Meant:
    """One size that a typed text can mean; `share` of the belief, 0..1."""

    size: Size
    part: PartKind
    share: float
    why: str = ""
    from_memory: bool = False
    rim_kind: str = ""


def meant_by(text: str, part: str = "unknown", market: str = "world") -> list[Meant]:
    """Everything that the text can mean, most likely first.

    Args:
        text: one marking, or a bare bead seat diameter in mm.
        part: 'tyre', 'rim' or 'tube' leaves out what is no such part, if anything remains.
        market: whose habits count.

    Raises:
        InputError: nothing in it is a size.
    """
    bare = BARE.fullmatch(text.strip())
    if bare and int(bare[1]) in load_tables().seat:
        kind: PartKind = "rim" if part == "rim" else "tyre"
        return [Meant(Size(int(bare[1])), kind, 1.0, "the bead seat diameter alone")]
    found = _found(text, market)
    fitting = [one for one in found if one.part == part] or found
    if not fitting:
        raise InputError(f"{text[:40]!r} is not a size that is known", EXAMPLES)
    whole = sum(one.share for one in fitting)
    scaled = [
        Meant(m.size, m.part, m.share / whole, m.why, m.from_memory, m.rim_kind) for m in fitting
    ]
    return sorted(scaled, key=lambda one: -one.share)


def _found(text: str, market: str) -> list[Meant]:
    """Meanings of the clean markings; the same size of the same part once.

    Typed text is not mended: what would be a smudge in a photo is a slip of the finger here.
    """
    found: dict[tuple[Size, str], Meant] = {}
    for marking in parse_text(text):
        if marking.cost > 0:
            continue
        kind = str(marking.numbers.get("kind", ""))
        for one in meanings(marking.notation, marking.numbers, load_tables(), market):
            key = (one.size, one.part)
            if key not in found or found[key].share < one.share:
                found[key] = Meant(one.size, one.part, one.share, one.why, one.from_memory, kind)
    return list(found.values())


def typed_size(text: str, part: str = "unknown", market: str = "world") -> Meant:
    """The one size that the text means.

    Raises:
        InputError: it means none, or several that differ in diameter.
    """
    found = likely(text, part, market)
    if len({one.size.bsd for one in found}) > 1:
        options = " or ".join(str(one.size) for one in found[:4])
        raise InputError(f"{text[:40]!r} can be {options}", "type the ISO size that it is")
    return found[0]


def likely(text: str, part: str = "unknown", market: str = "world") -> list[Meant]:
    """The fewest meanings that hold `ENOUGH` of the belief, most likely first.

    Raises:
        InputError: nothing in it is a size.
    """
    found, held = [], 0.0
    for one in meant_by(text, part, market):
        found.append(one)
        held += one.share
        if held >= ENOUGH:
            break
    return found
