"""Sentences for users in their language: gettext catalogues in `locale/`, one PO file a language.

The language belongs to a request or a run of the command line (`use`). Sentences that stages below
made in English are looked up as a whole (`said`), their numbers taken over by the pattern they
were made with.
"""

from __future__ import annotations

import gettext as library
import io
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent / "locale"
LANGUAGES = {
    "en": "English",
    "de": "Deutsch",
    "es": "Español",
    "fr": "Français",
    "nl": "Nederlands",
}
COMMA = ("de", "es", "fr", "nl")  # languages whose decimals have a comma
PLACE = re.compile(r"%\((\w+)\)s")
_current: ContextVar[str] = ContextVar("language", default="en")


def language() -> str:
    """The language of this request or run."""
    return _current.get()


@contextmanager
def use(name: str) -> Iterator[None]:
    """Speak that language within the block; English if it is not known."""
    before = _current.set(name if name in LANGUAGES else "en")
    try:
        yield
    finally:
        _current.reset(before)


def wanted(header: str) -> str:
    """The best language for a browser's `Accept-Language` (RFC 9110, 12.5.4).

    >>> wanted("fr-CH, fr;q=0.9, en;q=0.8"), wanted("da, de;q=0.2"), wanted("")
    ('fr', 'de', 'en')
    """
    ranked: list[tuple[float, int, str]] = []
    for number, piece in enumerate(header[:200].split(",")):
        name, _, quality = piece.strip().partition(";q=")
        short = name.strip().lower().partition("-")[0]
        try:
            share = float(quality) if quality else 1.0
        except ValueError:
            continue
        if short in LANGUAGES and share > 0:
            ranked.append((-share, number, short))
    return min(ranked)[2] if ranked else "en"


@cache
def translations(name: str) -> library.NullTranslations:
    """The catalogue of a language; English needs none."""
    path = FOLDER / f"{name}.po"
    if not path.exists():
        return library.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        read = read_po(file, locale=name)
    compiled = io.BytesIO()
    write_mo(compiled, read)
    compiled.seek(0)
    return library.GNUTranslations(compiled)


def gettext(text: str) -> str:
    """A sentence of the program's in the language in use."""
    return translations(_current.get()).gettext(text) if text else ""


def ngettext(one: str, many: str, count: int) -> str:
    """A sentence that counts, in the language in use."""
    return translations(_current.get()).ngettext(one, many, count)


def N_(text: str) -> str:  # noqa: N802 - the usual name for a sentence that is translated later
    """Marks a sentence for the catalogues; it is translated where it is shown."""
    return text


def said(text: str) -> str:
    """A sentence that a stage made in English: as a whole, else by the pattern it was made with."""
    name = _current.get()
    if name == "en" or not text:
        return text
    whole = gettext(text)
    if whole != text:
        return whole
    for pattern, translated in patterns(name):
        found = pattern.fullmatch(text)
        if found:
            return translated % {key: said(value) for key, value in found.groupdict().items()}
    return text


@cache
def patterns(name: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    """Every sentence with places to fill, as a pattern, the longest first, and its translation."""
    made: Mapping[str, str] = getattr(translations(name), "_catalog", {})
    pairs = [(k, v) for k, v in made.items() if isinstance(k, str) and PLACE.search(k) and v]
    return tuple((pattern_of(k), v) for k, v in sorted(pairs, key=lambda pair: -len(pair[0])))


def pattern_of(text: str) -> re.Pattern[str]:
    """What matches every sentence made from the text.

    >>> pattern_of("a quantity of %(count)s").fullmatch("a quantity of -3")["count"]
    '-3'
    """
    parts, at, seen = [], 0, set()
    for place in PLACE.finditer(text):
        parts.append(re.escape(text[at : place.start()]))
        name = place[1]
        parts.append(f"(?P={name})" if name in seen else f"(?P<{name}>.+?)")
        seen.add(name)
        at = place.end()
    parts.append(re.escape(text[at:]))
    return re.compile("".join(parts), re.DOTALL)


def number(value: float, digits: int = 0) -> str:
    """A number with the language's decimal sign.

    >>> with use("de"):
    ...     number(37.5, 1)
    '37,5'
    """
    text = f"{value:.{digits}f}"
    return text.replace(".", ",") if _current.get() in COMMA else text
