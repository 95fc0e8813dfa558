"""What each published edition says about a tyre's width on a rim's inner width, one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from reader.fit.parts import Rim, RimKind, Tyre
from reader.language import N_
from reader.table_rows import WidthRule
from reader.tables import Tables

TODAY = 2020  # editions from this year on count as current: the measuring rims changed then
DECIDING = ("range", "measuring", "minimum")


class Word(StrEnum):
    """What one edition says."""

    ALLOWS = "allows"
    FORBIDS = "does not allow"
    SILENT = "does not speak of"


@dataclass(frozen=True)
class EditionWord:
    """One edition's word on a pair; `tyre_from`..`tyre_to` in mm is what it has for that rim.

    Both are `None` where it has no row. `order` is larger for newer editions; `role` as in
    rim_tyre.csv. `stops`: the tyre is wider than the table's last column, which bars nothing.
    """

    edition: str
    word: Word
    tyre_from: float | None
    tyre_to: float | None
    note: str
    source: str
    from_memory: bool
    order: int = 0
    role: str = "range"
    stops: bool = False

    @property
    def decides(self) -> bool:
        """Whether the word counts: a lone unverified report may forbid, but never allow."""
        if self.word is Word.SILENT or self.role not in DECIDING:
            return False
        return self.word is Word.FORBIDS or not self.from_memory

    @property
    def current(self) -> bool:
        """Whether the edition is of 2020 or later."""
        return self.order >= TODAY

    @property
    def range_text(self) -> str:
        """The tyre widths of its row in words."""
        if self.tyre_from is None or self.tyre_to is None:
            return N_("not listed")
        if self.tyre_to == math.inf:
            return N_(f"{self.tyre_from:g} mm or wider")
        if self.tyre_from == self.tyre_to:
            return N_(f"{self.tyre_from:g} mm only")
        return N_(f"{self.tyre_from:g} to {self.tyre_to:g} mm")


def words(tyre: Tyre, rim: Rim, tables: Tables) -> tuple[EditionWord, ...]:
    """Every edition's word on this pair, newest first; both widths must be known.

    Only an edition's own row for that inner width speaks; a least width binds wider rims as well.
    """
    editions = _editions(rim.kind, tyre.size.bsd, tables)
    said = [_word(rules, tyre.size.width or 0.0, rim.size.width or 0.0)
            for rules in editions]  # fmt: skip
    widest = max((one.tyre_to or 0.0 for one in said if one.role == "range"), default=0.0)
    said = [_vouched(one, tyre.size.width or 0.0, widest) for one in said]
    if rim.kind is RimKind.HOOKLESS:
        said = _hooked_only(said)
    return tuple(sorted(said, key=lambda one: (-one.order, one.word is Word.ALLOWS)))


@lru_cache(maxsize=1024)
def _editions(kind: RimKind, bsd: int, tables: Tables) -> tuple[tuple[WidthRule, ...], ...]:
    """Each edition's rules that can speak of this kind of rim and this diameter."""
    editions: dict[tuple[str, str], list[WidthRule]] = {}
    for rule in tables.width_rules:
        if (not rule.rim_kinds or kind in rule.rim_kinds) and rule.bsd in (None, bsd):
            editions.setdefault((rule.edition, rule.role), []).append(rule)
    return tuple(tuple(rules) for rules in editions.values())


def neighbours(tyre: Tyre, rim: Rim, tables: Tables) -> tuple[float | None, float | None]:
    """The nearest inner widths below and above that have a row of their own in a table."""
    inner = rim.size.width or 0.0
    listed = {
        rule.rim_from
        for rules in _editions(rim.kind, tyre.size.bsd, tables)
        for rule in rules
        if rule.role in DECIDING and rule.rim_from == rule.rim_to
    }
    below = max((one for one in listed if one < inner), default=None)
    above = min((one for one in listed if one > inner), default=None)
    return below, above


def _word(rules: tuple[WidthRule, ...], width: float, inner: float) -> EditionWord:
    first = rules[0]
    rows: Sequence[WidthRule] = [rule for rule in rules if rule.rim_from <= inner <= rule.rim_to]
    if first.role == "minimum":
        rows = [rule for rule in rules if inner >= rule.rim_from]
    if any(rule.tyre_from == rule.tyre_to for rule in rows):  # a row for one tyre only
        rows = [rule for rule in rows if rule.tyre_from <= width <= rule.tyre_to]
    source = ", ".join(dict.fromkeys(rule.source for rule in rows or rules))
    memory = all(rule.from_memory for rule in rows or rules)
    if not rows:
        word, low, high, note, stops = Word.SILENT, None, None, "", False
    else:
        low = max(rule.tyre_from for rule in rows)
        high = min(rule.tyre_to for rule in rows)
        stops = width > high and all(rule.open_top for rule in rows)
        word = _speaks(first.role, low <= width <= high, stops, inner, rows)
        note = "; ".join(dict.fromkeys(rule.note for rule in rows if rule.note))
    return EditionWord(first.edition, word, low, high, note, source, memory, first.order,
                       first.role, stops)  # fmt: skip


def _speaks(role: str, inside: bool, stops: bool, inner: float, rows: Sequence[WidthRule]) -> Word:
    if role == "minimum" and inside:  # it binds wider rims, and vouches for its own only
        own = any(rule.rim_from <= inner <= rule.rim_to for rule in rows)
        return Word.ALLOWS if own else Word.SILENT
    if inside:
        return Word.ALLOWS
    # The measuring rim says nothing of other rims, a maker nothing of parts it did not list.
    return Word.SILENT if stops or role in ("measuring", "maker") else Word.FORBIDS


def _hooked_only(said: list[EditionWord]) -> list[EditionWord]:
    """Ranges up to 2006 are printed for crochet rims (13C, 15C, ...).

    On a hookless rim they may bar a tyre, and allow none: where the newest of them allows it, they
    are told and not counted.
    """
    ranges = [one for one in said if one.role == "range" and one.word is not Word.SILENT]
    newest = max(ranges, key=lambda one: one.order, default=None)
    if newest is None or newest.word is not Word.ALLOWS:
        return said
    return [
        replace(one, role="shown", note="made for hooked rims") if one in ranges else one
        for one in said
    ]


def _vouched(one: EditionWord, width: float, widest: float) -> EditionWord:
    """A least width can't vouch for a tyre wider than any table allows on that rim."""
    if one.role != "minimum" or one.word is not Word.ALLOWS or width <= widest:
        return one
    return replace(one, word=Word.SILENT)
