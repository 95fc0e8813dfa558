"""Named ways to make letters stand out in a strip; all take and give grey H x W, uint8.

Sizes of filters are shares of the strip's height, so that any strip height works alike.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.errors import InputError
from reader.records import Pixels, Strip

Signed = NDArray[np.float32]

RELIEF_REACH = 1.2  # strip heights: waves longer than this are bent strips and light, not letters
STREAK_COST = 0.12  # of waves along the line beside those across it, where noise draws streaks
SLOW = 0.6  # strip heights: what changes more slowly is light
OUTLIERS = 1.5  # per cent of a relief's darkest and brightest pixels that are cut off
NARROWED, WIDENED = 0.72, 1.4  # of the width


def enhance(strip: Strip, variant: str) -> Strip:
    """The strip with a variant's pixels and name.

    Raises:
        InputError: there is no variant of that name.
    """
    known = VARIANTS | WIDTHS
    if variant not in known:
        raise InputError(
            f"no picture variant is called '{variant}'", f"use one of: {', '.join(known)}"
        )
    return replace(strip, pixels=known[variant](strip.pixels), variant=variant)


def plain(pixels: Pixels) -> Pixels:
    """As photographed: best for printed markings in good light."""
    return pixels


def flat_light(pixels: Pixels) -> Pixels:
    """Slow changes of light taken out, contrast spread: for strips half in the shade."""
    grey = pixels.astype(np.float32)
    return _spread(grey - cv2.GaussianBlur(grey, (0, 0), _share(pixels, SLOW)), 1.0)


def relief_lit_above(pixels: Pixels) -> Pixels:
    """Raised letters lit from above, or sunk ones lit from below, filled in bright.

    Each stroke shows only a bright upper and a dark lower flank; summing the brightness down the
    columns turns that pair into a filled stroke.
    """
    return _spread(_filled(pixels), OUTLIERS)


def relief_lit_below(pixels: Pixels) -> Pixels:
    """Raised letters lit from below, or sunk ones lit from above, filled in bright."""
    return _spread(-_filled(pixels), OUTLIERS)


VARIANTS: dict[str, Callable[[Pixels], Pixels]] = {
    "plain": plain,
    "flat light": flat_light,
    "relief, lit from above": relief_lit_above,
    "relief, lit from below": relief_lit_below,
}
"""Same size out as in."""


def narrowed(pixels: Pixels) -> Pixels:
    """Letters pressed together: a sidewall seen from above its tread shows them low and wide."""
    return _drawn_out(pixels, NARROWED)


def widened(pixels: Pixels) -> Pixels:
    """Letters drawn out: seen along the line they are narrow."""
    return _drawn_out(pixels, WIDENED)


WIDTHS: dict[str, Callable[[Pixels], Pixels]] = {"narrowed": narrowed, "widened": widened}
"""Another width, the same height."""


def _drawn_out(pixels: Pixels, share: float) -> Pixels:
    high, wide = pixels.shape
    size = max(1, round(wide * share)), high
    mode = cv2.INTER_AREA if size[0] < wide else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(pixels, size, interpolation=mode), np.uint8)


def _share(pixels: Pixels, share: float) -> float:
    """A filter's sigma as a share of the strip's height, at least half a pixel."""
    return max(0.5, share * pixels.shape[0])  # half a pixel


def _filled(pixels: Pixels) -> Signed:
    """Height of the relief if light comes from above.

    Shading is the slope along the light, so its integral is the height. Integrated plainly, noise
    draws streaks; a least-squares integral that prefers low and smooth reliefs has a closed form in
    frequencies (a Wiener filter).
    """
    rows, cols = pixels.shape
    margin = rows // 2
    framed = cv2.copyMakeBorder(pixels, *(margin,) * 4, cv2.BORDER_REFLECT)  # sides
    shading = np.fft.rfft2(framed.astype(np.float32))
    vertical = 2 * np.pi * np.fft.fftfreq(framed.shape[0])[:, None]
    sideways = 2 * np.pi * np.fft.rfftfreq(framed.shape[1])[None]
    broad = 2 * np.pi / (RELIEF_REACH * rows)
    gain = -1j * vertical / (vertical**2 + STREAK_COST * sideways**2 + broad**2)
    height = np.fft.irfft2(shading * gain, framed.shape)
    return height[margin : margin + rows, margin : margin + cols].astype(np.float32)


def _spread(values: Signed, tails: float) -> Pixels:
    """Values as 0..255; `tails` per cent at either end are cut off. Flat pictures become grey."""
    low, high = np.percentile(values[:, ::2], (tails, 100 - tails))
    if high - low < 1e-3:  # one grey alone
        return np.full(values.shape, 128, np.uint8)  # mid grey
    scaled = (values - low) * np.float32(255 / (high - low))
    return np.clip(scaled, 0, 255).astype(np.uint8)  # grey levels
