"""How a tyre and a rim go together: the grades, which say what they rest on."""

from __future__ import annotations

from enum import StrEnum


class Grade(StrEnum):
    """How a tyre and a rim go together, from best to worst."""

    MAKER = "allowed by its maker"
    CURRENT = "in a table of 2020 or later"
    OLDER = "only in older tables"
    DISAGREE = "tables disagree"
    CANT_TELL = "can't tell"
    UNLISTED = "no table in hand allows it"
    NEVER = "never"

    @property
    def sign(self) -> str:
        """One of 'good', 'check', 'ask' and 'bad', for a colour or a mark."""
        return _SIGNS[self]


GRADES = tuple(Grade)
ALLOWED = (Grade.MAKER, Grade.CURRENT, Grade.OLDER)
USABLE = (*ALLOWED, Grade.DISAGREE, Grade.CANT_TELL)  # worth a second look
_SIGNS = {
    Grade.MAKER: "good",
    Grade.CURRENT: "good",
    Grade.OLDER: "check",
    Grade.DISAGREE: "ask",
    Grade.CANT_TELL: "ask",
    Grade.UNLISTED: "bad",
    Grade.NEVER: "bad",
}


def worst(*grades: Grade) -> Grade:
    """The worst of the grades.

    >>> worst(Grade.CURRENT, Grade.UNLISTED).value
    'no table in hand allows it'
    """
    return max(grades, key=GRADES.index)
