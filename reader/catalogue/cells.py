"""From what a person or a list says to the value of a column, and what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from reader.catalogue.about import Column
from reader.catalogue.columns import COLUMNS
from reader.errors import InputError
from reader.fit.tube import parse_tube

_WHOLE = re.compile(r"[+-]?\d{1,15}(\.0)?", re.ASCII)
_DECIMAL = re.compile(r"[+-]?\d{1,15}([.,]\d{1,15})?(e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3}|\.\d{3})", re.ASCII)
_MADE = re.compile(r"(\d{4})(?:-W(\d{2}))?", re.ASCII)
OLDEST = 1890  # pneumatic tyres have been made since 1888


def typed(column: Column, value: Any) -> Any:
    """The value that a text means in this column; None where a number's cell is empty.

    >>> typed(COLUMNS["quantity"], " 12 "), typed(COLUMNS["erd"], "601,5")
    (12, 601.5)
    >>> typed(COLUMNS["reasons"], "patched; cuts")
    'cuts, patched'

    Raises:
        InputError: it means nothing there; the message begins with the column's name in lists.
    """
    return _typed(column.name, value)


@lru_cache(maxsize=65_536, typed=True)  # a list of 100,000 lines has few different cells
def _typed(name: str, value: Any) -> Any:
    column = COLUMNS[name]
    if column.type is not str:
        return _number(column, value)
    text = plain(str(value), column.listed)
    if not column.about.free:
        text = text.strip()
    if column.about.several:
        words = [word for word in re.split(r"\s*[,;]\s*", text) if word]
        found = {_choice(column, word) for word in words}
        return ", ".join(word for word in column.about.choices if word in found)
    if column.about.choices and text:
        return _choice(column, text)
    if text and column.name in ("arrived", "made"):
        _date(column, text)
    if text and column.name == "tube_label":
        _tube(column, text)
    return text


def checked(said: Mapping[str, Any]) -> dict[str, Any]:
    """What a person says of a part, column by column, each made sure of; None is left out.

    Raises:
        InputError: the first that makes no sense.
    """
    return {
        name: typed(COLUMNS[name], value) if isinstance(value, str) else _inside(name, value)
        for name, value in said.items()
        if value is not None
    }


def plain(text: str, what: str) -> str:
    """The text, if every database can keep it.

    Raises:
        InputError: it holds the character NUL, or half a character.
    """
    if "\0" in text:
        raise InputError(f"{what} holds the character NUL", "leave it out; it can't be kept")
    try:
        text.encode()
    except UnicodeEncodeError:
        raise InputError(f"{what} holds what is no text", "write it as UTF-8") from None
    return text


def one_of(what: str, word: str, choices: Sequence[str]) -> str:
    """The choice that is meant, whatever its capitals.

    Raises:
        InputError: none; the remedy names those near, or all.
    """
    for choice in choices:
        if choice.casefold() == word.strip().casefold():
            return choice
    near = get_close_matches(word.casefold(), [one.casefold() for one in choices], 3, 0.6)
    names = [one for one in choices if one.casefold() in near]
    remedy = f"did you mean {' or '.join(names)}?" if names else ""
    listed = f"use one of: {', '.join(choices[:12])}" if len(choices) <= 12 or not names else ""
    raise InputError(f"{what} {word!r}", "; ".join(filter(None, (remedy, listed))))


def _choice(column: Column, word: str) -> str:
    return one_of(column.listed, word, column.about.choices)


def _number(column: Column, value: Any) -> Any:
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    text = str(value).strip()
    whole = column.type is int
    if isinstance(value, str) and _THOUSANDS.fullmatch(text) and (whole or "," in text):
        remedy = "write digits without a mark for thousands"
        raise InputError(f"{column.listed} {text!r} can mean two numbers", remedy)
    if not (_WHOLE if whole else _DECIMAL).fullmatch(text):
        what = "a whole number" if whole else "a number"
        raise InputError(f"{column.listed} {value!r} is not {what}", "write digits only")
    return _inside(column.name, column.type(float(text.replace(",", "."))))


def _inside(name: str, value: Any) -> Any:
    column = COLUMNS[name]
    if isinstance(value, str):
        return typed(column, value)
    low, high = column.about.low, column.about.high
    if not low <= value <= high:  # not a number is outside, too
        span = f"{low:g} or more" if high == float("inf") else f"{low:g} to {high:,g}"
        raise InputError(f"{column.listed} {value:g}", f"give {span}")
    return value


def _tube(column: Column, text: str) -> None:
    """Refuse a label by which no tyre or rim would find the tube."""
    try:
        parse_tube(text)
    except InputError as error:
        raise InputError(f"{column.listed}: {error.message}", error.remedy) from error


def _date(column: Column, text: str) -> None:
    if column.name == "made":
        match = _MADE.fullmatch(text)
        right = match and OLDEST <= int(match[1]) <= date.today().year + 1
        if not right or (match and match[2] and not 1 <= int(match[2]) <= 53):
            remedy = "write a year, 2019, or year and week, 2019-W23"
            raise InputError(f"{column.listed} {text!r} is no date", remedy)
        return
    try:
        date.fromisoformat(text)
    except ValueError:
        what = f"{column.listed} {text!r} is no date"
        raise InputError(what, "write dates as 2026-05-31") from None
