"""Inch sizes with a fraction or a whole width: 26 x 1 3/8, 24 x 1, with old trade codes.

Sources of the forms: '37-590 26x1 3/8' and '27x1 3/8 37-630' (kosunacycle.com/archives/1133); one
page prints 26x13/8 (sizes list); E.A.3, E.5, F.13, S-5, S-6 (community workshop wheel tables);
S-7 is from memory. 1-3/8 and raised digits are common practice, no source.

>>> [(m.text, m.numbers["width_in"], m.numbers["code"]) for m in find("E.A.3 26×1⅜")]
[('26 x 1 3/8 E.A.3', 1.375, 'E.A.3')]
>>> [m.text for t in ("26X13/8", "26x1-3/8", "20 x 1 3/4", "24 x 1") for m in find(t)]
['26 x 1 3/8', '26 x 1 3/8', '20 x 1 3/4', '24 x 1']
>>> [(m.text, m.cost) for m in find("26X1 318")]  # the slash was read as 1
[('26 x 1 3/8', 2.0)]
>>> list(find("28 x 1 5/8 x 1 3/8"))  # three numbers are another notation
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache, partial

from reader.markings.edges import NAME_END, NEXT_PAIR, glue, name_stands, word_stands
from reader.markings.inches import (
    DIAMETER,
    FRACTION,
    cross_cost,
    diameter,
    fraction,
    gap_cost,
    printed_diameters,
    slash_cost,
    ways,
)
from reader.markings.known import is_plausible, names, tables
from reader.markings.letters import BUDGET, CROSS, DIGIT, meant, pinned
from reader.markings.notation import Kind, Notation, Tells, ask_inches
from reader.records import Marking
from reader.tables import inches

NAME = "inch_fraction"
# A whole width must end the name, or it may be what is left of a decimal or a fraction.
_WHOLE_END = rf"(?=[\"']{{0,2}}(?:\s*(?:$|[()#]|,(?!\d)|S-|E\.|F\.|/?\s?{NEXT_PAIR})|\s+[A-Z]))"
_CLEAN = re.compile(
    rf"{DIAMETER}[\"']{{0,2}}{CROSS}(?:{FRACTION}[\"']{{0,2}}{NAME_END}|([1-3]){_WHOLE_END})"
)
_DAMAGED = re.compile(
    rf"(?=({DIGIT}\s?{DIGIT})[\"']{{0,2}}(\s?[X*KY%+:-]\s?|\s)({DIGIT}?)(\s?[-.,:~_]?\s?)"
    rf"({DIGIT})(\s?[-/I1L|7!TJ,'.:]\s?|\s?)({DIGIT}))"
)
_LONE_DIGIT = re.compile(r" ?[-.]?[1-9]{1,2}(?![-\dA-Z])")
_CODE = r"([EFS])[.\s-]{0,2}(A?)[.\s-]{0,2}(\d{1,2})(?!\d)\.?"
_CODE_AFTER = re.compile(rf"[\"']{{0,2}}[\s(,-]{{0,3}}{_CODE}\)?")
_CODE_BEFORE = re.compile(rf"(?<![A-Z0-9]){_CODE}[\s):,-]{{0,3}}$")


def clean(line: str) -> Iterator[Marking]:
    """Undamaged fraction and whole-width inch sizes of a folded text."""
    if "X" not in line and "*" not in line:
        return
    for match in _CLEAN.finditer(line):
        printed = diameter(match[1])
        width = match[3] or fraction(match[2])
        if width is None or printed not in printed_diameters(NAME):
            continue
        if not _plausible(printed, width):
            continue
        if match[3] or name_stands(line, *match.span()):
            code, span = _code(line, match.span(), printed, width)
            yield _marking(printed, width, code, span, glue(line, *match.span()))


def _plausible(printed: str, width: str) -> bool:
    """Whether a tyre is as wide; a bare 1 must be known, as it is read easily by mistake."""
    if width == "1":
        return width in tables().inch_widths(NAME, printed)
    return is_plausible("fraction width", inches(width))


def _code(
    line: str, span: tuple[int, int], printed: str, width: str
) -> tuple[str, tuple[int, int]]:
    """The trade code beside a size, if the tables know it there, and the span that includes it."""
    known = _codes(printed, width)
    if not known:
        return "", span
    after = _CODE_AFTER.match(line, span[1])
    before = _CODE_BEFORE.search(line[: span[0]])
    for match, whole in ((after, (span[0], after.end() if after else 0)), (before, (0, span[1]))):
        if match and (code := known.get("".join(match.groups()))):
            return code, (before.start() if match is before else span[0], whole[1])
    return "", span


@lru_cache(maxsize=256)
def _codes(printed: str, width: str) -> Mapping[str, str]:
    return {
        re.sub(r"[^A-Z0-9]", "", row.mark): row.mark
        for row in names("code")
        if row.diameter == printed and width in row.widths
    }


def damaged(line: str) -> Iterator[Marking]:
    """Damaged fractions of a folded text; only sizes that the tables know."""
    for match in _DAMAGED.finditer(line):
        span = match.start(), match.end(7)
        cross, slash = match[2], match[6]
        seen = re.sub(r"\s", "", match[1]) + match[3] + match[5] + match[7]
        # fewer true digits could be any word
        if sum(map(str.isdigit, seen)) < 3 or not name_stands(line, *span):
            continue
        # digits alone could be a year
        if not word_stands(line, *span) or (len(seen) == 4 and slash != "/"):
            continue
        if cross.strip() not in ("X", "*") and slash.strip() != "/":
            continue  # five digits alone could be anything
        extra = cross_cost(cross) + slash_cost(slash) + gap_cost(match[4]) + glue(line, *span)
        found = {
            size: cost + extra
            for size, cost in meant(seen, _digits()).items()
            if 0 < cost + extra <= BUDGET
        }
        for digits, cost in pinned(found).items():
            width = f"{digits[2]} {digits[3]}/{digits[4]}"
            code, wide = _code(line, span, digits[:2], width)
            yield _marking(digits[:2], width, code, wide, cost)


@lru_cache(maxsize=1)
def _digits() -> tuple[str, ...]:
    """Diameter and width of every known name as five digits: 26138 for 26 x 1 3/8."""
    texts = (
        printed + re.sub(r"\D", "", width)
        for printed in printed_diameters(NAME)
        for width in tables().inch_widths(NAME, printed)
        if printed.isdigit() and " " in width
    )
    return tuple(text for text in texts if len(text) == 5)  # as 1 3/8, its blank counted


def spellings() -> Iterator[tuple[str, Mapping[str, float | str]]]:
    """Every known name, with space, dash or dot before the fraction, with and without codes."""
    for printed in printed_diameters(NAME):
        for width in tables().inch_widths(NAME, printed):
            plain = _numbers(printed, width, "")
            for written in ways(f"{printed}X{width}"):
                yield written, plain
                yield written.replace("X", '"X'), plain
                for compact, code in _codes(printed, width).items():
                    numbers = _numbers(printed, width, code)
                    for mark in (code, f"({code})", compact, f"({compact})"):
                        yield f"{written} {mark}", numbers


def _numbers(printed: str, width: str, code: str) -> dict[str, float | str]:
    return {
        "diameter_in": inches(printed),
        "width_in": inches(width),
        "width_text": width,
        "code": code,
    }


def _marking(printed: str, width: str, code: str, span: tuple[int, int], cost: float) -> Marking:
    text = f"{printed} x {width} {code}".rstrip()
    return Marking(NAME, text, _numbers(printed, width, code), span, cost)


def _lost_its_fraction(before: str, text: str, after: str) -> bool:
    """Whether a lone digit follows a whole width: 27X1 of 27X1 1 2, whose fraction was misread."""
    return "/" not in text and _LONE_DIGIT.match(after) is not None


NOTATION = Notation(
    name=NAME,
    kind=Kind.SIZE,
    tells=Tells.NAME,
    label="inch fraction name",
    title="inches, fraction",
    clean=clean,
    damaged=damaged,
    asks=partial(ask_inches, NAME),
    spellings=spellings,
    chance=-1.0,
    doubtful=_lost_its_fraction,
)
find = NOTATION.find
