"""What each published edition says about a tyre's width on a rim's inner width, one by one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from reader.fit.parts import Rim, RimKind, Tyre
from reader.table_rows import WidthRule
from reader.tables import Tables


class Word(StrEnum):
    """What one edition says."""

    ALLOWS = "allows"
    FORBIDS = "does not allow"
    SILENT = "has no row for"


@dataclass(frozen=True)
class EditionWord:
    """One edition's word; `tyre_from`..`tyre_to` in mm is what it allows there (`None`: silent)."""

    edition: str
    word: Word
    tyre_from: float | None
    tyre_to: float | None
    note: str
    source: str
    from_memory: bool

    @property
    def least_only(self) -> bool:
        """Whether the edition names a least width and no greatest."""
        return self.tyre_to == math.inf

    @property
    def range_text(self) -> str:
        """The allowed tyre widths in words."""
        if self.tyre_from is None or self.tyre_to is None:
            return "not listed"
        if self.tyre_from > self.tyre_to:
            return "no width common to the rows beside it"
        if self.least_only:
            return f"{self.tyre_from:g} mm or wider"
        if self.tyre_from == self.tyre_to:
            return f"{self.tyre_from:g} mm only"
        return f"{self.tyre_from:g} to {self.tyre_to:g} mm"


def words(tyre: Tyre, rim: Rim, tables: Tables) -> tuple[EditionWord, ...]:
    """Every edition's word on this pair; both widths must be known.

    A rim between two rows of a table takes what both rows allow, and the note says so: no table
    interpolates, and the stricter reading is the safe one.
    """
    editions: dict[str, list[WidthRule]] = {}
    for rule in tables.width_rules:
        if not rule.rim_kinds or rim.kind in rule.rim_kinds:
            editions.setdefault(rule.edition, []).append(rule)
    return tuple(_word(name, rules, tyre, rim) for name, rules in editions.items())


def _word(name: str, rules: list[WidthRule], tyre: Tyre, rim: Rim) -> EditionWord:
    width, inner = tyre.size.width or 0.0, rim.size.width or 0.0
    source = ", ".join(dict.fromkeys(rule.source for rule in rules))
    memory = all(rule.from_memory for rule in rules)
    fitting, note = _rows_for(rules, inner, tyre)
    if not fitting:
        return EditionWord(name, Word.SILENT, None, None, "", source, memory)
    low = max(rule.tyre_from for rule in fitting)
    high = min(rule.tyre_to for rule in fitting)
    word = Word.ALLOWS if low <= width <= high else Word.FORBIDS
    notes = dict.fromkeys(text for text in (note, *(rule.note for rule in fitting)) if text)
    source = ", ".join(dict.fromkeys(rule.source for rule in fitting))
    return EditionWord(name, word, low, high, "; ".join(notes), source, memory)


def _rows_for(rules: list[WidthRule], inner: float, tyre: Tyre) -> tuple[list[WidthRule], str]:
    own = [rule for rule in rules if rule.bsd in (None, tyre.size.bsd)]
    if any(rule.bsd for rule in own):  # a row for one tyre says nothing about others
        own = [rule for rule in own if rule.tyre_from == tyre.size.width]
    exact = [rule for rule in own if rule.rim_from <= inner <= rule.rim_to]
    if exact:
        return exact, ""
    roomy = [rule for rule in own if rule.tyre_to == math.inf and inner < rule.rim_from]
    if roomy and len(roomy) == len(own):
        meets = [rule for rule in roomy if rule.tyre_from <= (tyre.size.width or 0)]
        return meets, "the rim is narrower than the one this least width is for" if meets else ""
    below = [rule for rule in own if rule.rim_to < inner]
    above = [rule for rule in own if rule.rim_from > inner]
    if not below or not above or any(rule.bsd for rule in own):
        return [], ""
    pair = [max(below, key=lambda rule: rule.rim_to), min(above, key=lambda rule: rule.rim_from)]
    return pair, f"no row for {inner:g} mm: taken as what the rows for both neighbours allow"


def hookless_minimum(tyre: Tyre, rim: Rim, tables: Tables) -> WidthRule | None:
    """The strictest reported least tyre width that binds on this hookless rim, if any.

    A least width for one rim binds every wider rim, and from the next narrower row upwards: where
    28 is for rims up to 23, a rim of 24 already wants what 25 wants.
    """
    if rim.kind is not RimKind.HOOKLESS or rim.size.width is None:
        return None
    inner = rim.size.width
    rules = [rule for rule in tables.width_rules if RimKind.HOOKLESS in rule.rim_kinds]
    binding = [
        rule
        for rule in rules
        if inner >= rule.rim_from
        or any(other.rim_to < min(inner, rule.rim_from) for other in rules)
    ]
    return max(binding, key=lambda rule: rule.tyre_from, default=None)
