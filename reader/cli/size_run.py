"""What `tyremark size` does: explain a text, list the names of an ISO size, weigh a measurement."""

from __future__ import annotations

from collections.abc import Iterator

from reader.cli.show import emit
from reader.errors import InputError
from reader.fit import measure
from reader.names.meanings import Meaning, other_names
from reader.names.typed import Typed, parse
from reader.records import Size
from reader.report import percent
from reader.tables import Tables, load_tables

_WAYS = {"seat": "round the bead seat", "hub": "from hub to seat"} | {
    how: how for how in ("around", "across")
}
_WORDS = {"tyre": "tyre", "rim": "rim", "tube": "tube", "unknown": "part"}


def explain_text(text: str, market: str, as_json: bool) -> None:
    """Print what a text can mean, most likely first."""
    tables = load_tables()
    found = parse(text, tables, market)
    names = [_names(one, tables) for one in found.meanings]
    emit({"size": found, "names": names}, _text_lines(found, names, tables), as_json, tables)


def _names(one: Meaning, tables: Tables) -> tuple[str, ...]:
    """Names of a tyre's size; a rim's inner width is no part of any name."""
    return other_names(one.size if one.part == "tyre" else Size(one.size.bsd), tables)


def _text_lines(found: Typed, names: list[tuple[str, ...]], tables: Tables) -> Iterator[str]:
    yield f"{found.text}: {found.verdict.value}"
    for number in found.unread:
        yield f"  not understood: {number}"
    for contradiction in found.contradictions:
        yield f"  CONTRADICTION: {contradiction}"
    for one, also in zip(found.meanings, names, strict=True):
        memory = " [from memory]" if one.from_memory else ""
        part = _WORDS[one.part]
        yield f"  {one.size}  {part}, {percent(one.share)}: {one.why}{memory} ({one.source})"
        if also:
            yield f"      also called {', '.join(also)}"
    if found.advice:
        yield "To settle it:"
    for step in found.advice:
        yield f"  - {step}"
    for caution in found.cautions:
        yield f"Mind: {caution}"
    for key in dict.fromkeys(one.source for one in found.meanings):
        yield f"({key}) {tables.source_title(key)}"


def explain_tape(
    rim: str, tyre: str, width: float | None, error: float | None, market: str, as_json: bool
) -> None:
    """Print the sizes that a measurement can mean."""
    tables = load_tables()
    taped = measure.parse_taped(rim or tyre, error)
    if rim:
        found = measure.from_rim(taped, tables, market)
    else:
        found = measure.from_tyre(taped, tables, width, market)
    if not found:
        raise InputError(
            f"no size that exists measures {taped.diameter:.0f} mm across",
            "measure again, over the rim's outer edge or over the tread",
        )
    lines = _tape_lines(taped, found, rim != "")
    emit({"measured": taped, "matches": found}, lines, as_json, tables)


def _tape_lines(taped: measure.Taped, found: tuple[measure.Match, ...], rim: bool) -> Iterator[str]:
    yield (
        f"measured: {taped.taken:g} mm {_WAYS[taped.how]}, give or take {taped.error:g} mm: "
        f"{taped.diameter:.1f} mm across, give or take {2 * taped.sigma:.1f} mm"
    )
    for one in found[:8]:
        size = str(one.size.bsd) if rim else str(one.size)
        memory = " [from memory]" if one.from_memory else ""
        yield (
            f"  {size}  {percent(one.share)}: would measure {one.expected:.0f} mm, give or take "
            f"{2 * one.sigma:.0f} mm{memory}"
        )
    if len(found) > 8:
        yield f"  and {len(found) - 8} less likely"
    yield "A tape narrows it down and never settles it: read the ISO pair, or try a known part."
