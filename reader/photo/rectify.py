"""Regions laid straight: a band along any curve of the photo becomes a grey strip.

Coordinates: a photo pixel's centre has whole-numbered coordinates (x to the right, y downwards).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.records import Floats, Photo, Pixels, Region, Strip

Curve = NDArray[np.float64]

# A chunk is sampled from one crop; a bent chunk whose crop is mostly not band is halved first.
CROP_WASTE = 6.0
SHORTEST_CHUNK, LONGEST_CHUNK = 64, 4096  # in columns
SQUARISH = 0.5  # a box at least this tall for its width may hold text that runs along its height


# what the recogniser was trained on
def straighten(region: Region, strip_height: int = 48, pad: float = 0.25) -> Strip:
    """Sample the photo along the region's centre line.

    Args:
        region: where the text lies; its `height` plus `pad` times that on either side is shown.
        strip_height: rows of the strip.
        pad: margin above and below, as a share of the region's height.

    Returns:
        A grey strip, uint8, `strip_height` x W. W keeps the aspect along the centre line. Pixels
        outside the photo repeat its edge.

    Raises:
        ValueError: the region has no length or no height.
    """
    shown = region.height * (1 + 2 * pad)
    if not shown > 0 or strip_height < 1:
        raise ValueError(f"a region needs a height above 0, this one has {region.height}")
    points, ups = walk(region, shown / strip_height)
    rows = (strip_height - 1) / 2 - np.arange(strip_height, dtype=np.float32)
    offsets = (rows * (shown / strip_height))[:, None].astype(np.float32)
    out = np.empty((strip_height, len(points)), np.uint8)
    for part in _chunks(points, shown, 0, len(points)):
        xs, ys = (points[part, axis] + offsets * ups[part, axis] for axis in (0, 1))
        out[:, part] = _sample(region.photo.pixels, xs, ys, strip_height / shown)
    return Strip(region, out)


def flip(region: Region) -> Region:
    """The same band turned by 180°: read from its other end, the other side up."""
    return replace(region, centreline=np.ascontiguousarray(region.centreline[::-1]))


def lengthen(region: Region, share: float = 0.5) -> Region:  # heights at each end
    """The region with both ends drawn out straight by `share` of its height."""
    line = _distinct(region.centreline)
    head, tail = line[0] - line[1], line[-1] - line[-2]
    reach = share * region.height
    head = line[0] + head / np.hypot(*head) * reach
    tail = line[-1] + tail / np.hypot(*tail) * reach
    longer = np.vstack([head[None], line, tail[None]]).astype(np.float32)
    return replace(region, centreline=longer)


def recut(region: Region, share: float) -> Region:
    """The same line, its band `share` times as high: heights that were judged by eye are off."""
    return replace(region, height=region.height * share)


def locate_in_photo(strip: Strip, columns: tuple[float, float] | None = None) -> Floats:
    """Outline in the photo of some columns of a strip, for drawing.

    Args:
        strip: as `straighten` gave it (enhanced or not).
        columns: first column and the one after the last; the whole strip when missing.

    Returns:
        A closed polygon, M x 2 (x, y): along the upper side in reading direction and back along
        the lower side, at the region's height without the margin.
    """
    width = strip.pixels.shape[1]
    first, last = columns if columns is not None else (0, width)
    first, last = np.clip([min(first, last), max(first, last)], 0, width) / width
    # fine enough for an outline
    points, ups = walk(strip.region, max(strip.region.height / 8, 0.5))
    spots = np.linspace(first, last, max(2, round((last - first) * len(points)))) * len(points)
    grid = np.arange(len(points)) + 0.5
    middle = np.stack([np.interp(spots, grid, points[:, axis]) for axis in (0, 1)], 1)
    up = np.stack([np.interp(spots, grid, ups[:, axis]) for axis in (0, 1)], 1)
    up *= strip.region.height / 2
    return np.vstack([middle + up, (middle - up)[::-1]]).astype(np.float32)


def from_box(photo: Photo, box: tuple[int, int, int, int]) -> list[Region]:
    """Straight regions for a box that the user drew around a marking.

    Args:
        photo: the photo.
        box: x, y, width, height in photo pixels; what lies outside the photo is cut off.

    Returns:
        One region along the width, one along the height where the box is not clearly wide, and
        each of them turned by 180°. Empty when nothing of the box lies in the photo.
    """
    rows, cols = photo.shape
    left, top = max(0, box[0]), max(0, box[1])
    right, bottom = min(cols, box[0] + box[2]), min(rows, box[1] + box[3])
    if right - left < 2 or bottom - top < 2:
        return []
    x, y = (left + right - 1) / 2, (top + bottom - 1) / 2
    width, height = float(right - left), float(bottom - top)
    across = np.array([[left - 0.5, y], [right - 0.5, y]], np.float32)
    upwards = np.array([[x, bottom - 0.5], [x, top - 0.5]], np.float32)
    found = []
    if height <= width / SQUARISH:
        found.append(Region(photo, across, height, finder="box"))
    if height >= width * SQUARISH:
        found.append(Region(photo, upwards, width, finder="box"))
    return [turned for region in found for turned in (region, flip(region))]


def walk(region: Region, step: float) -> tuple[Floats, Floats]:
    """Evenly spaced points on the smoothed centre line, and the unit vectors to the text's top.

    Args:
        region: its `centreline` may be coarse, noisy or hold repeated points.
        step: wanted distance between points in photo pixels.

    Returns:
        Points and upward unit vectors, both N x 2; point i lies at (i + 0.5) / N of the length.

    Raises:
        ValueError: the centre line has no length.
    """
    dense = _smooth_curve(_distinct(region.centreline), region.height)
    run = _run(dense)
    count = max(1, round(float(run[-1]) / step))
    spots = (np.arange(count) + 0.5) * (run[-1] / count)
    slope = np.gradient(dense, run, axis=0)
    points = np.stack([np.interp(spots, run, dense[:, axis]) for axis in (0, 1)], 1)
    tangents = np.stack([np.interp(spots, run, slope[:, axis]) for axis in (0, 1)], 1)
    tangents /= np.maximum(np.hypot(tangents[:, 0], tangents[:, 1]), 1e-9)[:, None]
    ups = np.stack([tangents[:, 1], -tangents[:, 0]], 1)
    return points.astype(np.float32), ups.astype(np.float32)


def _distinct(centreline: Floats) -> Curve:
    """The line as float64 without repeated or unknown points."""
    line = np.asarray(centreline, np.float64).reshape(-1, 2)
    line = line[np.isfinite(line).all(1)]
    if len(line):
        moves = np.hypot(*np.diff(line, axis=0).T) > 1e-3  # pixels: the same point
        line = line[np.concatenate([[True], moves])]
    if len(line) < 2:
        raise ValueError("a region needs a centre line of at least two different points")
    return line


def _run(line: Curve) -> Curve:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def _smooth_curve(line: Curve, height: float) -> Curve:
    """A fine curve through the line: cubic between its points, then a light Gaussian.

    The cubic rounds coarse polylines (a chord would cut an arc by its sagitta), the Gaussian
    takes the shake out of noisy ones; its sigma is half the text's height.
    """
    if len(line) == 2:
        return line
    knots = _run(line)
    step = max(height / 6, knots[-1] / 4000)  # six points a letter; bounds memory
    # points, for a direction in the middle
    spots = np.linspace(0, knots[-1], max(3, int(np.ceil(knots[-1] / step)) + 1))
    dense = _hermite(line, knots, spots)
    sigma = height / 2 / (knots[-1] / (len(spots) - 1))
    reach = min(int(np.ceil(3 * sigma)), len(spots) - 1)  # three sigma hold all but 0.3 %
    if reach < 1:
        return dense
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)  # a Gaussian
    kernel /= kernel.sum()
    once = _convolved(dense, kernel)
    return once + _convolved(dense - once, kernel)  # the second pass undoes the arc's shrinking


def _convolved(curve: Curve, kernel: Curve) -> Curve:
    """Smoothed along its length; mirrored through its end points, so that they stay."""
    reach = len(kernel) // 2
    before = 2 * curve[0] - curve[reach:0:-1]
    after = 2 * curve[-1] - curve[-2 : -reach - 2 : -1]
    padded = np.vstack([before, curve, after])
    return np.stack([np.convolve(padded[:, axis], kernel, "valid") for axis in (0, 1)], 1)


def _hermite(line: Curve, knots: Curve, spots: Curve) -> Curve:
    """Piecewise cubic through `line` at `knots`, evaluated at `spots`."""
    slopes = np.gradient(line, knots, axis=0, edge_order=2)
    left = np.clip(np.searchsorted(knots, spots, "right") - 1, 0, len(knots) - 2)
    gap = np.diff(knots)[left][:, None]
    t = (spots - knots[left])[:, None] / gap
    near = (1 + 2 * t) * (1 - t) ** 2 * line[left] + t * (1 - t) ** 2 * gap * slopes[left]
    # cubic Hermite
    far = t**2 * (3 - 2 * t) * line[left + 1] - t**2 * (1 - t) * gap * slopes[left + 1]
    return near + far


def _chunks(points: Floats, shown: float, start: int, stop: int) -> Iterator[slice]:
    """Column ranges whose bounding boxes don't hold much more than the band itself."""
    here = points[start:stop]
    box = here.max(0) - here.min(0) + shown
    length = float(np.hypot(*(here[1] - here[0]))) * len(here) if len(here) > 1 else shown
    lean = box[0] * box[1] <= CROP_WASTE * shown * (length + shown)
    if stop - start <= SHORTEST_CHUNK or (lean and stop - start <= LONGEST_CHUNK):
        yield slice(start, stop)
    else:
        middle = (start + stop) // 2
        yield from _chunks(points, shown, start, middle)
        yield from _chunks(points, shown, middle, stop)


def _sample(pixels: Pixels, xs: Floats, ys: Floats, scale: float) -> Pixels:
    """Grey values at photo coordinates; `scale` is strip pixels per photo pixel."""
    margin = 2 + int(np.ceil(1 / scale))
    left, right = _span(xs, margin, pixels.shape[1])
    top, bottom = _span(ys, margin, pixels.shape[0])
    crop = _grey(pixels[top:bottom, left:right])
    shift_x, shift_y, stretch_x, stretch_y = float(left), float(top), 1.0, 1.0
    if scale < 0.8:  # shrink first, else thin strokes fall between the samples
        rows, cols = crop.shape
        size = (max(1, round(cols * scale)), max(1, round(rows * scale)))
        crop = np.asarray(cv2.resize(crop, size, interpolation=cv2.INTER_AREA), np.uint8)
        stretch_x, stretch_y = size[0] / cols, size[1] / rows
        shift_x += 0.5 / stretch_x - 0.5
        shift_y += 0.5 / stretch_y - 0.5
    local_x = ((xs - np.float32(shift_x)) * np.float32(stretch_x)).astype(np.float32, copy=False)
    local_y = ((ys - np.float32(shift_y)) * np.float32(stretch_y)).astype(np.float32, copy=False)
    kind = cv2.INTER_CUBIC if scale > 1.2 else cv2.INTER_LINEAR  # plainly enlarged
    out = cv2.remap(crop, local_x, local_y, kind, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(out, np.uint8)


def _span(spots: Floats, margin: int, size: int) -> tuple[int, int]:
    """First and last pixel (exclusive) of a photo's side that the samples can touch."""
    rim = spots[[0, -1]]  # columns are straight, so the extremes lie in the outer rows
    first = min(max(0, int(np.floor(rim.min())) - margin), size - 1)
    return first, max(first + 1, min(size, int(np.ceil(rim.max())) + margin + 1))


def _grey(pixels: Pixels) -> Pixels:
    grey = pixels if pixels.ndim == 2 else cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    return np.asarray(grey, np.uint8)
