"""What a reading says beside the size, as columns of a part."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from reader.catalogue.cells import OLDEST, typed
from reader.catalogue.columns import COLUMNS
from reader.errors import InputError
from reader.records import Fact

KEPT = 0.9  # probability from which a fact is written down as one
_WEEK = re.compile(r"(?:DOT.*?|(?:WEEK|WK|KW|CW)\D*)(\d{1,2})\D?((?:19|20)?\d{2})\D*$")
_ISO = re.compile(r"\d{4}-W\d\d")
_YEAR = re.compile(r"(?<!\d)((?:19|20)\d{2})(?!\d)")


def facts_read(facts: Sequence[Fact]) -> dict[str, Any]:
    """Columns of the part that its marks can fill in; doubtful and senseless ones are left out."""
    found = {}
    for fact in facts:
        if fact.probability < KEPT:
            continue
        for name, value in _values(fact):
            try:
                found[name] = typed(COLUMNS[name], str(value))
            except InputError:  # a misread number that no part has
                continue
    return {name: value for name, value in found.items() if value not in (None, "")}


def _values(fact: Fact) -> Iterator[tuple[str, object]]:
    if fact.name == "pressure":
        low, _, high = str(fact.value).partition("-")
        yield from (("pressure_low", low), ("pressure_high", high))
    elif fact.name == "date":
        yield "made", made(str(fact.value))
    elif fact.name in ("direction", "e_bike"):
        yield fact.name, "yes"
    elif fact.name in ("tubeless", "hookless", "wear_mark"):
        yield fact.name, "yes" if fact.value else "no"
    elif fact.name in ("holes", "threads"):
        yield fact.name, f"{float(fact.value):.0f}"
    elif fact.name in ("load", "erd", "brake"):
        yield fact.name, fact.value


def made(text: str) -> str:
    """Year, or year and week, of a date as it stands on a part; '' if it tells none.

    >>> made("DOT 2319"), made("WK 12/21"), made("05/2019"), made("2019-W23")
    ('2019-W23', '2021-W12', '2019', '2019-W23')
    """
    if _ISO.fullmatch(text):
        return text
    week = _WEEK.search(text)
    if week and 1 <= int(week[1]) <= 53:
        year = int(week[2]) if len(week[2]) == 4 else _century(int(week[2]))
        return f"{year}-W{int(week[1]):02}"
    year_only = _YEAR.search(text)
    return year_only[1] if year_only and int(year_only[1]) >= OLDEST else ""


def _century(year: int) -> int:
    this = date.today().year
    return 2000 + year if 2000 + year <= this else 1900 + year
