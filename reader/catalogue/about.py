"""What is said about a column of the catalogue."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class About:
    """What a column holds and who may change it."""

    meaning: str  # one line, for lists and forms
    listed: str = ""  # its name in lists if it is another one than the field's
    choices: tuple[str, ...] = ()  # of a text; '' is allowed too
    several: bool = False  # several of the choices, with commas between
    low: float = 0.0  # of a number, both ends allowed
    high: float = float("inf")
    told: bool = False  # a person may say it at any time
    free: bool = False  # kept letter by letter
    fact: bool = False  # may be read off the part itself, and is searched for
    inner: bool = False  # the program's own; not in lists
    new: Any = ""  # what a new part has where nothing else is known

    @property
    def sentence(self) -> str:
        """Its meaning as a sentence, for help and forms."""
        return f"{self.meaning[:1].upper()}{self.meaning[1:]}."


@dataclass(frozen=True)
class Column:
    """One column: a field of `Part` with its type and what is said about it."""

    name: str  # in the database
    type: type  # str, int or float
    optional: bool  # may be unknown: None, in a list an empty cell
    about: About

    @property
    def listed(self) -> str:
        """Its name in lists."""
        return self.about.listed or self.name

    @property
    def is_text(self) -> bool:
        """Whether it holds a text, not a number."""
        return self.type is str
