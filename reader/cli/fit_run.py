"""What `tyremark fit` does: grade a pair, or list partners for one part."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reader.cli.fit_text import lay_fit, lay_list, lay_read
from reader.cli.layout import shown
from reader.cli.show import emit
from reader.errors import ExitCode, InputError
from reader.fit.doubtful import fit_reading
from reader.fit.grades import ALLOWED, GRADES, Grade
from reader.fit.mount import fit
from reader.fit.partners import Listing, rims_for, tyres_for
from reader.fit.parts import Edge, Rim, RimKind, Tyre, parse_range
from reader.fit.pressure_text import parse_printed
from reader.language import said
from reader.names.parts import rim_of, tyre_of
from reader.names.typed import Typed, parse
from reader.records import PartKind, Reading
from reader.tables import Tables, load_tables


@dataclass(frozen=True)
class Wishes:
    """What the user told beside the two sizes."""

    kind: str = ""
    edge: str = ""
    tubeless: bool | None = None
    hookless: bool | None = None
    folding: bool | None = None
    tyre_max: str = ""
    tyre_min: str = ""
    rim_max: str = ""
    rim_allows: str = ""
    tyre_allows: str = ""
    use: str = "road"
    market: str = "world"
    why: bool = False


def run(parts: list[str], wishes: Wishes, as_json: bool) -> ExitCode:
    """Grade two parts, or list what goes with one; the exit status says whether any goes."""
    tables = load_tables()
    typed = [parse(text, tables, wishes.market) for text in parts]
    if len(typed) == 1:
        return _list(typed[0], wishes, as_json, tables)
    typed.sort(key=lambda one: one.kind == "rim")  # a tyre first, then a rim
    for kind, other in (("tyre", "rim"), ("rim", "tyre")):
        if all(one.kind == kind for one in typed):
            _two_of_a_kind(typed, kind, other)
    tyre, rim = tyre_typed(typed[0], wishes, tables), rim_typed(typed[1], wishes, tables)
    if isinstance(tyre, Tyre) and isinstance(rim, Rim):
        found = fit(tyre, rim, tables, wishes.use)
        emit(found, shown(lay_fit(found, tables), wishes.why), as_json, tables)
        return _status(found.grade)
    read = fit_reading(tyre, rim, tables, wishes.use, rim_kind(wishes.kind))
    emit(read, shown(lay_read(read, tables), wishes.why), as_json, tables)
    return _status(read.grade)


def _status(grade: Grade) -> ExitCode:
    return ExitCode.OK if grade in ALLOWED else ExitCode.NOTHING_READ


def _two_of_a_kind(typed: list[Typed], kind: str, other: str) -> None:
    """Raise InputError: one of the two must be the other part."""
    example = {"rim": "622x19C", "tyre": "37-622"}[other]
    raise InputError(
        f"'{typed[0].text}' and '{typed[1].text}' are two {kind}s",
        f"give a {kind} and a {other}, for example {example} for the {other}",
    )


def rim_kind(text: str) -> RimKind:
    """The kind of rim that an option names.

    Raises:
        InputError: no such kind.
    """
    try:
        return RimKind(text.upper())
    except ValueError as error:
        listed = ", ".join(kind for kind in RimKind if kind)
        raise InputError(f"no kind of rim '{text}'", f"give one of {listed}") from error


def tyre_typed(typed: Typed, wishes: Wishes, tables: Tables) -> Tyre | Reading:
    """The tyre with what the options say of it, or a reading where the text leaves doubt."""
    if not _measured(typed, "tyre"):
        return typed.reading()
    tyre = tyre_of(typed.one("tyre"), tables)
    try:
        edge = Edge(wishes.edge.lower()) if wishes.edge else tyre.edge
    except ValueError as error:
        raise InputError(f"no edge '{wishes.edge}'", f"give one of {', '.join(Edge)}") from error
    low, high = _pressures(wishes)
    return replace(
        tyre,
        edge=edge,
        tubeless=wishes.tubeless,
        hookless=wishes.hookless,
        folding=wishes.folding,
        min_kpa=low,
        max_kpa=high,
        rim_range=parse_range(wishes.tyre_allows, "19-25") if wishes.tyre_allows else None,
    )


def _pressures(wishes: Wishes) -> tuple[float | None, float | None]:
    """The tyre's limits; a range as printed may stand in either option."""
    low = high = None
    if wishes.tyre_max:
        printed = parse_printed(wishes.tyre_max)
        low, high = printed.low, printed.high
    if wishes.tyre_min:
        least = parse_printed(wishes.tyre_min)
        low = least.low if least.low is not None else least.high
        high = high if high is not None or least.low is None else least.high
    return low, high


def _measured(typed: Typed, part: PartKind) -> bool:
    """Whether the text gives millimetres for this part, so that no doubt is left but the part."""
    return not typed.cautions and len(typed.likely(part)) == 1


def rim_typed(typed: Typed, wishes: Wishes, tables: Tables) -> Rim | Reading:
    """The rim with what the options say of it, or a reading where the text leaves doubt."""
    if not _measured(typed, "rim"):
        return typed.reading()
    rim = rim_of(typed.one("rim"), tables)
    given = rim_kind(wishes.kind)
    if given and rim.kind and given is not rim.kind:
        raise InputError(
            f"the rim's mark says {rim.kind}, the option {given}", "leave one of them out"
        )
    return replace(
        rim,
        kind=given or rim.kind,
        max_kpa=parse_printed(wishes.rim_max).high if wishes.rim_max else None,
        tyre_range=parse_range(wishes.rim_allows) if wishes.rim_allows else None,
    )


def _list(typed: Typed, wishes: Wishes, as_json: bool, tables: Tables) -> ExitCode:
    """What goes with one part; where its text can mean several sizes, with each of them."""
    meant = typed.likely("rim" if typed.kind == "rim" else "tyre")
    named = typed.kind != "rim" and bool(typed.cautions)  # an inch or French name
    exact = [parse(str(one.size), tables) for one in meant] if named else [typed]
    found = [_partners(one, wishes, tables) for one in exact]
    lines: list[str] = []
    for one, (title, what, listing) in zip(exact, found, strict=True):
        laid = lay_list(title, what, listing, tables)
        if named:
            laid.head = said(f"if it reads {one.text}: {laid.head}")
        lines += shown(laid, wishes.why)
    data = [_listed(title, listing) for title, _, listing in found]
    emit(data[0] if len(data) == 1 else {"either": data}, lines, as_json, tables)
    if len(found) > 1:
        return ExitCode.NOTHING_READ
    grades = (line.fit.grade for line in found[0][2])
    return _status(min(grades, key=GRADES.index, default=Grade.NEVER))


def _partners(typed: Typed, wishes: Wishes, tables: Tables) -> tuple[str, str, Listing]:
    """Title, what the numbers are, and the parts that go with this one."""
    if typed.kind == "rim":
        rim = rim_typed(typed, wishes, tables)
        assert isinstance(rim, Rim)
        title = said(f"tyres that may go on {rim}")
        return title, said("tyres"), tyres_for(rim, tables, wishes.use)
    tyre = tyre_typed(typed, wishes, tables)
    assert isinstance(tyre, Tyre)
    kind = rim_kind(wishes.kind) or RimKind.CROCHET
    listing = rims_for(tyre, tables, kind, wishes.use)
    return said(f"rims ({kind}) that may take {tyre.size}"), said("inner widths"), listing


def _listed(title: str, listing: Listing) -> dict[str, object]:
    lines = [
        {"size": line.size, "grade": line.fit.grade, "reasons": line.fit.reasons}
        for line in listing
    ]
    return {"title": title, "lines": lines, "holes": listing.holes}
