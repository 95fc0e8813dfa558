"""Strips of one line from many frames put together: less noise, and letters raised by light.

Each strip is laid on the best one along the line's curve, then shifted by the phase of its edges
(edges stay where they are when light comes from another side; brightness does not). Their median
has little noise and no passing spoke. What changes most between them as the light moves, their
first principal component, shows every raised edge bright on one side and dark on the other, and
nothing that is flat: relief from light of different sides (Woodham, 'Photometric method for
determining surface orientation from multiple images', Optical Engineering 1980, has the principle).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from reader.records import Floats, Pixels, Strip
from reader.sweep.tracks import Look

FEWEST = 4  # strips from which putting together pays
MOST = 14
FARTHEST = 7.0  # pixels by which a strip may still be shifted
SEEN = 0.6  # share of the best strip's columns that another must cover
CHANGED = 0.06  # share of the variance that light must move for its relief to be worth reading


def composed(looks: Sequence[Look]) -> list[Strip]:
    """The strips put together from looks read the same way round; none where too few fit.

    The strips have the region of the best look; their variants are named 'median' and 'relief'.
    """
    able = [look for look in looks if look.hypothesis.strip is not None]
    if len(able) < FEWEST:
        return []
    best = max(able, key=lambda look: _length(look) * look.hypothesis.score)
    strip = best.hypothesis.strip
    assert strip is not None
    nearest = sorted(able, key=lambda look: -look.hypothesis.score)[:MOST]
    layers = [_laid_on(best, look) for look in nearest]
    stack = [layer for layer in layers if layer is not None]
    if len(stack) < FEWEST:
        return []
    data = np.stack(stack)
    out = [replace(strip, pixels=_spread(np.median(data, axis=0)), variant="median")]
    relief = _relief(data)
    if relief is not None:
        out.append(replace(strip, pixels=relief, variant="relief"))
    return out


def _length(look: Look) -> int:
    return len(look.hypothesis.text.strip())


def _laid_on(best: Look, look: Look) -> Floats | None:
    """A look's strip on the best one's grid, slow light taken out; None where it does not fit."""
    ours, other = best.hypothesis.strip, look.hypothesis.strip
    assert ours is not None and other is not None
    shape = ours.pixels.shape
    if look is best:
        return _even(ours.pixels.astype(np.float32))
    columns = np.arange(shape[1])
    points = _along(best.letters.line, (columns + 0.5) / shape[1])
    gaps = np.hypot(*(points[:, None] - look.letters.line[None]).transpose(2, 0, 1))
    nearest = gaps.argmin(1)
    covered = gaps[np.arange(len(points)), nearest] < 0.5 * best.letters.height
    if covered.mean() < SEEN:
        return None
    count = len(look.letters.line)
    at = cv2.blur(nearest.astype(np.float32)[None], (15, 1))[0]
    x = (at + 0.5) / count * other.pixels.shape[1] - 0.5
    tangent = np.gradient(best.letters.line, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-6)[:, None]
    up = np.stack([tangent[:, 1], -tangent[:, 0]], 1)
    spots = np.clip((columns + 0.5) / shape[1] * len(up), 0, len(up) - 1).astype(int)
    above = ((look.letters.line[nearest] - points) * up[spots]).sum(1)
    rows = shape[0] / 1.5 / best.letters.height  # strip rows a mosaic pixel, at the usual margin
    lift = cv2.blur((above * rows).astype(np.float32)[None], (31, 1))[0]
    y = np.arange(shape[0], dtype=np.float32)[:, None] + lift[None]
    grid_x = np.broadcast_to(x[None].astype(np.float32), shape)
    moved = cv2.remap(
        other.pixels, np.ascontiguousarray(grid_x), y.astype(np.float32), cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )  # fmt: skip
    return _even(_shifted(ours.pixels, np.asarray(moved, np.uint8)))


def _along(line: Floats, shares: Floats) -> Floats:
    grid = (np.arange(len(line)) + 0.5) / len(line)
    return np.stack([np.interp(shares, grid, line[:, axis]) for axis in (0, 1)], 1)


def _shifted(ours: Pixels, other: Pixels) -> Floats:
    """The other strip moved by the shift of its edges against ours."""
    window = cv2.createHanningWindow((ours.shape[1], ours.shape[0]), cv2.CV_32F)
    (dx, dy), sure = cv2.phaseCorrelate(_edges(ours), _edges(other), window)
    if sure < 0.03 or max(abs(dx), abs(dy)) > FARTHEST:
        return other.astype(np.float32)
    matrix = np.array([[1, 0, -dx], [0, 1, -dy]], np.float32)
    size = (other.shape[1], other.shape[0])
    moved = cv2.warpAffine(other.astype(np.float32), matrix, size, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(moved, np.float32)


def _edges(pixels: Pixels) -> Floats:
    smooth = cv2.GaussianBlur(pixels.astype(np.float32), (0, 0), 1.0)
    strength = cv2.magnitude(
        cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    )
    return np.asarray(cv2.sqrt(strength), np.float32)


def _even(values: Floats) -> Floats:
    """Slow changes of light taken out, contrast made one."""
    fine = values - cv2.GaussianBlur(values, (0, 0), 0.5 * values.shape[0])
    return np.asarray(fine / (float(fine.std()) + 2.0), np.float32)


def _relief(data: Floats) -> Pixels | None:
    """What moving light changes most; None where light hardly moved."""
    flat = data.reshape(len(data), -1)
    apart = flat - flat.mean(0)
    values, vectors = np.linalg.eigh(apart @ apart.T)
    total = float((flat**2).sum())
    noise = float(np.median(values))
    if values[-1] < CHANGED * total or values[-1] < 2.5 * noise:
        return None
    picture = (vectors[:, -1] @ apart).reshape(data.shape[1:])
    return _spread(cv2.GaussianBlur(picture, (0, 0), 0.7))


def _spread(values: Floats) -> Pixels:
    low, high = np.percentile(values, (0.5, 99.5))
    return np.asarray(np.clip((values - low) / max(high - low, 1e-6) * 255, 0, 255), np.uint8)
