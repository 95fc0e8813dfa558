"""The one parser of typed sizes: every command, page and interface that takes a size asks here.

Typed text is taken at its word. Letters are not doubted as those of a photo are: what no table
knows gets suggestions ('did you mean') and no answer. Texts beside each other ('37-590 26 x 1 3/8')
are taken as independent: shares of the same diameter multiply.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

from reader.errors import InputError
from reader.markings import clean_markings, whole_marking
from reader.names import verdicts
from reader.names.meaning import Meaning
from reader.names.measured import diameter, measured
from reader.names.suggest import UnknownSize, suggestions, twin
from reader.names.together import Group, combine, group_of, groups_of
from reader.names.verdicts import Trust
from reader.names.words import called, refuse_foreign
from reader.records import Candidate, Marking, PartKind, Reading
from reader.tables import Tables

_MM = re.compile(r"(?<=\d)\s*mm\b", re.IGNORECASE)
_INCH = re.compile(
    r"(?<=[\d\u00bc-\u00be\u2150-\u215e])\s*(?:inch(?:es)?|in|zoll)\b", re.IGNORECASE
)
_BESIDE = re.compile(r"(\d{2,3}-\d{3})[ (]+([^()]+)\)?|([^()]+?)[ (]+(\d{2,3}-\d{3})\)?")
_BY = re.compile(r"\bby\b", re.IGNORECASE)
LONGEST = 200  # characters of a typed size
ENOUGH = 0.97  # share from which the meanings held may stand for the text


@dataclass(frozen=True)
class Typed:
    """What a typed text means: sizes by falling share, and what to make of them.

    `meanings` share out at most 1: what is missing to 1 is doubt in the tables themselves.
    """

    text: str
    meanings: tuple[Meaning, ...]
    verdict: Trust
    suggestions: tuple[str, ...] = ()  # what else may have been meant
    profile: str = ""  # a maker's code for a shape of rim, which leaves the diameter open
    advice: tuple[str, ...] = ()  # what settles it, best first
    cautions: tuple[str, ...] = ()
    contradictions: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()  # numbers in the text that no marking explains

    @property
    def diameters(self) -> tuple[tuple[int, float], ...]:
        """Bead seat diameters in mm with their shares, most likely first."""
        found: dict[int, float] = {}
        for one in self.meanings:
            found[one.size.bsd] = found.get(one.size.bsd, 0.0) + one.share
        return tuple(sorted(found.items(), key=lambda pair: (-pair[1], pair[0])))

    @property
    def kind(self) -> PartKind:
        """The part that all meanings are of; 'unknown' where they differ or the text leaves it."""
        parts = {one.part for one in self.meanings}
        return parts.pop() if len(parts) == 1 else "unknown"

    @property
    def ambiguous(self) -> bool:
        """Whether more than one bead seat diameter is possible."""
        return len(self.diameters) > 1

    def on(self, part: str) -> Typed:
        """The same text where it is known to stand on a tyre, rim or tube.

        Meanings of other parts go if any stays; those that leave the part open become of this one.
        """
        if part not in ("tyre", "rim", "tube"):
            return self
        fitting = tuple(one for one in self.meanings if one.part in (part, "unknown"))
        if not fitting:
            return self
        lost = sum(one.share for one in self.meanings) / sum(one.share for one in fitting)
        return replace(
            self,
            meanings=tuple(
                replace(one, part=cast(PartKind, part), share=min(1.0, one.share * lost))
                for one in fitting
            ),
        )

    def likely(self, part: str = "unknown") -> tuple[Meaning, ...]:
        """The fewest meanings that hold nearly all of the belief, one a diameter."""
        found = self.on(part).meanings
        whole, held = sum(one.share for one in found), 0.0
        kept: dict[int, Meaning] = {}
        for one in found:
            if held >= ENOUGH * whole:
                break
            kept.setdefault(one.size.bsd, one)
            held += one.share
        return tuple(kept.values())

    def one(self, part: str = "unknown") -> Meaning:
        """The one meaning, where the text settles the diameter.

        Raises:
            InputError: several diameters are possible.
        """
        found = self.likely(part)
        if len(found) > 1:
            options = " or ".join(str(one.size) for one in found[:4])
            raise InputError(f"'{self.text}' can be {options}", "type the ISO size that it is")
        return found[0]

    def reading(self) -> Reading:
        """The answer in the shape of a reading, so that fit carries its doubt along."""
        candidates = tuple(
            Candidate(one.size, one.part, one.share) for one in self.meanings if one.part != "tube"
        )
        return Reading(candidates, self.verdict.told, advice=self.advice, cautions=self.cautions)


def parse(text: str, tables: Tables, market: str = "world") -> Typed:
    """What a typed text means: a marking, several beside each other, a bare diameter or a word.

    Args:
        text: one line as typed, in any notation.
        tables: the sourced tables.
        market: column of prior.csv that moves the shares; rules nothing out.

    Raises:
        UnknownSize: nothing in it is a size that a table knows; it holds what may be meant.
        InputError: the market is unknown, or the text is far too long.

    >>> from reader.tables import load_tables
    >>> parse("28-622", load_tables()).on("tyre").kind
    'tyre'
    >>> [bsd for bsd, _ in parse("26 x 1 3/8", load_tables()).diameters][:2]
    [590, 597]
    >>> parse("4T-5O7", load_tables())
    Traceback (most recent call last):
    reader.names.suggest.UnknownSize: '4T-5O7' is no size that a table knows: did you mean 47-507?
    """
    shown = " ".join(text[: LONGEST + 1].split())
    if len(shown) > LONGEST:
        raise InputError("a size is a short text", f"give at most {LONGEST} characters")
    pair = measured(shown, tables, market)
    if pair:
        return _answer(shown, pair, paired=True)
    bare = diameter(shown, tables, market)
    if bare:
        return _answer(shown, bare, paired=bare[0].part == "unknown", bare=True)
    written = _units(shown)
    wholes = _wholes(written)
    groups = [group_of(one, tables, market) for one in wholes]
    if groups and all(found for found, _ in groups):
        return _together(shown, groups, (), twin(wholes[0], tables) if len(wholes) == 1 else ())
    word = called(shown, tables, market)
    if word:
        return _answer(shown, word.meanings, profile=word.profile)
    return _marked(shown, written, tables, market)


def _marked(shown: str, written: str, tables: Tables, market: str) -> Typed:
    found, rest = clean_markings(written)
    groups = groups_of(found, tables, market)
    if not groups:
        refuse_foreign(shown)
        raise UnknownSize(shown, suggestions(shown, tables))
    return _together(shown, groups, rest)


def _wholes(written: str) -> list[Marking]:
    """The text as one marking, or as a pair and a name beside it; [] if it is neither."""
    beside = _BESIDE.fullmatch(written)
    parts = [half for half in beside.groups() if half] if beside else [written]
    found = [one for one in map(whole_marking, parts) if one]
    return found if len(found) == len(parts) else []


def _together(
    shown: str, groups: Sequence[Group], rest: tuple[str, ...], alike: tuple[str, ...] = ()
) -> Typed:
    together, clash = combine(groups)
    paired = any(pair for _, pair in groups)
    made = _answer(shown, together, paired=paired, contradictions=clash, unread=rest)
    return replace(made, suggestions=alike) if alike else made


def _units(text: str) -> str:
    """Units and crosses written out, as no maker does but people do: 26 in by 1 3/8 inches."""
    return _BY.sub("x", _INCH.sub('"', _MM.sub("", text)))


def _answer(
    text: str,
    meanings: tuple[Meaning, ...],
    *,
    profile: str = "",
    paired: bool = False,
    bare: bool = False,
    contradictions: tuple[str, ...] = (),
    unread: tuple[str, ...] = (),
) -> Typed:
    open_nominal = bare and len({one.size.bsd for one in meanings}) > 1
    doubtful = bool(contradictions or unread) or open_nominal
    verdict = verdicts.verdict(meanings, paired, doubtful)
    return Typed(
        text,
        meanings,
        verdict,
        profile=profile,
        advice=verdicts.advice(meanings, paired),
        cautions=() if paired else (verdicts.SWAP_CAUTION,),
        contradictions=contradictions,
        unread=unread,
    )
