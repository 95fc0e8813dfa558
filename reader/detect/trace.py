"""Follow lines of lettering through the finder's maps, along whatever curve they take."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np

from reader.detect.model import CELL, Maps, look, sizes
from reader.detect.nms import Followed, without_doubles
from reader.photo.rectify import flip, lengthen
from reader.records import Floats, Photo, Pixels, Region

SEED = 0.5  # a line starts where the finder is this sure
FOLLOW = 0.22  # and goes on while it is this sure
GAP = 1.3  # capital heights without text that end a line
SHORTEST = 1.6  # capital heights; shorter finds are dropped
TURNED = 0.35  # below this mean agreement the reading direction is open: both are tried
DRAWN_OUT = 0.75  # capital heights added at both ends of a line: letters begin before they are seen
MOST = 120  # lines a photo
AIR = 64  # pixels at least that are looked at around a user's box
ACROSS = np.linspace(
    -1, 1, 5, dtype=np.float32
)  # where a line's middle is looked for, in shares of the reach


@dataclass(frozen=True, eq=False)
class Line:
    """A line of lettering: its region as the finder would read it, and the same turned round."""

    region: Region
    turned: Region
    is_open: bool = False  # the finder can't tell which of the two is right

    @property
    def ways(self) -> tuple[Region, ...]:
        """The region, and the turned one where that may be right as well."""
        return (self.region, self.turned) if self.is_open else (self.region,)


def find_lines(photo: Photo) -> list[Region]:
    """Lines of lettering in a photo, the surest first.

    A line whose reading direction the finder can't tell is given twice, once each way.
    """
    found = [line for maps in look(_grey(photo.pixels)) for line in _lines(photo, maps)]
    return [way for line in without_doubles(found)[:MOST] for way in _told(line).ways]


def search(photo: Photo) -> Iterator[list[Line]]:
    """Lines of lettering, the surest first: those of a quick look, then what larger sizes add.

    The quick look takes a small part of the time; who has seen enough need not ask for more. A
    line that a larger size shows better is told again. With a box from the user only the box
    and its surroundings are looked at.
    """
    top, bottom, left, right = _window(photo)
    grey = _grey(photo.pixels[top:bottom, left:right])
    quick = sum(scale < 1 for scale in sizes((grey.shape[0], grey.shape[1])))
    found: list[Followed] = []
    told: set[int] = set()
    for number, maps in enumerate(look(grey), start=1):
        found += [(_moved(region, left, top), way) for region, way in _lines(photo, maps)]
        if number >= quick:
            kept = without_doubles(found)[:MOST]
            yield [_told(line) for line in kept if id(line[0]) not in told]
            told.update(id(region) for region, _ in kept)


def glance(photo: Photo, whole: bool = False) -> list[Line]:
    """Lines that a look at the photo's smaller sizes shows, and with `whole` at its own size.

    A moving picture is looked at again in a moment, so that nothing is enlarged here; the photo's
    own size is looked at only where a smaller one shows a surface or letters.
    """
    grey = _grey(photo.pixels)
    shape = grey.shape[0], grey.shape[1]
    scales = [scale for scale in sizes(shape) if scale < 1 or (scale == 1 and whole)] or [1.0]
    found = [line for maps in look(grey, scales, gated=True) for line in _lines(photo, maps)]
    return [_told(line) for line in without_doubles(found)[:MOST]]


def _window(photo: Photo) -> tuple[int, int, int, int]:
    """Top, bottom, left, right: the whole photo, or the user's box with some surroundings."""
    if photo.box is None:
        return 0, photo.shape[0], 0, photo.shape[1]
    x, y, width, height = photo.box
    air = max(AIR, min(width, height) // 2)
    return (
        max(0, y - air),
        min(photo.shape[0], y + height + air),
        max(0, x - air),
        min(photo.shape[1], x + width + air),
    )


def _moved(region: Region, x: int, y: int) -> Region:
    return replace(region, centreline=region.centreline + np.array([x, y], np.float32))


def _grey(pixels: Pixels) -> Pixels:
    if pixels.ndim == 2:
        return pixels
    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)


def _told(line: Followed) -> Line:
    region, agreement = line
    longer = lengthen(region, DRAWN_OUT)
    longer = longer if agreement >= 0 else flip(longer)
    return Line(longer, flip(longer), abs(agreement) < TURNED)


def _lines(photo: Photo, maps: Maps) -> list[Followed]:
    """Lines at one size, each with its agreement between walk and told reading direction."""
    text = maps.text.copy()
    grown = cv2.dilate(text, np.ones((3, 3), np.uint8))  # the cells around
    peaks = np.argwhere((text >= SEED) & (text >= grown))
    order = np.argsort(-text[tuple(peaks.T)])
    found = []
    for y, x in peaks[order]:
        if text[y, x] < SEED:
            continue
        walk = _follow(maps, text, float(x), float(y))
        line = _line(photo, maps, walk)
        _erase(text, walk, maps)
        if line is not None:
            found.append(line)
    return found


def _bilinear(field: Floats, x: float, y: float) -> Floats:
    height, width = field.shape[:2]
    x, y = min(max(x, 0.0), width - 1.001), min(max(y, 0.0), height - 1.001)  # inside the last cell
    i, j = int(y), int(x)
    b, a = y - i, x - j
    return np.asarray(
        (field[i, j] * (1 - a) + field[i, j + 1] * a) * (1 - b)
        + (field[i + 1, j] * (1 - a) + field[i + 1, j + 1] * a) * b
    )


def _at(field: Floats, spots: Floats) -> Floats:
    """A flat field's values at N x 2 places (x, y), interpolated."""
    height, width = field.shape
    x = np.minimum(np.maximum(spots[:, 0], 0.0), width - 1.001)  # inside the last cell
    y = np.minimum(np.maximum(spots[:, 1], 0.0), height - 1.001)  # as above
    j, i = x.astype(np.intp), y.astype(np.intp)
    a, b = x - j, y - i
    above = field[i, j] * (1 - a) + field[i, j + 1] * a
    return np.asarray(above * (1 - b) + (field[i + 1, j] * (1 - a) + field[i + 1, j + 1] * a) * b)


def _axis(maps: Maps, x: float, y: float) -> Floats:
    """Unit vector along the line, either way."""
    double = _bilinear(maps.axis, x, y)
    angle = np.arctan2(double[1], double[0]) / 2
    return np.array([np.cos(angle), np.sin(angle)], np.float32)


def _follow(maps: Maps, text: Floats, x: float, y: float) -> Floats:
    """Walk both ways from a seed; N x 3: x, y in cells and the finder's belief."""
    start = np.array([x, y], np.float32)
    axis = _axis(maps, x, y)
    ahead = _walk(maps, text, start, axis)
    behind = _walk(maps, text, start, -axis)
    seed = np.array([[x, y, text[round(y), round(x)]]], np.float32)
    return np.concatenate([behind[::-1], seed, ahead])


def _walk(maps: Maps, text: Floats, point: Floats, heading: Floats) -> Floats:
    """Steps from a point while text goes on, kept on the middle of the line."""
    steps: list[tuple[float, float, float]] = []
    missing = 0.0
    rows, columns = text.shape
    for _ in range(2000):  # no line is longer; ends a walk in a circle
        cap = float(_bilinear(maps.height, point[0], point[1])) / CELL
        stride = max(0.8, min(0.5 * cap, 4.0))  # cells: no letter is stepped over, none seen twice
        point = point + heading * stride
        if not (0 <= point[0] < columns and 0 <= point[1] < rows):
            break
        point, belief = _centred(text, point, heading, cap)
        if belief < FOLLOW:
            missing += stride
            if missing > GAP * cap:
                break
        else:
            missing = 0.0
            axis = _axis(maps, point[0], point[1])
            axis = axis if axis @ heading >= 0 else -axis
            if axis @ heading < 0.5:  # a sharp bend is another line's
                break
            heading = heading * 0.5 + axis * 0.5
            heading = heading / np.hypot(*heading)
        steps.append((point[0], point[1], belief))
    while steps and steps[-1][2] < FOLLOW:
        steps.pop()
    return np.array(steps, np.float32).reshape(-1, 3)


def _centred(text: Floats, point: Floats, heading: Floats, cap: float) -> tuple[Floats, float]:
    """Shift a point across the line to the middle of the text there; and how sure it is text."""
    normal = np.array([-heading[1], heading[0]], np.float32)
    reach = max(1.0, 0.4 * cap)  # short of the next line of text
    offsets = reach * ACROSS
    values = _at(text, point + normal * offsets[:, None])
    total = values.sum()
    best = float(values.max())
    if best < FOLLOW:
        return point, best
    shift = float((values * offsets).sum() / total)
    return point + normal * shift * 0.5, best


def _erase(text: Floats, walk: Floats, maps: Maps) -> None:
    """Take a followed line out, so that it is not found again."""
    caps = _at(maps.height, walk[:, :2]) / CELL
    thickness = max(2, round(float(np.median(caps)) * 1.1))
    points = np.rint(walk[:, :2]).astype(np.int32)
    cv2.polylines(text, [points[:, None]], False, 0.0, thickness)
    for x, y in points:
        text[max(0, y - 1) : y + 2, max(0, x - 1) : x + 2] = 0.0


def _line(photo: Photo, maps: Maps, walk: Floats) -> Followed | None:
    if len(walk) < 3:  # no direction
        return None
    cap = float(np.median(_at(maps.height, walk[:, :2])))
    steps = np.diff(walk[:, :2], axis=0)
    length = float(np.hypot(steps[:, 0], steps[:, 1]).sum()) * CELL
    if length < SHORTEST * cap or cap < 4:  # pixels: lower letters can't be read
        return None
    tangents = np.gradient(walk[:, :2], axis=0)
    tangents /= np.hypot(tangents[:, 0], tangents[:, 1])[:, None] + 1e-6
    told = np.array([_bilinear(maps.along, x, y) for x, y, _ in walk])
    # a short arrow is a doubtful one: it must not count as a whole
    told /= np.maximum(np.hypot(told[:, 0], told[:, 1]), 1.0)[:, None]
    agreement = float(((tangents * told).sum(1) * walk[:, 2]).sum() / walk[:, 2].sum())
    line = maps.to_photo(walk[:, :2])
    score = float(walk[:, 2].mean())
    region = Region(photo, line, cap / maps.scale, score, "lines")
    return region, agreement
