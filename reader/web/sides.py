"""The tyre and the rim that a form or an address asks about, typed or read on the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.doubtful import ReadFit, fit_reading
from reader.fit.mount import Fit, fit
from reader.fit.parts import Edge, Rim, RimKind, Tyre, parse_range
from reader.fit.pressure_text import Printed, parse_printed
from reader.names.meaning import Meaning
from reader.names.typed import parse
from reader.records import PartKind, Reading, Verdict
from reader.tables import load_tables
from reader.web.bench import Bench
from reader.web.parts import Part
from reader.web.service import decided_kind, size_of

YES_NO = {"yes": True, "no": False}


@dataclass(frozen=True)
class Side:
    """One side of a pairing.

    `typed` is what stands in the field; `part` the bench part behind it, if any; `options` what a
    typed text may mean when it means more than one diameter, and then `meant` is None.
    """

    kind: PartKind
    typed: str = ""
    part: Part | None = None
    meant: Meaning | None = None
    options: tuple[Meaning, ...] = ()

    @property
    def reading(self) -> Reading | None:
        """The reading whose doubt counts; None where a person's word stands."""
        return self.part.reading if self.part and self.part.chosen is None else None

    @property
    def unclear(self) -> bool:
        """Whether a part was named that was not read surely enough to build on it."""
        return self.part is not None and self.meant is None

    @property
    def doubted(self) -> bool:
        """Whether the size stands only if a reading that is not sure is right."""
        return (
            self.meant is not None
            and self.reading is not None
            and self.reading.diameter.verdict is not Verdict.SURE
        )

    @property
    def given(self) -> bool:
        """Whether one size, or one reading, is known."""
        return self.meant is not None or self.reading is not None


def side(
    kind: PartKind, query: Mapping[str, str], bench: Bench, market: str, guess: bool = False
) -> Side:
    """The side that `?tyre=`, `?tyre_part=` (or rim) name.

    A part that was read stands for what is told of it; with `guess` for its best candidate, for
    those who carry the doubt on by themselves.

    Raises:
        InputError: the text is not a size.
    """
    typed = short(query.get(kind, ""), "a size")
    part = bench_part(query.get(f"{kind}_part", ""), bench)
    if part is not None and part.reading is not None:
        best = part.reading.best
        size = size_of(part) or (best.size if best and guess else None)
        meant = Meaning(size, kind, 1.0, "", "", edge=part.edge) if size else None
        return Side(kind, "", part, meant)
    if not typed:
        return Side(kind)
    found = parse(typed, load_tables(), market).likely(kind)
    if len({one.size.bsd for one in found}) > 1:
        return Side(kind, typed, options=found[:4])
    return Side(kind, typed, meant=found[0])


def bench_part(name: str, bench: Bench) -> Part | None:
    """The part of that name, if it is still on the bench."""
    try:
        return bench.get(name) if name else None
    except KeyError:
        return None


def on_bench(bench: Bench, kind: PartKind) -> list[Part]:
    """Read parts on the bench that can stand on this side, newest first."""
    return [
        part
        for part in bench.latest(30)
        if part.reading is not None
        and size_of(part) is not None
        and decided_kind(part) in (kind, "unknown")
    ]


def tyre_of(meant: Meaning, query: Mapping[str, str]) -> Tyre:
    """The tyre with what the form says of it.

    Raises:
        InputError: a pressure that makes no sense, or a size beyond any bicycle.
    """
    seat = load_tables().seat.get(meant.size.bsd)
    edge = Edge.BEADED if seat is not None and seat.kind == "beaded" else Edge.WIRED
    least, most = pressures(query.get("tyre_min", "")), pressures(query.get("tyre_max", ""))
    low = most.low if least is None and most else (least.low or least.high if least else None)
    return Tyre(
        meant.size,
        Edge.TUBULAR if query.get("edge") == "tubular" else edge,
        tubeless=YES_NO.get(query.get("tubeless", "")),
        hookless=YES_NO.get(query.get("hookless", "")),
        folding=YES_NO.get(query.get("folding", "")),
        min_kpa=low,
        max_kpa=most.high if most else None,
        rim_range=widths(query.get("tyre_allows", "")),
    )


def rim_of(meant: Meaning, query: Mapping[str, str]) -> Rim:
    """The rim with what the form says of it.

    Raises:
        InputError: a pressure or an edge that makes no sense, or a size beyond any bicycle.
    """
    most = pressures(query.get("rim_max", ""))
    return Rim(
        meant.size,
        rim_kind(query, meant),
        most.high if most else None,
        widths(query.get("rim_allows", "")),
    )


def rim_kind(query: Mapping[str, str], meant: Meaning | None) -> RimKind:
    """The rim's edge: from the form, else from the letters behind the size, else by diameter.

    Raises:
        InputError: there is no such edge.
    """
    said = query.get("edge", "").strip()[:12].upper() or (meant.edge if meant else "")
    try:
        kind = RimKind(said)
    except ValueError as error:
        known = ", ".join(one.value for one in RimKind if one)
        raise InputError(f"{said!r} is no kind of rim edge", f"choose one of {known}") from error
    seat = load_tables().seat.get(meant.size.bsd) if meant else None
    if kind is RimKind.UNKNOWN and seat is not None and seat.kind == "beaded":
        return RimKind.BEADED
    return kind


def pressures(text: str) -> Printed | None:
    """Limits as printed on a part, with their unit; None if empty.

    Raises:
        InputError: no unit, or not a pressure.
    """
    return parse_printed(text.strip()[:40]) if text.strip() else None


def widths(text: str) -> tuple[float, float] | None:
    """The widths in mm that a maker allows, from and to; None if empty.

    Raises:
        InputError: no range of widths.
    """
    return parse_range(text.strip()[:30]) if text.strip() else None


KINDS: tuple[PartKind, ...] = ("tyre", "rim")


def paired(
    tyre: Side, rim: Side, query: Mapping[str, str], use: str
) -> tuple[Fit | None, ReadFit | None]:
    """Grade tyre and rim as named, and, where one was read, with the doubt of its reading.

    Raises:
        InputError: a size or pressure that makes no sense, or a side without any.
    """
    tables = load_tables()
    read = None
    if tyre.reading is not None or rim.reading is not None:
        read = fit_reading(
            tyre.reading or tyre_of(need(tyre), query),
            rim.reading or rim_of(need(rim), query),
            tables,
            use,
            rim_kind(query, rim.meant),
        )
    if tyre.meant is None or rim.meant is None:
        return None, read
    return fit(tyre_of(tyre.meant, query), rim_of(rim.meant, query), tables, use), read


def need(given: Side) -> Meaning:
    """What is meant on a side that has no reading.

    Raises:
        InputError: nothing.
    """
    if given.meant is None:
        raise InputError(f"the {given.kind} has no size", "type it as marked")
    return given.meant


def short(text: str, what: str, most: int = 60) -> str:
    """A text of an address without surrounding space.

    Raises:
        InputError: it is longer than such a text can be; nothing is cut off in silence.
    """
    text = text.strip()
    if len(text) > most:
        raise InputError(
            f"{text[:20]!r} and so on is too long for {what}", f"{most} letters at most"
        )
    return text
