"""Many looks at one line, letter by letter: who saw which letter where, and what all say together.

Frames of CTC output can't be averaged: each look puts its spikes elsewhere. So the letters of each
look are laid beside the letters of those before, by place and by shape, as in ROVER (Fiscus, 'A
post-processing system to yield reduced word error rates', ASRU 1997), and each place is voted on.
A letter covered in one look and free in another is free.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.records import Floats, Hypothesis

Array = NDArray[np.float64]
Matrix = Array  # 2 x 3

ODD = 0.08  # share of a letter's belief kept for all others: one look may be wholly wrong there
MISSED = 0.35  # vote of a look that shows nothing where others show a letter: it may be covered
APART = 0.8  # heights up to which two letters can be the same one
MISPLACED = 0.9  # cost of two letters a height apart
FURTHEST = 6.0  # heights by which tracking may be off
AGREE = 0.45  # share of the letters that must fall on like ones for a look to be laid on them
SKIP = 0.75  # cost of a letter without partner
SURE_BLANK = -0.01  # natural-log probability of no letter, between the voted ones
FRAMES_A_HEIGHT = 12  # of the voted line


@dataclass(frozen=True, eq=False)
class Letters:
    """The letters of one look: K places (x, y) on the mosaic, K x C natural-log probabilities.

    `line` N x 2 is where the look's line runs on the mosaic, evenly; `frames` T x C what was read
    along it; `height` is in mosaic pixels; `weight` how much the look counts. `inside` says of each
    letter whether it stood well inside its frame.
    """

    spots: Floats
    logs: Floats
    inside: NDArray[np.bool_]
    line: Floats
    frames: Floats
    height: float
    weight: float


@dataclass
class Slot:
    """A letter of the line: its place, the sum of weighted votes, and how many looks had it."""

    spot: Array
    votes: Array  # C, weighted sums of natural-log probabilities
    weight: float
    seen: int = 1
    inside: bool = False


@dataclass
class Vote:
    """All looks at one line read one way round; slots in reading order."""

    slots: list[Slot] = field(default_factory=list)
    looks: int = 0
    lines: list[tuple[Floats, float]] = field(default_factory=list)  # of the looks; their weights

    def add(self, look: Letters) -> Letters:
        """Lay a look's letters beside those known, and count its votes; where it lies then."""
        self.looks += 1
        if not self.slots or not len(look.spots):
            self.slots = self.slots or [_slot(look, k) for k in range(len(look.spots))]
            self._remember(look)
            return look
        look, agrees = _laid(self.slots, look)
        if not agrees and self._reads_more(look):
            self.slots = [_slot(look, k) for k in range(len(look.spots))]
            self.lines = []
            self._remember(look)
            return look
        if not agrees and self._strays(look):
            return look
        pairs = _aligned(self.slots, look)
        merged: list[Slot] = []
        for slot, k in pairs:
            if slot is None:
                merged.append(self._late(look, k))
            elif k < 0:
                _missed(slot, look)
                merged.append(slot)
            else:
                share = look.weight / (slot.weight + look.weight)
                slot.spot += share * (look.spots[k] - slot.spot)
                slot.votes += look.weight * _softened(look.logs[k])
                slot.weight += look.weight
                slot.seen += 1
                slot.inside |= bool(look.inside[k])
                merged.append(slot)
        self.slots = merged
        self._remember(look)
        return look

    def _reads_more(self, look: Letters) -> bool:
        """Whether a look that agrees with nothing known is much clearer than all that is."""
        sure = sum(float(np.exp(_voted(slot, 0.0)[1:].max())) for slot in self.slots)
        return float(np.exp(look.logs[:, 1:].max(1)).sum()) > 1.3 * sure + 1

    def _strays(self, look: Letters) -> bool:
        """Whether a look with letters enough to be laid beside those known could not be."""
        return min(len(look.spots), len(self.slots)) >= 4

    def _late(self, look: Letters, k: int) -> Slot:
        """A letter that looks before did not show: they count as having missed it, if they saw."""
        slot = _slot(look, k)
        near = self._covered(slot.spot, look.height)
        blank = np.full(len(slot.votes), np.log(ODD / len(slot.votes)))
        blank[0] = np.log(1 - ODD)
        slot.votes += MISSED * near * blank
        slot.weight += MISSED * near
        return slot

    def _remember(self, look: Letters) -> None:
        every = max(1, round(0.4 * look.height / max(_length(look.line), 1e-6) * len(look.line)))
        self.lines.append((look.line[::every], look.weight))

    def _covered(self, spot: Array, height: float) -> float:
        """Weight of the looks before that ran over this place."""
        return sum(
            weight
            for line, weight in self.lines
            if float(np.hypot(*(line - spot).T).min()) < 0.6 * height
        )

    def hypothesis(
        self, height: float, independent: float, alphabet: str, most: float = math.inf
    ) -> Hypothesis | None:
        """The voted line as one reading; its frames run evenly from `line`'s start to its end.

        Args:
            height: of the line, mosaic pixels.
            independent: power below 1: n looks count as n ** power, but as `most` at most.
            alphabet: letters of columns 1 on.

        Returns:
            Frames with each letter at its place, or None without letters.
        """
        kept = [slot for slot in self.slots if slot.weight > 0]
        if not kept:
            return None
        tops = [_voted(slot, independent, most) for slot in kept]
        line = np.array([slot.spot for slot in kept])
        steps = np.r_[0.0, np.hypot(*np.diff(line, axis=0).T)] if len(line) > 1 else np.zeros(1)
        places = np.cumsum(np.maximum(steps, 0.2 * height)) / height * FRAMES_A_HEIGHT
        at = np.rint(places).astype(int) + FRAMES_A_HEIGHT // 2
        for k in range(1, len(at)):  # a blank between any two letters
            at[k] = max(at[k], at[k - 1] + 2)
        classes = len(tops[0])
        logs = np.full((int(at[-1]) + FRAMES_A_HEIGHT // 2, classes), -30.0, np.float32)
        logs[:, 0] = SURE_BLANK
        for place, top in zip(at, tops, strict=True):
            logs[place] = top
        best = [int(top.argmax()) for top in tops]
        letters = [k for k, one in enumerate(best) if one > 0]
        text = "".join(alphabet[best[k] - 1] for k in letters)
        scores = tuple(float(np.exp(tops[k][best[k]])) for k in letters)
        score = float(np.mean(scores)) if scores else 0.0
        return Hypothesis("moulded", text, score, None, logs, alphabet, scores)

    def ends(self) -> tuple[Array, ...]:
        """Places of the letters, in reading order."""
        return tuple(slot.spot for slot in self.slots)


def _softened(logs: Floats) -> Array:
    """Log-probabilities that leave every letter a chance."""
    shares = np.exp(logs.astype(np.float64))
    return np.asarray(np.log((1 - ODD) * shares / shares.sum() + ODD / len(shares)))


def _slot(look: Letters, k: int) -> Slot:
    return Slot(
        look.spots[k].astype(np.float64), look.weight * _softened(look.logs[k]), look.weight,
        inside=bool(look.inside[k]),
    )  # fmt: skip


def _voted(slot: Slot, independent: float, most: float = math.inf) -> Array:
    """What a slot says, as if its looks were fewer: neighbouring frames err together."""
    count = max(slot.weight, 1e-6)
    power = min(max(count, 1.0) ** independent, most) / count
    logs = slot.votes * power
    return np.asarray(logs - np.logaddexp.reduce(logs))


def _missed(slot: Slot, look: Letters) -> None:
    """A look that runs over this place and shows no letter there votes for none, a little."""
    gaps = np.hypot(*(look.line - slot.spot).T)
    nearest = int(gaps.argmin())
    if gaps[nearest] > 0.6 * look.height:
        return
    centre = round(nearest / max(1, len(look.line) - 1) * (len(look.frames) - 1))
    reach = max(1, round(0.3 * look.height / max(_length(look.line), 1e-6) * len(look.frames)))
    window = look.frames[max(0, centre - reach) : centre + reach + 1]
    shown = window[int(window[:, 0].argmin())]
    slot.votes += MISSED * look.weight * _softened(shown)
    slot.weight += MISSED * look.weight


def _length(line: Floats) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _laid(slots: Sequence[Slot], look: Letters) -> tuple[Letters, bool]:
    """The look moved onto the letters known, and whether enough of them agree."""
    places = np.array([slot.spot for slot in slots])
    likes = np.array([np.exp(_voted(slot, 0.0)) for slot in slots])
    matrix = _onto(places, likes, look, np.exp(look.logs.astype(np.float64)))
    if matrix is None:
        return look, False

    def through(points: Floats) -> Floats:
        return np.asarray(points @ matrix[:, :2].T + matrix[:, 2], np.float32)

    return replace(look, spots=through(look.spots), line=through(look.line)), True


def _aligned(slots: Sequence[Slot], look: Letters) -> list[tuple[Slot | None, int]]:
    """Slots and letters in one order; each slot with its letter, -1 or None where there is none."""
    places = np.array([slot.spot for slot in slots])
    likes = np.array([np.exp(_voted(slot, 0.0)) for slot in slots])
    shown = np.exp(look.logs.astype(np.float64))
    gaps = np.hypot(*(places[:, None] - look.spots[None]).transpose(2, 0, 1))
    gaps = gaps / look.height
    alike = np.minimum(likes[:, None], shown[None]).sum(2)
    cost = np.where(gaps < APART, MISPLACED * gaps + 0.6 * (1 - alike), np.inf)
    rows, columns = cost.shape
    costs = cost.tolist()
    best = [[SKIP * (i + j) for j in range(columns + 1)] for i in range(rows + 1)]
    for i in range(rows):
        for j in range(columns):
            both = best[i][j] + costs[i][j]
            best[i + 1][j + 1] = min(both, best[i][j + 1] + SKIP, best[i + 1][j] + SKIP)
    out: list[tuple[Slot | None, int]] = []
    i, j = rows, columns
    while i or j:
        if i and j and best[i][j] == best[i - 1][j - 1] + costs[i - 1][j - 1]:
            i, j = i - 1, j - 1
            out.append((slots[i], j))
        elif i and (not j or best[i][j] == best[i - 1][j] + SKIP):
            i -= 1
            out.append((slots[i], -1))
        else:
            j -= 1
            out.append((None, j))
    out.reverse()
    return _in_order(out, look)


def _in_order(pairs: list[tuple[Slot | None, int]], look: Letters) -> list[tuple[Slot | None, int]]:
    """Unpaired slots and letters between two pairs, sorted along the line."""
    spots = [look.spots[k] if slot is None else slot.spot for slot, k in pairs]
    ahead = look.line[-1] - look.line[0]
    out: list[tuple[Slot | None, int]] = []
    loose: list[tuple[float, int]] = []
    for n, (slot, k) in enumerate(pairs):
        if slot is not None and k >= 0:
            out += [pairs[m] for _, m in sorted(loose)]
            loose = []
            out.append(pairs[n])
        else:
            loose.append((float(spots[n] @ ahead), n))
    return out + [pairs[m] for _, m in sorted(loose)]


def _onto(places: Array, likes: Array, look: Letters, shown: Array) -> Matrix | None:
    """The similarity (2 x 3) that lays a look's letters on those known, by letters that are alike.

    None where too few agree: the look may be of something else, or show next to nothing.
    """
    alike = np.minimum(likes[:, None], shown[None]).sum(2) > 0.5
    apart = np.hypot(*(places[:, None] - look.spots[None]).transpose(2, 0, 1))
    rows, columns = np.nonzero(alike & (apart < FURTHEST * look.height))
    needed = max(3, round(AGREE * min(len(look.spots), len(places))))
    if len(rows) < needed:
        return None
    start, end = look.spots[columns].astype(np.float64), places[rows]
    matrix, inliers = cv2.estimateAffinePartial2D(
        start, end, ransacReprojThreshold=0.4 * look.height, maxIters=400
    )
    if matrix is None:
        return None
    kept = inliers[:, 0] > 0
    grown = float(np.hypot(matrix[0, 0], matrix[1, 0]))
    if len(set(rows[kept])) < needed or not 0.75 < grown < 1.33 or matrix[0, 0] / grown < 0.9:
        return None
    return np.asarray(matrix, np.float64)
