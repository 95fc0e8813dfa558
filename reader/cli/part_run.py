"""What `tyremark part` and `tyremark add` do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, cast

from reader import catalogue as store
from reader.catalogue.cells import one_of
from reader.catalogue.columns import KINDS, Part
from reader.cli.part_list import cells
from reader.cli.screen import print_json
from reader.errors import InputError, one_line
from reader.language import N_, said
from reader.names.typed import parse
from reader.records import PartKind, Size
from reader.report import percent
from reader.tables import Tables, load_tables


@dataclass(frozen=True)
class Acts:
    """What else to do with a part, and who says so."""

    person: str = ""
    reopen: bool = False
    foreign: bool = False


def line(part: Part) -> str:
    """A part on one line."""
    code, size, kind, state, sure, place, _, rest = cells(part)
    count = f" x{part.quantity}" if part.quantity != 1 else ""
    place = place or said("no place")
    return f"{code}  {size:>9} {kind:8} {state}, {sure}  {place}{count}  {rest}".rstrip()


def show(
    where: str,
    code: str,
    given: Mapping[str, str | None],
    size: str,
    kind: str,
    acts: Acts,
    as_json: bool,
) -> None:
    """Change what is asked for, then show the part and its history."""
    catalogue = store.open_catalogue(where, create=False)
    person = acts.person
    if acts.reopen:
        store.reopen(catalogue, code, person)
    if acts.foreign:
        store.set_aside(catalogue, code, person)
    if size:
        tables = load_tables()
        part = kind or store.get_part(catalogue, code).kind
        meant = parse(size, tables).one(part)
        store.correct(catalogue, code, meant.size, kind, size, person, meant.edge)
    elif kind:
        raise InputError("--kind alone corrects nothing", "give --size too")
    store.change_part(catalogue, code, person, **given)
    item = store.review_item(catalogue, code)
    past = store.history(catalogue, code)
    if as_json:
        answer = {"part": asdict(item.part), "photos": item.photos, "history": past}
        print_json({**answer, "reading": item.document})
        return
    print(line(item.part))
    for share in item.shares[1:]:
        print(said(f"  could be {share.size} ({share.kind}), {percent(share.probability)}"))
    for path in item.photos:
        print(said(f"  photo {one_line(path)}"))
    for entry in past:
        by = f"  {said('by')} {entry['person']}" if entry["person"] else ""
        moment = entry["made_at"][:16].replace("T", " ")
        print(one_line(f"  {moment}  {said(entry['what'])} {said(entry['detail'])}{by}"))


def add(
    where: str,
    size: str,
    kind: str,
    code: str,
    person: str,
    given: Mapping[str, str | None],
) -> None:
    """Add a part by what a person read on it."""
    kind = one_of(N_("no kind of part"), kind, KINDS[:3])
    catalogue = store.open_catalogue(where)
    meant, rim_kind, tube_label = _meant(size, kind, load_tables())
    read: dict[str, Any] = {"rim_kind": rim_kind, "tube_label": tube_label}
    told: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    added = store.add_part(
        catalogue,
        size=meant,
        kind=cast(PartKind, kind),
        code=code or None,
        person=person,
        **{**read, **told},
    )
    print(line(added))


def _meant(text: str, kind: str, tables: Tables) -> tuple[Size, str, str]:
    if kind == "tube":
        from reader.fit.tube import parse_tube

        tube = parse_tube(text)
        return Size(tube.bsds[0], tube.width_min), "", text
    meant = parse(text, tables).one(kind)
    return meant.size, meant.edge, ""
