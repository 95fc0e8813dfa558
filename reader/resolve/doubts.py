"""What makes a marking dearer than its letters: the engine's doubt, and what stands around it."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from reader.records import Hypothesis, Marking
from reader.resolve.weights import Weights

STRING_DOUBT = {"tesseract": 0.7}  # engines that only give a string hide their doubts
STRING_DOUBT_OTHERS = 0.3
SCORE_FLOOR = 0.05  # no engine doubts more and still tells letters
CLEAR_NAME = 1.0  # cost up to which a name with its width is no misread pressure
_DATE_NEXT = re.compile(r"[-./:]\d\d[-./:]\d")
_PRESSURE_WORD = re.compile(r"\d ?KP|MAX|MIN\b|INFL|PRES|\bBAR|PSI|KPA|P\.S\.I", re.IGNORECASE)
_UNIT_NEXT = re.compile(r"[ )]{0,2}(?:P\.? ?S|KP|BAR|LBS|KG)", re.IGNORECASE)


def with_doubt(marking: Marking, decoys: Sequence[Marking], use: Weights) -> Marking:
    """A marking with what the engine's doubt and the letters around it cost."""
    cost = marking.cost
    hypothesis = marking.hypothesis
    if hypothesis is not None:
        unsure = -math.log(max(hypothesis.score, SCORE_FLOOR))
        if hypothesis.log_probs is None:
            cost += unsure + STRING_DOUBT.get(hypothesis.engine, STRING_DOUBT_OTHERS)
        else:  # the letters' own doubt is in the cost already; this is the rest of the strip's
            cost += unsure * use.score
        cost += _invented(marking, hypothesis, use)
    is_else = any(overlap(decoy.span, marking.span) for decoy in decoys)
    if is_else or _runs_on(marking):
        cost += use.decoy
    return replace(marking, cost=cost)


def overlap(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether two spans of a text share a letter."""
    return min(one[1], other[1]) > max(one[0], other[0]) or one == other


def _runs_on(marking: Marking) -> bool:
    """Whether a unit or the rest of a date follows: 37-355 P.S.I. is 35-55, 20X1-06-29 is 2011."""
    seen = marking.hypothesis
    if seen is None:
        return False
    at = marking.span[1]
    return bool(_UNIT_NEXT.match(seen.text, at) or _DATE_NEXT.match(seen.text, at))


def _invented(marking: Marking, hypothesis: Hypothesis, use: Weights) -> float:
    """Cost of what a marking adds to the letters that were read: a completion is no reading."""
    seen = signs(hypothesis.text[slice(*marking.span)])
    cost = 0.0
    if hypothesis.log_probs is not None:
        cost += use.completed * max(0, len(signs(marking.text)) - len(seen))
    if marking.notation == "french" and not marking.numbers.get("width_mm"):
        letter = str(marking.numbers.get("letter", ""))
        if letter and letter not in seen.upper():  # 7000 on a scale is no 700C
            cost += use.bare_name
    return cost


def is_of_pressure(texts: Sequence[str], best: Marking) -> bool:
    """Whether a name without a clear width may be pressure: MAX 500 B.. is 5.00 BAR misread.

    Args:
        texts: what all looks at the place read.
        best: the name.
    """
    if best.notation != "french" or (best.numbers.get("width_mm") and best.cost < CLEAR_NAME):
        return False
    return any(_PRESSURE_WORD.search(text) for text in texts)


@lru_cache(maxsize=8192)
def signs(text: str) -> str:
    """Letters and digits alone; a fraction in one sign counts as its two digits."""
    plain = unicodedata.normalize("NFKC", text).replace("×", "X")
    return "".join(sign for sign in plain if sign.isalnum())
