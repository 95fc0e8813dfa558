"""From tracks to markings: each line's voted letters through the grammar, as ONE piece of evidence.

The looks of a line never count as separate evidence to the resolver: they see the same letters. How
much a further look is worth is fitted (`reader/data/sweep.json`).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from reader.markings import MEASURES, SCORED, automaton, find_all
from reader.markings.trie import compile_trie
from reader.ocr.alphabet import ALPHABET
from reader.records import Floats, Hypothesis, Marking, Photo, Pixels, Region, Strip
from reader.sweep.tracks import Look, Track
from reader.sweep.vote import Vote

FILE = Path(__file__).parents[1] / "data" / "sweep.json"
FEWEST_DIGITS = 2  # as in the cascade: the shortest size has three
CUT = 2.0  # natural-log cost of a number that no frame shows to its end
WRONG_WAY = 3.0  # natural-log cost of a size on a line that reads as well turned round
AS_WELL = 0.92  # share of the letters' certainty from which the other way reads as well


@dataclass(frozen=True)
class Fitted:
    """`independent`: n looks count as n ** independent, but `most` at most; `looks`: share of the
    looks' own grammar scores beside the voted one; `cap`: natural-log cost from which a look says
    nothing more."""

    independent: float = 0.5
    most: float = 4.0
    looks: float = 0.3
    cap: float = 8.0


@lru_cache(maxsize=2)
def fitted(path: Path = FILE) -> Fitted:
    """The shipped numbers, the defaults above where there are none."""
    if not path.exists():
        return Fitted()
    data = json.loads(path.read_text(encoding="utf-8"))
    names = Fitted.__dataclass_fields__
    return Fitted(**{name: float(data[name]) for name in names})


@dataclass(frozen=True, eq=False)
class Fused:
    """A track's reading: the voted letters and what the grammar makes of them."""

    track: Track
    hypothesis: Hypothesis
    markings: tuple[Marking, ...]


def fuse(
    tracks: Sequence[Track], canvas: Photo, shift: Floats, numbers: Fitted | None = None
) -> list[Fused]:
    """Every track's voted reading, the better way round.

    Args:
        tracks: of one segment.
        canvas: stands for the mosaic; its size is that of all frames together.
        shift: from mosaic places to the canvas, pixels (x, y).
        numbers: the shipped ones by default.
    """
    numbers = numbers or fitted()
    out = []
    for track in tracks:
        count = len(track.looks) + len(track.turned)
        if track.kept is None or track.kept[0] != count:
            track.kept = count, *_read(track, numbers)
        _, seen, markings = track.kept
        if seen is not None:
            vote = track.forward if track.straight else track.backward
            placed = _placed(seen, vote, track, canvas, shift)
            here = tuple(replace(m, hypothesis=placed) for m in markings)
            out.append(Fused(track, placed, here))
    return out


def _read(track: Track, numbers: Fitted) -> tuple[Hypothesis | None, tuple[Marking, ...]]:
    """The voted reading and its markings, not yet placed."""
    ahead = _voted(track, track.forward, numbers)
    back = _voted(track, track.backward, numbers)
    main, other = (ahead, back) if track.straight else (back, ahead)
    if main is None or not main.text.strip():
        return None, ()
    vote = track.forward if track.straight else track.backward
    markings = _markings(main, track, vote, numbers)
    if other is not None and _reads_as_well(other, main):
        markings = tuple(
            replace(m, cost=m.cost + WRONG_WAY) if m.notation in MEASURES else m for m in markings
        )
    return main, markings


def _voted(track: Track, vote: Vote, numbers: Fitted) -> Hypothesis | None:
    return vote.hypothesis(track.height, numbers.independent, ALPHABET, numbers.most)


def _reads_as_well(other: Hypothesis, main: Hypothesis) -> bool:
    return sum(other.char_scores) >= AS_WELL * sum(main.char_scores)


def _placed(seen: Hypothesis, vote: Vote, track: Track, canvas: Photo, shift: Floats) -> Hypothesis:
    """The voted reading with its region on the canvas."""
    spots = np.array(vote.ends(), np.float32).reshape(-1, 2) + shift
    if len(spots) < 2:
        ahead = track.line[-1] - track.line[0]
        ahead = ahead / max(float(np.hypot(*ahead)), 1e-6) * track.height
        spots = np.vstack([spots[0] - ahead / 2, spots[0] + ahead / 2])
    else:
        first, last = spots[0] - spots[1], spots[-1] - spots[-2]
        half = track.height / 2
        first = first / max(float(np.hypot(*first)), 1e-6) * half
        last = last / max(float(np.hypot(*last)), 1e-6) * half
        spots = np.vstack([spots[0] + first, spots, spots[-1] + last])
    region = Region(canvas, spots.astype(np.float32), track.height, finder="track")
    best = track.best
    shown: Pixels = np.zeros((48, 96), np.uint8)
    if best is not None and best.hypothesis.strip is not None:
        shown = best.hypothesis.strip.pixels
    return replace(seen, strip=Strip(region, shown, "voted"))


def _markings(seen: Hypothesis, track: Track, vote: Vote, numbers: Fitted) -> tuple[Marking, ...]:
    """Sizes by the voted letters and by every look's own; everything else by the voted text."""
    others = tuple(m for m in find_all(seen) if m.notation not in SCORED)
    if sum(char.isdigit() for char in seen.text) < FEWEST_DIGITS or seen.log_probs is None:
        return others
    scored = automaton.score(seen.log_probs, seen.alphabet)
    looks = track.looks if track.straight else track.turned
    scored = added(scored, looks, numbers)
    return (*(_edged(m, vote) for m in scored), *others)


def _edged(marking: Marking, vote: Vote) -> Marking:
    """A number at an end of the line that no frame shows to its end costs more."""
    letters = [slot for slot in vote.slots if slot.weight > 0]
    shown = [slot for slot in letters if int(slot.votes.argmax()) > 0]
    begin, end = marking.span
    touched = shown[begin:end]
    if not touched:
        return marking
    ends = [touched[0]] if begin == 0 else []
    ends += [touched[-1]] if end >= len(shown) else []
    if all(slot.inside for slot in ends):
        return marking
    return replace(marking, cost=marking.cost + CUT, cut=True)


def added(
    markings: Sequence[Marking], looks: Sequence[Look], numbers: Fitted
) -> tuple[Marking, ...]:
    """Voted costs mixed with the looks' own grammar scores, among readings of the same letters."""
    groups: list[list[Marking]] = []
    for marking in sorted(markings, key=lambda m: m.cost):
        home = next((g for g in groups if _overlap(g[0].span, marking.span)), None)
        if home is None:
            groups.append([marking])
        else:
            home.append(marking)
    out = [one for group in groups for one in _mixed(group, looks, numbers)]
    return tuple(sorted(out, key=lambda m: m.cost))


def _overlap(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return min(one[1], other[1]) > max(one[0], other[0]) or one == other


def _mixed(rivals: Sequence[Marking], looks: Sequence[Look], numbers: Fitted) -> Sequence[Marking]:
    """Rivals for the same letters, cheapest first, with costs that the looks' own scores moved.

    Each look is scored for these alone, at most `cap`: where a digit is covered, all of them cost
    that look the same and it says nothing. The cheapest keeps its voted cost.
    """
    share, cap = numbers.looks, numbers.cap
    if len(rivals) < 2 or len(looks) < 2 or share <= 0:
        return rivals
    table = scores(rivals, looks, cap)
    table = table[table.min(1) < cap - 0.1]  # the others saw another end of the line
    if len(table) < 2:
        return rivals
    own = table.mean(0) * min(len(table) ** numbers.independent, numbers.most)
    voted = np.array([m.cost for m in rivals])
    best = int(voted.argmin())
    mixed = voted + share * ((own - own[best]) - (voted - voted[best]))
    mixed = mixed + max(0.0, float(voted[best] - mixed.min()))  # none gets cheaper than the best
    order = np.argsort(mixed, kind="stable")
    return [replace(rivals[k], cost=float(mixed[k])) for k in order]


def scores(markings: Sequence[Marking], looks: Sequence[Look], cap: float) -> Floats:
    """Cost of each marking in each look (looks x markings), at most `cap`; remembered by look."""
    keys = [(m.notation, tuple(sorted(m.numbers.items()))) for m in markings]
    for look in looks:
        new = [(key, m) for key, m in zip(keys, markings, strict=True) if key not in look.costs]
        if not new:
            continue
        look.costs.update({key: cap for key, _ in new})
        seen = look.hypothesis
        if seen.log_probs is None:
            continue
        trie = compile_trie([(m.notation, m.text, m.numbers) for _, m in new])
        for found in automaton.score(seen.log_probs, seen.alphabet, trie=trie, budget=cap):
            key = found.notation, tuple(sorted(found.numbers.items()))
            look.costs[key] = min(look.costs.get(key, cap), found.cost)
    return np.array([[look.costs[key] for key in keys] for look in looks], np.float32)
