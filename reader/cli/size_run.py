"""What `tyremark size` does: explain a text, list the names of an ISO size, weigh a measurement."""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.cli.show import emit
from reader.errors import InputError
from reader.fit import measure
from reader.markings import parse_text
from reader.names import explain as answer
from reader.names.iso5775 import parse_rim, parse_size
from reader.names.meanings import Meaning, other_names
from reader.records import Size
from reader.report import percent
from reader.tables import Tables, inches, load_tables

_BARE = re.compile(r"\s*(\d{1,3}(?:[.,]5| 1/2)?)\s*(?:\"|''|in|inch|inches)?\s*", re.IGNORECASE)
_PAIR = re.compile(r"\s*\d+\s*-\s*\d+\s*")
_RIM = re.compile(r"\s*(\d{3})\s*[xX]\s*\d{1,3}\s*[A-Za-z]*\s*")
_WORDS = {"tyre": "tyre", "rim": "rim", "tube": "tube", "unknown": "part"}


def understand(text: str, tables: Tables, market: str) -> answer.Answer:
    """The meanings of a typed text.

    Raises:
        InputError: the text names no size; the message says what is wrong with it if it can.
    """
    bare = _BARE.fullmatch(text)
    if bare:
        return answer.nominal(inches(bare[1].replace(",", ".")), tables, market)
    if _PAIR.fullmatch(text):  # typed cleanly, so no letter may be taken for another
        parse_size(text, tables)
    rim = _RIM.fullmatch(text)
    if rim and int(rim[1]) % 50:  # a multiple of 50 may be a French diameter: '700x28C'
        parse_rim(text, tables)
    return answer.explain(text, parse_text(text), tables, market)


def explain_text(text: str, market: str, as_json: bool) -> None:
    """Print what a text can mean, most likely first."""
    tables = load_tables()
    found = understand(text, tables, market)
    names = [_names(one, tables) for one in found.meanings]
    emit({"size": found, "names": names}, _text_lines(found, names, tables), as_json, tables)


def _names(one: Meaning, tables: Tables) -> tuple[str, ...]:
    """Names of a tyre's size; a rim's inner width is no part of any name."""
    return other_names(one.size if one.part == "tyre" else Size(one.size.bsd), tables)


def _text_lines(
    found: answer.Answer, names: list[tuple[str, ...]], tables: Tables
) -> Iterator[str]:
    yield f"{found.text}: {found.verdict.value}" + (" (read with doubt)" if found.damaged else "")
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
    yield f"measured: {taped.diameter:.1f} mm across, give or take {2 * taped.sigma:.1f} mm"
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
