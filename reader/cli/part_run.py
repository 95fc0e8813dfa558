"""What `tyremark part` and `tyremark add` do."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import cast

from reader import catalogue as store
from reader.catalogue.columns import Part
from reader.catalogue.db.codes import pretty
from reader.cli.screen import print_json
from reader.errors import InputError
from reader.names.typed import parse
from reader.records import PartKind, Size
from reader.report import percent
from reader.tables import Tables, load_tables


@dataclass(frozen=True)
class Changes:
    """What to change; None leaves as it is."""

    bin: str | None
    shelf: str | None
    condition: str | None
    quantity: int | None
    note: str | None


def line(part: Part) -> str:
    """A part on one line."""
    size = part.tube_label or (str(part.size) if part.size else "size not read")
    sure = "checked" if part.settled else f"{part.verdict}, {percent(part.probability)}"
    place = " ".join(filter(None, (part.bin, part.shelf))) or "no place"
    count = f" x{part.quantity}" if part.quantity != 1 else ""
    extra = "  ".join(filter(None, (part.condition, part.note)))
    kind = f"{part.kind} {part.rim_kind}".strip()
    return f"{pretty(part.code)}  {size:>9} {kind:8} {sure:14} {place}{count}  {extra}".rstrip()


def show(
    where: str, code: str, changes: Changes, size: str, kind: str, reopen: bool, as_json: bool
) -> None:
    """Change what is asked for, then show the part and its history."""
    catalogue = store.open_catalogue(where, create=False)
    if reopen:
        store.reopen(catalogue, code)
    if size:
        tables = load_tables()
        part = kind or store.get_part(catalogue, code).kind
        meant = parse(size, tables).one(part)
        store.correct(catalogue, code, meant.size, kind, size, rim_kind=meant.edge)
    elif kind:
        raise InputError("--kind alone corrects nothing", "give --size too")
    store.change_part(catalogue, code, **asdict(changes))
    item = store.review_item(catalogue, code)
    past = store.history(catalogue, code)
    if as_json:
        answer = {"part": asdict(item.part), "photos": item.photos, "history": past}
        print_json({**answer, "reading": item.document})
        return
    print(line(item.part))
    for share in item.shares[1:]:
        print(f"  could be {share.size} {share.kind}, {percent(share.probability)}")
    for path in item.photos:
        print(f"  photo {path}")
    for entry in past:
        print(f"  {entry['made_at'][:16].replace('T', ' ')}  {entry['what']} {entry['detail']}")


def add(
    where: str,
    size: str,
    kind: str,
    place: tuple[str, str],
    quantity: int,
    condition: str,
    note: str,
    code: str,
) -> None:
    """Add a part by what a person read on it."""
    if kind not in ("tyre", "rim", "tube"):
        raise InputError(f"no kind of part {kind!r}", "use one of: tyre, rim, tube")
    catalogue = store.open_catalogue(where)
    tables = load_tables()
    meant, rim_kind, tube_label = _meant(size, kind, tables)
    added = store.add_part(
        catalogue,
        None,
        (),
        store.Place(*place),
        size=meant,
        kind=cast(PartKind, kind),
        code=code or None,
        quantity=quantity,
        condition=condition,
        note=note,
        rim_kind=rim_kind,
        tube_label=tube_label,
    )
    print(line(added))


def _meant(text: str, kind: str, tables: Tables) -> tuple[Size, str, str]:
    if kind == "tube":
        from reader.fit.tube import parse_tube

        tube = parse_tube(text)
        return Size(tube.bsds[0], tube.width_min), "", text
    meant = parse(text, tables).one(kind)
    return meant.size, meant.edge, ""
