"""Where a marking may begin and end, and the numbers that belong to something else.

A digit right beside a match makes it part of a longer number, unless the next marking follows
with its space lost, as in 37-59026X1 3/8. Phone and article numbers are blanked out before any
notation looks.
"""

from __future__ import annotations

import re

import regex

from reader.markings.letters import SPACE_LOST
from reader.text.confusables import UNLIKELY_ALIKE

NEXT_PAIR = r"(?:1[0-3]\d|[1-9]\d)-\d{3}(?!\d)"
NEXT_NAME = r"(?:\d\d(?:[.,]5|\s?1/2)?[\"']{0,2}\s?[X*]|[2-7][05]0\s?[X*A-D])"
NAME_END = (
    r"(?:(?!\d|[.,]\d|\s?[-/]\s?\d|\s?[X*KY%+]\s?-?[\dIL|](?![A-Z]))"
    rf"|(?=\s?[-/]?\s?(?:{NEXT_PAIR}|{NEXT_NAME})))"
)
"""Regular expression of what may follow an inch or French name."""

# regex and not re: only it looks back over ends of different lengths
_PAIR_LEFT = regex.compile(
    r"(?<!\d)(?<!\d[-.,/])(?<!\d[ODQILSZBTG|]/)"
    # … or the end of a name: 20X1.75|47-406, 26X1 3/8/37-590, 700X28|28-622
    r"|(?<=[.,]\d{1,3}|[.,]\d\d?/|/[248]/?|X\d\d/?)"
)
_PAIR_RIGHT = re.compile(rf"(?!\d|\s?[-/]\s?\d|[.,]\d)|(?=\s?[-.,/]?\s?{NEXT_NAME})")
_NAME_LEFT = regex.compile(
    r"(?<![\d/])(?<!\d[.,])(?<!X\d[\s-])|(?<=-[0-9ODQSILBZG]{3}|-\d{3}/|[A-Z)]/)"
)
_NAME_RIGHT = re.compile(NAME_END)

_ALIKE_BEFORE = re.compile(r"(?<=[ODQILSZBGT|?])(?<![A-Z].)")
_ALIKE_AFTER = re.compile(r"[.,]?[ODQILSZBGT|?](?![A-Z])")

_FOREIGN = re.compile(
    r"\+\d[\d\s()/-]{6,}|(?<![\d.,])0\d{1,4}[\s/-]\d[\d\s/-]{4,}"  # phones
    r"|\b(?:TEL|FAX|PHONE|FON)\b[A-Z.:\s]*[\d\s()+/.-]{5,}"
    r"|\b(?:ART(?:ICLE|IKEL)?|ITEM|REF|ORDER|PART|SKU|EAN|UPC|SERIAL|LOT|BATCH|PAT(?:ENT)?)\b"
    r"[.:\s#]*(?:(?:NO|NR|NUM|NUMBER)\b)?[.:\s#]*[A-Z]{0,4}-?\d\S*"
    r"|\d{8,}"
)


def mask(text: str) -> str:
    """Blank out numbers that are no markings of a tyre or rim; the length stays.

    >>> mask("ART. NO. 47-507 20X1.75")
    '############### 20X1.75'
    """
    return _FOREIGN.sub(_hashes, text)


def _hashes(match: re.Match[str]) -> str:
    return "#" * len(match[0])


def blank(text: str, start: int, end: int) -> str:
    """Hide one span from further search; the length stays."""
    return f"{text[:start]}{'#' * (end - start)}{text[end:]}"


def pair_stands(text: str, start: int, end: int) -> bool:
    """Whether a pair of numbers at this place is a whole marking.

    >>> pair_stands("1147-507", 2, 8), pair_stands("47-50720X1.75", 0, 6)
    (False, True)
    """
    return bool(_PAIR_LEFT.match(text, start) and _PAIR_RIGHT.match(text, end))


def name_stands(text: str, start: int, end: int) -> bool:
    """Whether an inch or French name at this place is a whole marking.

    >>> name_stands("26X1.75-2.125", 0, 7), name_stands("37-59026X13/8", 6, 13)
    (False, True)
    """
    return bool(_NAME_LEFT.match(text, start) and _NAME_RIGHT.match(text, end))


def word_stands(text: str, start: int, end: int) -> bool:
    """Whether letters read as digits at either end are not part of a word.

    >>> word_stands("ETRTO47", 5, 7), word_stands("BO47", 1, 4)
    (True, False)
    """
    if text[start].isalpha() and start and text[start - 1].isalnum():
        return False
    return not (text[end - 1].isalpha() and end < len(text) and text[end].isalnum())


def attached(text: str, start: int, end: int) -> int:
    """At how many ends a letter touches that may be one more digit: 28X1.1S, |22-559.

    >>> attached("28X1.1S", 0, 6), attached("28X1.1 S", 0, 6), attached("ETRTO47-507", 5, 11)
    (1, 0, 0)
    """
    ends = text[start].isdigit() and bool(_ALIKE_BEFORE.match(text, start))
    return ends + (text[end - 1].isdigit() and bool(_ALIKE_AFTER.match(text, end)))


def glue(text: str, start: int, end: int) -> float:
    """Cost of the spaces that must have been lost beside this place, or of a digit misread there.

    >>> glue("37-59026X13/8", 6, 13), glue("37-590 26X13/8", 7, 14), glue("28X1.1S", 0, 6)
    (2.5, 0.0, 3.0)
    """
    cost = UNLIKELY_ALIKE * attached(text, start, end)
    if start and text[start - 1].isdigit() and text[start].isdigit():
        cost += SPACE_LOST
    if end < len(text) and text[end].isdigit() and text[end - 1].isdigit():
        cost += SPACE_LOST
    return cost
