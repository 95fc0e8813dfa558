"""Parts as a table of text, no wider than the screen."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Sequence

from reader.catalogue.columns import Part
from reader.catalogue.db.codes import pretty
from reader.catalogue.query.offer import age_words
from reader.errors import one_line
from reader.language import said, words
from reader.report import percent

WIDEST, NARROWEST = 100, 60  # characters of a line
CELL, FIRST_CELL = 26, 42  # of a cell; the first, which says how a part fits, may be longer where
OTHERS = 58  # so much is left for the others, up to the place
Cells = tuple[str, ...]
STATE = 4  # which cell holds the state


def table(parts: Sequence[Part], extra: Sequence[str] = (), head: str = "") -> Iterator[str]:
    """A line of heads and a line a part; `extra` stands first in each, under `head`."""
    names = words("code", "size", "kind", "state", "sure", "place", "pcs", "remarks")
    heads: Cells = (head, *names)
    firsts = extra or [""] * len(parts)
    rows = [(first, *cells(part)) for first, part in zip(firsts, parts, strict=True)]
    if head:  # beside how it fits, how the part was settled says little, and costs room
        state = STATE
        heads, *rows = ((*row[:state], *row[state + 1 :]) for row in (heads, *rows))
    yield from aligned([heads, *rows], screen())


def screen() -> int:
    """Characters of a line: the screen's, but no more than can be read well."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))


def aligned(rows: Sequence[Cells], width: int) -> Iterator[str]:
    """Columns under each other; empty ones are left out, the last is cut at the line's end."""
    used = [k for k in range(len(rows[0])) if any(row[k] for row in rows[1:])] or [0]
    first = max(CELL, min(FIRST_CELL, width - OTHERS))
    most = {k: first if k == 0 else CELL for k in used}
    wide = {k: min(most[k], max(len(row[k]) for row in rows)) for k in used}
    for row in rows:
        line = "  ".join(_cut(_tidy(row[k]), wide[k]).ljust(wide[k]) for k in used[:-1])
        line += ("  " if used[:-1] else "") + _tidy(row[used[-1]])
        yield _cut(line.rstrip(), width)


def _tidy(text: str) -> str:
    """On one line: a note may have several."""
    return " ".join(text.split())


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 1]}…"


def cells(part: Part) -> Cells:
    """What a line says of a part; what a person typed steers no terminal."""
    line = (
        pretty(part.code),
        part.tube_label or (str(part.told_size) if part.told_size else "?"),
        f"{said(part.kind)} {part.rim_kind}".strip(),
        said(part.state),
        trust(part),
        " / ".join(filter(None, (part.depot, part.bin, part.shelf))),
        str(part.quantity),
        remarks(part),
    )
    return tuple(one_line(_tidy(text)) for text in line)


def trust(part: Part) -> str:
    """How sure the size is: by hand, checked, or as it was read."""
    if part.settled:
        return said("by hand") if part.verdict == "none" else said("checked")
    if part.size is None:
        return said("not read")
    if part.width_open:
        return said("diameter sure")
    return f"{said(part.verdict)} {said(percent(part.probability))}"


def remarks(part: Part) -> str:
    """Condition with its reasons, age, what stands on it, note."""
    condition = said(part.condition)
    if part.reasons:
        condition += f" ({', '.join(words(*part.reasons.split(', ')))})"
    return "; ".join(filter(None, (condition, said(age_words(part)), _facts(part), part.note)))


def _facts(part: Part) -> str:
    facts = (
        (part.holes, said(f"{part.holes} holes")),
        (part.brake, said(f"{part.brake} brake")),
        (part.erd, f"ERD {part.erd or 0:g} mm"),
        (part.pressure_high, said(f"at most {part.pressure_high or 0:g} kPa")),
        (part.tubeless == "yes", said("tubeless")),
        (part.hookless == "yes" and part.kind == "rim", said("hookless")),
        (part.hookless == "no" and part.kind == "tyre", said("not for hookless rims")),
        (part.e_bike == "yes", said("for e-bikes")),
    )
    return ", ".join(text for value, text in facts if value)
