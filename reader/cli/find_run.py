"""What `tyremark find` and `tyremark pairs` do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from reader import catalogue as store
from reader.catalogue.cells import checked
from reader.catalogue.columns import Part
from reader.catalogue.db.codes import pretty
from reader.cli.part_list import table
from reader.cli.part_run import line
from reader.cli.screen import print_json
from reader.errors import InputError
from reader.fit.doubtful import LOOK_CLOSER
from reader.fit.grades import GRADES, Grade
from reader.fit.mount import CAUTIONS
from reader.language import said
from reader.names.parts import rim_of, tyre_of
from reader.names.typed import parse
from reader.records import Size
from reader.report import percent
from reader.tables import load_tables


@dataclass(frozen=True)
class Where:
    """Where to look; '' for everywhere."""

    bin: str = ""
    shelf: str = ""
    depot: str = ""


@dataclass(frozen=True)
class Wishes:
    """What to look for, and where; '' for any."""

    size: str
    kind: str
    place: Where
    state: str
    text: str
    limit: int
    said: Mapping[str, str | None]  # columns with the value that they shall have
    any_condition: bool = False
    hub: int | None = None  # spoke holes of the hub that a rim shall go on


def run(
    where: str, wishes: Wishes, fits: str, tubes: str, photo: Path | None, as_json: bool
) -> None:
    """Find and print; what a text can mean beside is found too, under a line that says so."""
    catalogue, tables = store.open_catalogue(where, create=False), load_tables()
    place = wishes.place
    store.assure_known(catalogue, kind=wishes.kind, state=wishes.state, **asdict(place))
    if wishes.limit < 1:
        raise InputError(f"--limit {wishes.limit}", "give 1 or more")
    narrow: dict[str, Any] = {"depot": place.depot, "all_conditions": wishes.any_condition}
    if photo is not None:
        _print([store.find_by_photo(catalogue, photo)], as_json)
        return
    if not (fits or tubes or wishes.size):
        _print(_search(catalogue, wishes, None), as_json)
        return
    typed = parse(fits or tubes or wishes.size, tables)
    part = wishes.kind
    if fits:
        part = "rim" if typed.kind == "rim" or wishes.kind == "tyre" else "tyre"
    part = "tyre" if tubes else part
    # a program gets one list, so it must name one size
    meant = (typed.one(part),) if as_json else typed.likely(part)
    for one in meant:
        if len(meant) > 1:
            print(said(f"if it is {one.size.bsd}:"))
        if fits:
            other = rim_of(one, tables) if part == "rim" else tyre_of(one, tables)
            found = store.fits(
                catalogue, other, tables, place.bin, wishes.limit, hub=wishes.hub, **narrow
            )
            _fits(found, fits, as_json)
        elif tubes:
            suiting = store.tubes_for(catalogue, one.size, place.bin, wishes.limit, **narrow)
            _tubes(suiting, as_json)
        else:
            _print(_search(catalogue, wishes, one.size), as_json)


def _search(catalogue: store.Catalogue, wishes: Wishes, size: Size | None) -> list[Part]:
    bsd, width = (size.bsd, size.width) if size else (None, None)
    return store.search(
        catalogue,
        kind=wishes.kind,
        bsd=bsd,
        width=None if width is None else (width, width),
        **asdict(wishes.place),
        facts=checked(wishes.said),
        state=wishes.state,
        text=wishes.text,
        limit=wishes.limit,
    )


def _print(parts: list[Part], as_json: bool) -> None:
    if as_json:
        _json([{**asdict(part), "size": _size(part)} for part in parts])
        return
    if not parts:
        nothing()
        return
    for text in table(parts):
        print(text)


def nothing() -> None:
    """Say that there is none."""
    print(said("Nothing found in the catalogue."))


def _size(part: Part) -> str | None:
    return None if part.told_size is None else str(part.told_size)


def _json(value: Any) -> None:
    print_json(value)


def _fits(found: list[store.Found], text: str, as_json: bool) -> None:
    if as_json:
        _json([_as_dict(one) for one in found])
        return
    if not found:
        nothing()
        return
    for row in table([one.part for one in found], [_word(one) for one in found], said("fit")):
        print(row)
    head = said(f"For {text}, by published width tables; a maker's word overrules them. Cautions:")
    print(f"\n{head}")
    cautions = dict.fromkeys(one.fit.words for one in found if one.fit.width_open)
    cautions |= dict.fromkeys(CAUTIONS)
    for one in found:
        cautions.update(dict.fromkeys(c for fit, _ in one.fit.outcomes for c in fit.checks))
    for caution in cautions:
        print(f"  - {said(caution)}")


def _word(found: store.Found) -> str:
    if found.fit.width_open:
        return said(LOOK_CLOSER)
    grade, if_right = found.fit.grade, found.fit.if_right
    if grade is not Grade.CANT_TELL or if_right is Grade.CANT_TELL:
        return said(grade.value)
    return said(f"read again; if right: {if_right.value}")


def _as_dict(found: store.Found) -> dict[str, Any]:
    fit = found.fit
    best = fit.outcomes[0][0] if fit.outcomes else None
    return {
        "part": {**asdict(found.part), "size": _size(found.part)},
        "grade": fit.grade.value,
        "if_right": fit.if_right.value,
        "chance": round(fit.chance, 4),
        "words": fit.words,
        "width_open": fit.width_open,
        "reasons": best.reasons if best else (),
        "checks": best.checks if best else (),
        "cautions": best.cautions if best else CAUTIONS,
    }


def _tubes(found: list[store.FoundTube], as_json: bool) -> None:
    if as_json:
        rows = [(asdict(one.part), one.verdict) for one in found]
        _json([{"part": p, "grade": v.grade.value, "reason": v.reason} for p, v in rows])
        return
    if not found:
        nothing()
        return
    suiting = [said(one.verdict.grade.value) for one in found]
    for text in table([one.part for one in found], suiting, said("suits")):
        print(text)


def pairs(
    where: str,
    place: Where,
    any_condition: bool,
    limit: int,
    as_json: bool,
    hub: int | None = None,
) -> None:
    """Print the pairs, then what stays alone."""
    if limit < 1:
        raise InputError(f"--limit {limit}", "give 1 or more")
    catalogue = store.open_catalogue(where, create=False)
    store.assure_known(catalogue, **asdict(place))
    narrow: dict[str, Any] = {"depot": place.depot, "all_conditions": any_condition, "hub": hub}
    made, alone = store.pairs(catalogue, load_tables(), place.bin, **narrow)
    if as_json:
        _json({"pairs": [_pair(one) for one in made[:limit]], "alone": [_lone(x) for x in alone]})
        return
    for one in made[:limit]:
        print(f"{_grade(one)}\n  {line(one.rim)}\n  {line(one.tyre)}")
    print(said(f"{len(made)} pairs, {min(len(made), limit)} shown."))
    for grade in GRADES:
        count = sum(one.grade is grade for one in made)
        if count:
            print(f"  {count} {said(grade.value)}")
    for lone in alone[:limit]:
        print(said(f"alone: {lone.pieces} x {lone.kind} {lone.size}"))
    for caution in CAUTIONS if made else ():
        print(f"  - {said(caution)}")


def _grade(one: store.Pair) -> str:
    if one.width_open:
        right = said(f"{percent(one.chance)} that both diameters are right")
        return f"{said(LOOK_CLOSER)} ({right})"
    if one.grade is one.if_right:
        return said(one.grade.value)
    return said(
        f"read again ({percent(one.chance)} that both are right); if right: {one.if_right.value}"
    )


def _pair(one: store.Pair) -> dict[str, Any]:
    codes = {"rim": pretty(one.rim.code), "tyre": pretty(one.tyre.code)}
    sizes = {"rim_size": _size(one.rim), "tyre_size": _size(one.tyre)}
    grades = {"grade": one.grade.value, "if_right": one.if_right.value}
    chance = {"chance": round(one.chance, 4), "width_open": one.width_open}
    return {**codes, **sizes, **grades, **chance}


def _lone(one: store.Lone) -> dict[str, Any]:
    return {"kind": one.kind, "size": str(Size(one.size.bsd, one.size.width)), "pieces": one.pieces}
