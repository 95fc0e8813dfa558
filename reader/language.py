"""Sentences for users in their language: gettext catalogues in `locale/`, one PO file a language.

The language belongs to a request or a run of the command line (`use`). Stages make their sentences
in English, marked with `N_`; `said` finds them again where they are shown, by the pattern they were
made with, and takes over what was filled in. So JSON and the catalogue hold the same in every
language.
"""

from __future__ import annotations

import gettext as library
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
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
LONGEST = 700  # characters of a text that is looked for among the patterns
_BRACKETED = re.compile(r"([^()]*\S) \(([^()]*)\)")
_BETWEEN, _PROSE = re.compile(r" (or|and|to) "), re.compile(r"[A-Za-z]{4}|[a-z]{3}")
_DECIMAL = re.compile(r"[-+\u2212]?\d+\.\d+(?: (?:m|mm|bar|psi|kPa|s|MB|GB))?")
_current: ContextVar[str] = ContextVar("language", default="en")


def language() -> str:
    """The language of this request or run."""
    return _current.get()


def speak(name: str) -> None:
    """Speak that language from now on."""
    _current.set(name if name in LANGUAGES else "en")


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
    """Marks a sentence, also one that is filled in; `said` translates it where it is shown."""
    return text


def said(text: str) -> str:
    """A sentence made in English: looked up as a whole, else by the pattern it was made with.

    What is filled into a pattern is looked up in the same way; a number alone gets the language's
    decimal sign. A text that nobody made is given back.
    """
    name = _current.get()
    if name == "en" or not text:
        return text
    bare = text.strip()
    if bare != text:  # space that lays a line out is no part of its sentence
        return text.replace(bare, said(bare), 1) if bare else text
    whole = gettext(text)
    if whole != text:
        return whole
    if _DECIMAL.fullmatch(text):
        return text.replace(".", ",") if name in COMMA else text
    return _made(text) or _pieced(text) or _listed(text)


def _made(text: str) -> str:
    """The translation by the pattern that the text was made with; '' if there is none."""
    if len(text) <= LONGEST:
        for made in patterns(_current.get()):
            found = made.match(text)
            if found and all(map(_one, found.groups())):
                return filled(made.translated, found)
    return ""


def _one(value: str) -> bool:
    """Whether what is filled in is one sentence at most; else another one ran into it."""
    if "; " not in value or gettext(value) != value or _BRACKETED.fullmatch(value):
        return True
    return bool(_made(value))


def _pieced(text: str) -> str:
    """A text of several sentences, each looked up alone; '' if it is one."""
    found = _BRACKETED.fullmatch(text)
    if found:
        return f"{said(found[1])} ({said(found[2])})"
    mark = next((mark for mark in ("; ", ": ") if mark in text), "")
    first, _, rest = text.partition(mark) if mark else ("", "", "")
    return f"{said(first)}{mark}{said(rest)}" if mark else ""


def _listed(text: str) -> str:
    """Numbers and sizes with 'or', 'and' or 'to' between them, which no sentence holds."""
    pieces = _BETWEEN.split(text)
    if len(pieces) == 1 or any(_PROSE.search(piece) for piece in pieces[::2]):
        return text
    return "".join(
        f" {gettext(piece)} " if at % 2 else said(piece) for at, piece in enumerate(pieces)
    )


def filled(translated: str, found: re.Match[str]) -> str:
    """The translation with what stood in the places, each translated too."""
    return PLACE.sub(lambda place: said(found[place[1]]), translated)


def words(*texts: str) -> tuple[str, ...]:
    """Each of them in the language in use."""
    return tuple(map(said, texts))


def either(texts: Iterable[str]) -> str:
    """Texts with 'or' between them, in the language in use."""
    return f" {said('or')} ".join(texts)


def both(texts: Iterable[str]) -> str:
    """Texts with 'and' between them, in the language in use."""
    return f" {said('and')} ".join(texts)


def counted(count: int, one: str, many: str) -> str:
    """A sentence that counts, with %(count)s in it, in the language in use."""
    return ngettext(one, many, count).replace("%(count)s", str(count))


@dataclass(frozen=True)
class Pattern:
    """A sentence with places to fill: what stands between them in order, and its translation."""

    pieces: tuple[str, ...]
    shape: re.Pattern[str]
    translated: str

    def match(self, text: str) -> re.Match[str] | None:
        """What is filled in, if the text was made from this sentence."""
        if not (text.startswith(self.pieces[0]) and text.endswith(self.pieces[-1])):
            return None
        if not all(piece in text for piece in self.pieces):
            return None
        return self.shape.fullmatch(text)


@cache
def patterns(name: str) -> tuple[Pattern, ...]:
    """Every sentence with places to fill, heads first, then by how many words are its own."""
    made: Mapping[str, str] = getattr(translations(name), "_catalog", {})
    found = [
        Pattern(tuple(PLACE.sub("\0", key).split("\0")), pattern_of(key), text)
        for key, text in made.items()
        if isinstance(key, str) and PLACE.search(key) and text
    ]
    headed = {one for one in found if ": " in one.pieces[0]}  # they say what follows
    return tuple(sorted(found, key=lambda one: (one not in headed, -sum(map(len, one.pieces)))))


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
