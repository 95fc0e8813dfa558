"""Whether two pictures show the same place of the same part: scratches, dirt, letters, ribs.

Both pictures are the straightened surroundings of a marking. Upright SIFT features (Lowe 2004, by
OpenCV), described once as they are and once with light and dark taken as alike, because the edges
of relief swap them when the light moves; where they agree on one shift and size, by a Hough vote,
they are matched again near by, and an affine map is fitted to them (USAC, Barath and others 2020,
by OpenCV). What lies within the marking's own rows counts apart: two parts of one size share their
text. How much must agree is fitted; see `reader/data/likeness.json`.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np

from reader.records import Floats, Pixels

FILE = Path(__file__).parents[1] / "data" / "likeness.json"
CAP, PAD, ROOM = 24, 3.5, 8.0  # text height in pixels; heights shown above and below, and beside
ROWS = round(CAP * (1 + 2 * PAD))
BAND = 16  # pixels from the middle within which the marking's own text lies
FEATURES, FEW = 1200, 250  # of a picture; the strongest, for a first glance
SIZES = (0.78, 0.88, 1.0, 1.13, 1.28)  # tried, of one picture against the other
REACH = (200, 50)  # pixels that one may be shifted against the other: along, across
BIN = 10
NEAR, GROWING = 16, 0.05  # pixels around the voted place; more of it far from the marking
CLEARER = 0.92  # than the second best match
APART = 2.5  # pixels off the affine map
NOTHING = np.zeros(0, np.float32)
STRETCH = (0.7, 1.45, 1.3)  # least, greatest, and one against the other


@dataclass(frozen=True, eq=False)
class Look:
    """The features of one picture; N of them."""

    pixels: Pixels
    at: Floats  # N x 2, pixels
    size: Floats  # N, natural logarithm
    plain: Floats  # N x 128, unit vectors
    folded: Floats  # N x 64: light and dark edges alike


@dataclass(frozen=True)
class Likeness:
    """How many features of two pictures agree on one place, shift and size."""

    around: int = 0  # outside the rows of the marking
    text: int = 0  # within them

    @property
    def score(self) -> float:
        """What agrees; the text counts less, since other parts of the size have it too."""
        return self.around + _model()["text"] * self.text

    @property
    def probability(self) -> float:
        """That both show the same part, where one pair in two does."""
        fitted = _model()
        margin = fitted["any"] + fitted["agree"] * np.log1p(self.score)
        return float(1 / (1 + np.exp(-margin)))


@lru_cache(maxsize=1)
def _model() -> dict[str, float]:
    found: dict[str, float] = json.loads(FILE.read_text(encoding="utf-8"))
    return found


def threshold() -> float:
    """Likeness from which a pair is worth a person's look."""
    return _model()["from"]


def look(pixels: Pixels) -> Look:
    """Find and describe the features of a grey picture, `ROWS` x W."""
    grey = np.clip(_level(pixels.astype(np.float32)) * 40 + 128, 0, 255).astype(np.uint8)
    finder = cv2.SIFT_create(FEATURES, 3, 0.008, 15)  # type: ignore[attr-defined]
    found: dict[tuple[int, int, int], cv2.KeyPoint] = {}
    for point in sorted(finder.detect(grey, None), key=lambda one: -one.response):
        place = round(point.pt[0]), round(point.pt[1]), point.octave & 255
        x, y = point.pt
        upright = cv2.KeyPoint(x, y, point.size, 0.0, point.response, point.octave)
        found.setdefault(place, upright)
    points, described = finder.compute(grey, list(found.values()))
    if described is None:
        points, described = (), np.zeros((0, 128), np.float32)
    eight = described.reshape(-1, 16, 8)
    folded = (eight[:, :, :4] + eight[:, :, 4:]).reshape(-1, 64)
    return Look(
        pixels,
        np.array([point.pt for point in points], np.float32).reshape(-1, 2),
        np.log(np.array([point.size for point in points], np.float32)),
        _root(described),
        _root(folded),
    )


def _root(described: Floats) -> Floats:
    """Hellinger's kernel, which tells such features apart better (Arandjelović, Zisserman 2012)."""
    return np.sqrt(described / (described.sum(1, keepdims=True) + 1e-6)).astype(np.float32)


def glance(one: Look, other: Look) -> float:
    """A first impression from the strongest features: how strongly they agree on one shift."""
    votes = _votes(_strongest(one), _strongest(other))
    return votes[0][0] if votes else 0.0


def _strongest(seen: Look) -> Look:
    return Look(
        seen.pixels, seen.at[:FEW], seen.size[:FEW], seen.plain[:FEW], seen.folded[:FEW]
    )  # `look` puts them in this order


def compare(one: Look, other: Look) -> Likeness:
    """How alike two pictures are; the order of the two hardly matters."""
    best = Likeness()
    for _, size, along, across in _votes(one, other)[:2]:
        rows = _agreeing(one, other, size, np.array([along, across], np.float32))
        text = int((np.abs(rows - ROWS / 2) < BAND).sum())
        best = max(best, Likeness(len(rows) - text, text), key=lambda found: found.score)
    return best


def _placed(other: Look, size: float) -> Floats:
    """Where another picture's features would lie at another size, the marking's start kept."""
    anchor = np.array([ROOM * CAP, ROWS / 2], np.float32)
    return np.asarray((other.at - anchor) * size + anchor, np.float32)


def _votes(one: Look, other: Look) -> list[tuple[float, float, float, float]]:
    """(votes, size, shift along, shift across) that most like pairs agree on, best first."""
    if len(one.at) < 8 or len(other.at) < 8:
        return []
    grown = one.size[:, None] - other.size[None]
    alike = np.maximum(one.plain @ other.plain.T, one.folded @ other.folded.T)
    alike = np.where(np.abs(grown) < 0.6, alike, np.float32(-1))
    first = np.repeat(np.arange(len(alike)), 3)
    second = np.argpartition(-alike, 3, 1)[:, :3].ravel()
    worth = alike[first, second]
    use = worth > 0.6
    first, second, worth = first[use], second[use], worth[use] - 0.55
    (wide, high), found = REACH, []
    for size in SIZES:
        shift = one.at[first] - _placed(other, size)[second]
        fits = (np.abs(shift) < REACH).all(1)
        fits &= np.abs(grown[first, second] - np.log(size)) < 0.35
        if fits.sum() < 6:
            continue
        bins, limits = (2 * high // BIN, 2 * wide // BIN), ((-high, high), (-wide, wide))
        across, along = shift[fits, 1], shift[fits, 0]
        votes, _, _ = np.histogram2d(across, along, bins, limits, weights=worth[fits])
        votes = cv2.GaussianBlur(votes.astype(np.float32), (0, 0), 0.9)
        row, column = divmod(int(votes.argmax()), votes.shape[1])
        place = (column + 0.5) * BIN - wide, (row + 0.5) * BIN - high
        found.append((float(votes.max()), size, *place))
    return sorted(found, reverse=True)


def _agreeing(one: Look, other: Look, size: float, shift: Floats) -> Floats:
    """The rows of this picture's features that agree with the other on one affine map."""
    placed = _placed(other, size) + shift
    away = one.at[:, None] - placed[None]
    anchor = np.array([ROOM * CAP, ROWS / 2], np.float32)
    reach = NEAR + GROWING * np.abs(placed - anchor).sum(1)
    near = (away**2).sum(2) < (reach**2)[None]
    near &= np.abs(one.size[:, None] - other.size[None] - np.log(size)) < 0.45
    pairs = {
        pair
        for mine, yours in ((one.plain, other.plain), (one.folded, other.folded))
        for pair in _mutual(mine @ yours.T, near)
    }
    if len(pairs) < 6:
        return NOTHING
    first, second = np.array(sorted(pairs)).T
    matrix, kept = cv2.estimateAffine2D(
        other.at[second], one.at[first],
        method=cv2.USAC_MAGSAC, ransacReprojThreshold=APART, maxIters=2000, confidence=0.999,
    )  # fmt: skip
    if matrix is None:
        return NOTHING
    great, small = np.linalg.svd(matrix[:, :2], compute_uv=False)
    least, most, apart = STRETCH
    if small < least or great > most or great > apart * small:
        return NOTHING
    agreeing = np.unique(first[kept[:, 0].astype(bool)])
    return one.at[agreeing, 1]


def _mutual(alike: Floats, near: np.ndarray) -> list[tuple[int, int]]:
    """Pairs that are each other's best among those near by, and clearly better than the next."""
    alike = np.where(near, alike, np.float32(-1))
    rows = np.arange(len(alike))
    best, back = alike.argmax(1), alike.argmax(0)
    top = alike[rows, best]
    alike[rows, best] = -1
    # Where nothing else lies near, a match must still be a good one.
    next_best = np.maximum(alike.max(1), 0.55)
    clear = np.sqrt(np.maximum(0, 2 - 2 * top)) < CLEARER * np.sqrt(2 - 2 * next_best.clip(max=1))
    good = (top > 0) & (back[best] == rows) & clear
    return [(int(i), int(best[i])) for i in np.nonzero(good)[0]]


def _level(plain: Floats) -> Floats:
    """Brightness and contrast made even over the picture."""
    away = plain - _blur(plain, 20)
    return np.asarray(away / (np.sqrt(_blur(away * away, 20)) + 4), np.float32)


def _blur(plain: Floats, sigma: float) -> Floats:
    return np.asarray(cv2.GaussianBlur(plain, (0, 0), sigma), np.float32)
