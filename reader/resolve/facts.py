"""What else a part says of itself, and whether it is a bicycle's at all."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from reader.language import N_
from reader.markings import BY_NAME, MEASURES, OTHER_PARTS
from reader.markings.notation import Kind
from reader.records import Fact, FactName, Marking

LEAST = 0.5  # probability from which a fact is told
MOST = 0.99
DAMAGE = 0.7  # share of a marking's cost that counts against it
ALIKE = 0.04  # share by which one pressure or load may differ in two units, as makers round it
CLEAR = 1.0  # cost up to which a pair is read clearly
OTHER_TOLD = 0.75  # probability from which a part is said to be no bicycle's

Value = float | str | bool


@dataclass(frozen=True)
class OtherPart:
    """A part that is no bicycle's, or has no bead: what it is, what was read, how probable."""

    what: str  # 'motor car', 'motorcycle', 'tubular', 'solid', 'wheelchair', 'pram', …
    text: str
    probability: float


SENTENCES = {
    "motor car": N_("'%(text)s' is a motor vehicle's tyre: no bicycle size."),
    "motorcycle": N_("'%(text)s' is a motorcycle's or moped's tyre: no bicycle size."),
    "tubular": N_("'%(text)s': a tubular tyre is glued on and has no bead seat size."),
    "solid": N_("'%(text)s': a solid tyre has no bead; its maker says which rims it goes on."),
}
SENTENCE = N_(
    "'%(text)s': a part of a %(what)s, no bicycle's; photograph its pair of numbers to be certain."
)


def facts(markings: Iterable[Marking]) -> tuple[Fact, ...]:
    """What else the part says: of each kind the most probable value, if it is probable enough.

    Args:
        markings: everything that was read on the part.

    Returns:
        Facts in the order of `FactName`. Values: pressure 'low-high' in kPa (either may be
        empty), load kg, erd mm, e_bike km/h, holes and threads counts, tubeless, hookless and
        wear_mark true or false, the rest texts.
    """
    found: dict[str, list[tuple[Value, Marking]]] = {}
    for marking in markings:
        for name, value in _said(marking):
            found.setdefault(name, []).append((value, marking))
    told = (_best(name, found[name]) for name in get_args(FactName) if name in found)
    return tuple(fact for fact in told if fact.probability >= LEAST)


def _said(marking: Marking) -> Iterable[tuple[str, Value]]:
    """Names and values of the facts in one marking."""
    if marking.notation == "rim" and marking.numbers["kind"] in ("TC", "TSS"):
        yield "edge", str(marking.numbers["kind"])
    elif BY_NAME[marking.notation].kind is Kind.FACT:
        yield marking.notation, _VALUES.get(marking.notation, _plain)(marking.numbers)


def _plain(numbers: Mapping[str, float | str]) -> Value:
    return numbers["value"]


def _pressure(numbers: Mapping[str, float | str]) -> str:
    ends = (float(numbers["low_kpa"]), float(numbers["high_kpa"]))
    return "-".join(f"{end:.0f}" if end else "" for end in ends)


def _flag(numbers: Mapping[str, float | str]) -> bool:
    return bool(numbers["value"])


_VALUES: dict[str, Callable[[Mapping[str, float | str]], Value]] = {
    "pressure": _pressure,
    "tubeless": _flag,
    "hookless": _flag,
    "wear_mark": _flag,
}


def _best(name: str, said: Sequence[tuple[Value, Marking]]) -> Fact:
    """The value that was read best and most often; others take from its probability."""
    groups: list[list[tuple[Value, Marking]]] = []
    for item in sorted(said, key=lambda one: -trust(one[1])):
        home = next((group for group in groups if _same(name, group[0][0], item[0])), None)
        if home is None:
            groups.append([item])
        else:
            home.append(item)
    support = [sum(trust(marking) for _, marking in group) for group in groups]
    index = support.index(max(support))
    value, clearest = groups[index][0]
    missed = math.prod(1 - trust(marking) for _, marking in groups[index])
    probability = min(MOST, 1 - missed) * support[index] / sum(support)
    seen = clearest.hypothesis
    photo = seen.strip.region.photo.name if seen is not None and seen.strip is not None else ""
    named: FactName = next(one for one in get_args(FactName) if one == name)
    return Fact(named, value, clearest.text, probability, photo)


def _same(name: str, one: Value, other: Value) -> bool:
    """Whether two values are one: pressures and loads are rounded in each unit."""
    if name not in ("pressure", "load") or one == other:
        return one == other
    ends = [[float(end or 0) for end in str(text).split("-")] for text in (one, other)]
    return all(abs(a - b) <= ALIKE * max(a, b) for a, b in zip(*ends, strict=True))


def trust(marking: Marking) -> float:
    """How far one reading of a text is to be believed, 0..1."""
    score = 1.0 if marking.hypothesis is None else marking.hypothesis.score
    return score * math.exp(-DAMAGE * marking.cost)


def other_part(markings: Sequence[Marking]) -> OtherPart | None:
    """The part as no bicycle's, if it says so and no pair of a bicycle's was read clearly."""
    if any(m.notation in MEASURES and m.cost <= CLEAR and _sure(m) for m in markings):
        return None
    said = [m for m in markings if m.notation in OTHER_PARTS]
    if not said:
        return None
    best = max(said, key=trust)
    probability = min(MOST, trust(best))
    if probability < OTHER_TOLD:
        return None
    return OtherPart(str(best.numbers["value"]), best.text, probability)


def _sure(marking: Marking) -> bool:
    return marking.hypothesis is None or marking.hypothesis.score >= OTHER_TOLD


def sentence(other: OtherPart) -> str:
    """What to tell somebody who holds it."""
    return SENTENCES.get(other.what, SENTENCE) % {"text": other.text, "what": other.what}
