"""A line of lettering followed through a sweep: where it runs, and all looks at it.

Places are on the mosaic: the pixels of the frame in which a segment of tracking began.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from reader.photo.rectify import walk
from reader.records import Floats, Hypothesis, Marking, Photo, Pixels, Region
from reader.resolve.rivals import Spelt
from reader.sweep.motion import Matrix, moved, scale_at
from reader.sweep.vote import Letters, Vote

SAME_LINE = 0.3  # share of either line that lies beside the other
BESIDE = 0.55  # heights
ALIKE = 1.6  # ratio of two heights
INSIDE = 0.9  # heights between a letter's middle and its frame's edge, so that nothing is cut off
LETTERING = 1.5  # three letters read clearly, or two digits
SHORTEST = 1.5  # heights of a line that must be in a frame for a look at it


@dataclass(frozen=True, eq=False)
class Look:
    """One reading of a line in one frame; `costs` remembers what markings cost in it."""

    frame: int
    seconds: float
    hypothesis: Hypothesis
    letters: Letters
    to_mosaic: Matrix
    costs: dict[Spelt, float] = field(default_factory=dict)


@dataclass
class Track:
    """A line, its curve on the mosaic in reading direction, and its looks, both ways round."""

    segment: int
    line: Floats
    height: float
    found: int  # frame in which the finder saw it last
    is_open: bool  # the finder can't tell which way round it reads
    fresh: int = 3  # looks still to be had whatever was read: it is new, or has grown
    forward: Vote = field(default_factory=Vote)
    backward: Vote = field(default_factory=Vote)
    looks: list[Look] = field(default_factory=list)
    turned: list[Look] = field(default_factory=list)
    # after so many looks: the voted reading and its markings
    kept: tuple[int, Hypothesis | None, tuple[Marking, ...]] | None = None

    @property
    def straight(self) -> bool:
        """Whether the way that its curve runs is the one that reads better so far."""
        return _sum(self.looks) >= _sum(self.turned)

    @property
    def way_is_known(self) -> bool:
        """Whether the other way round need not be read any more."""
        ahead, back = _sum(self.looks), _sum(self.turned)
        return len(self.looks) >= 2 and abs(ahead - back) > 2.5

    @property
    def best(self) -> Look | None:
        """The look that was read best, the better way round."""
        some = self.looks if self.straight else self.turned
        return max(some, key=lambda look: _weight(look.hypothesis), default=None)

    @property
    def is_lettering(self) -> bool:
        """Whether enough was read to trust that it is a line of letters, on the part itself."""
        best = self.best
        return best is not None and _weight(best.hypothesis) >= LETTERING

    def add(self, look: Look, ahead: bool) -> None:
        """Count a look, read along the curve or against it."""
        self.fresh -= 1
        letters = (self.forward if ahead else self.backward).add(look.letters)
        (self.looks if ahead else self.turned).append(replace(look, letters=letters))

    def meet(self, line: Floats, height: float, frame: int) -> None:
        """The finder saw the line again: its curve grows by what is new, and moves to where it is.

        Args:
            line: as found now, on the mosaic, in either direction.
            height: mosaic pixels.
            frame: number of the frame.
        """
        if (line[-1] - line[0]) @ (self.line[-1] - self.line[0]) < 0:
            line = np.ascontiguousarray(line[::-1])
        before = length(self.line)
        self.line = together(line, self.line)
        if length(self.line) > before + height:
            self.fresh = 3
        self.height += 0.5 * (height - self.height)
        self.found = frame


def _sum(looks: list[Look]) -> float:
    return sum(_weight(look.hypothesis) for look in looks)


def _weight(hypothesis: Hypothesis) -> float:
    """How much was read: clear letters count, digits more."""
    return sum(
        max(0.0, score - 0.4) * (2.0 if letter.isdigit() else 1.0)
        for letter, score in zip(hypothesis.text, hypothesis.char_scores, strict=True)
        if letter != " "
    )


def is_same(line: Floats, height: float, track: Track) -> bool:
    """Whether a line on the mosaic is a track's."""
    if not 1 / ALIKE < height / track.height < ALIKE:
        return False
    one, other = dense(line, height / 2), dense(track.line, height / 2)
    near = np.hypot(*(one[:, None] - other[None]).transpose(2, 0, 1)) < BESIDE * height
    return bool(max(near.any(1).mean(), near.any(0).mean()) > SAME_LINE)


def together(new: Floats, old: Floats) -> Floats:
    """A curve of both: the new one, and what of the old runs on beyond its ends."""
    head, tail = new[0] - new[-1], new[-1] - new[0]
    before = old[(old - new[0]) @ (head / max(np.hypot(*head), 1e-6)) > 1.0]
    after = old[(old - new[-1]) @ (tail / max(np.hypot(*tail), 1e-6)) > 1.0]
    return np.vstack([before, new, after]).astype(np.float32)


def length(line: Floats) -> float:
    """Of a curve, in its own pixels."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def dense(line: Floats, step: float) -> Floats:
    """Points along a curve, `step` apart."""
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    spots = np.linspace(0, run[-1], max(2, int(run[-1] / max(step, 0.5))))
    return np.stack([np.interp(spots, run, line[:, axis]) for axis in (0, 1)], 1).astype(np.float32)


def seen_in(track: Track, to_mosaic: Matrix, photo: Photo) -> Region | None:
    """Where a track's line runs in a frame, None where too little of it is in view."""
    back = np.linalg.inv(to_mosaic)
    line = moved(dense(track.line, track.height / 2), back)
    height = track.height * scale_at(line, back) if len(line) else 0.0
    if not 4 <= height < max(photo.shape):
        return None
    high, wide = photo.shape
    air = 0.3 * height
    shown = (line > air).all(1) & (line < (wide - air, high - air)).all(1)
    runs = np.flatnonzero(np.diff(np.r_[0, shown.astype(int), 0]))
    if not len(runs):
        return None
    longest = int(np.argmax(runs[1::2] - runs[::2]))
    kept = line[runs[2 * longest] : runs[2 * longest + 1]]
    if len(kept) < 3 or float(np.hypot(*np.diff(kept, axis=0).T).sum()) < SHORTEST * height:
        return None
    return Region(photo, kept, height, finder="track")


def letters_of(hypothesis: Hypothesis, to_mosaic: Matrix, weight: float) -> Letters:
    """A look's letters with their places on the mosaic.

    Raises:
        ValueError: the look has no strip or no frames.
    """
    if hypothesis.strip is None or hypothesis.log_probs is None:
        raise ValueError("a look needs its strip and its frames")
    region, logs = hypothesis.strip.region, hypothesis.log_probs
    points, _ = walk(region, max(region.height / 8, 0.5))
    best = logs.argmax(1)
    starts = np.flatnonzero((best > 0) & (best != np.r_[-1, best[:-1]]))
    ends = np.array([_run_end(best, int(t)) for t in starts], np.intp)
    middles = (starts + ends) / 2
    high, wide = region.photo.shape
    # frames cover the strip's columns evenly, but for what was rounded up at its end
    columns = hypothesis.strip.pixels.shape[1] * 48 / hypothesis.strip.pixels.shape[0] / 4
    grid = np.arange(len(points)) + 0.5
    at = np.clip((middles + 0.5) / max(columns, 1.0), 0, 1) * len(points)
    spots = np.stack([np.interp(at, grid, points[:, axis]) for axis in (0, 1)], 1)
    air = np.minimum(spots, np.array([wide - 1, high - 1]) - spots)
    inside = air.min(1) > INSIDE * region.height if len(spots) else np.zeros(0, bool)
    shown = np.array([logs[a : b + 1][logs[a : b + 1, best[a]].argmax()] for a, b in zip(
        starts, ends, strict=True)], np.float32).reshape(-1, logs.shape[1])  # fmt: skip
    line = moved(points, to_mosaic)
    return Letters(
        moved(spots.astype(np.float32), to_mosaic) if len(spots) else spots.astype(np.float32),
        shown, np.asarray(inside, bool), line, logs,
        region.height * scale_at(points, to_mosaic), weight,
    )  # fmt: skip


def _run_end(best: NDArray[np.intp], start: int) -> int:
    end = start
    while end + 1 < len(best) and best[end + 1] == best[start]:
        end += 1
    return end


def light_look(hypothesis: Hypothesis) -> Hypothesis:
    """A reading without its frame's pixels, so that many can be kept."""
    strip = hypothesis.strip
    if strip is None:
        return hypothesis
    empty: Pixels = np.broadcast_to(np.zeros(1, np.uint8), (*strip.region.photo.shape, 3))
    photo = replace(strip.region.photo, pixels=empty)
    region = replace(strip.region, photo=photo)
    return replace(hypothesis, strip=replace(strip, region=region))
