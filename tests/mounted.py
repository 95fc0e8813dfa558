"""Tyres on rims by plain numbers, for the tests of what fits what."""

from __future__ import annotations

from reader.fit.editions import EditionWord, words
from reader.fit.mount import Fit, fit
from reader.fit.parts import Rim, RimKind, Tyre
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()
PROPER = {"tubeless": True, "hookless": True}


def grade(width, bsd, inner, rim_bsd=None, kind="C", **marks) -> Fit:
    return fit(
        Tyre(Size(bsd, width), **marks), Rim(Size(rim_bsd or bsd, inner), RimKind(kind)), TABLES
    )


def word(width, inner, edition, bsd=622, kind="C") -> EditionWord:
    said = words(Tyre(Size(bsd, width)), Rim(Size(bsd, inner), RimKind(kind)), TABLES)
    return next(one for one in said if one.edition == edition)
