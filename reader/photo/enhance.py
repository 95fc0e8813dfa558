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
STREAK_COST = 0.12


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
    return _spread(grey - cv2.GaussianBlur(grey, (0, 0), _share(pixels, 0.6)), 1.0)


def local_contrast(pixels: Pixels) -> Pixels:
    """Contrast evened out from place to place (CLAHE): for pale or worn print on dark rubber."""
    columns = max(1, round(pixels.shape[1] / max(1, pixels.shape[0])))
    return np.asarray(cv2.createCLAHE(3.0, (min(columns, 64), 2)).apply(pixels), np.uint8)


def relief_lit_above(pixels: Pixels) -> Pixels:
    """Raised letters lit from above, or sunk ones lit from below, filled in bright.

    Each stroke shows only a bright upper and a dark lower flank; summing the brightness down the
    columns turns that pair into a filled stroke.
    """
    return _spread(_filled(pixels, down=True), 1.5)


def relief_lit_below(pixels: Pixels) -> Pixels:
    """Raised letters lit from below, or sunk ones lit from above, filled in bright."""
    return _spread(-_filled(pixels, down=True), 1.5)


def relief_lit_left(pixels: Pixels) -> Pixels:
    """Raised letters lit from the left, or sunk ones lit from the right, filled in bright."""
    return _spread(_filled(pixels, down=False), 1.5)


def relief_lit_right(pixels: Pixels) -> Pixels:
    """Raised letters lit from the right, or sunk ones lit from the left, filled in bright."""
    return _spread(-_filled(pixels, down=False), 1.5)


def outlines(pixels: Pixels) -> Pixels:
    """Strength of edges in any direction: for moulded letters when the light's side is unknown."""
    soft = cv2.GaussianBlur(pixels, (0, 0), _share(pixels, 0.015)).astype(np.float32)
    strength = np.hypot(cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1))
    even = strength / (cv2.GaussianBlur(strength, (0, 0), _share(pixels, 1.0)) + 4)
    return _spread(even.astype(np.float32), 1.0)


def denoised(pixels: Pixels) -> Pixels:
    """Grain smoothed, edges kept (bilateral): for dim indoor photos and grainy rubber."""
    noise = float(np.median(np.abs(cv2.Laplacian(pixels, cv2.CV_16S)))) + 4
    return np.asarray(cv2.bilateralFilter(pixels, 0, 2.5 * noise, _share(pixels, 0.03)), np.uint8)


def glare_tamed(pixels: Pixels) -> Pixels:
    """Broad highlights and deep shade pulled in: for shiny rims, lacquer and flash."""
    grey = pixels.astype(np.float32) + 8
    base = cv2.GaussianBlur(grey, (0, 0), _share(pixels, 0.25))
    # Dividing by the base's root keeps local contrast in proportion, as in logarithmic light.
    return _spread((np.log(grey) - 0.8 * np.log(base)).astype(np.float32), 1.0)


def inverted(pixels: Pixels) -> Pixels:
    """Dark and bright swapped, light flattened: engines trained on black print read it better."""
    return np.asarray(255 - flat_light(pixels), np.uint8)


VARIANTS: dict[str, Callable[[Pixels], Pixels]] = {
    "plain": plain,
    "flat light": flat_light,
    "local contrast": local_contrast,
    "relief, lit from above": relief_lit_above,
    "relief, lit from below": relief_lit_below,
    "relief, lit from the left": relief_lit_left,
    "relief, lit from the right": relief_lit_right,
    "outlines": outlines,
    "denoised": denoised,
    "glare tamed": glare_tamed,
    "inverted": inverted,
}
"""Same size out as in."""


def narrowed(pixels: Pixels) -> Pixels:
    """Letters pressed together: a sidewall seen from above its tread shows them low and wide."""
    return _drawn_out(pixels, 0.72)


def widened(pixels: Pixels) -> Pixels:
    """Letters drawn out: seen along the line they are narrow."""
    return _drawn_out(pixels, 1.4)


WIDTHS: dict[str, Callable[[Pixels], Pixels]] = {"narrowed": narrowed, "widened": widened}
"""Another width, the same height."""


def _drawn_out(pixels: Pixels, share: float) -> Pixels:
    high, wide = pixels.shape
    size = max(1, round(wide * share)), high
    mode = cv2.INTER_AREA if size[0] < wide else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(pixels, size, interpolation=mode), np.uint8)


def _share(pixels: Pixels, share: float) -> float:
    """A filter's sigma as a share of the strip's height, at least half a pixel."""
    return max(0.5, share * pixels.shape[0])


def _filled(pixels: Pixels, down: bool) -> Signed:
    """Height of the relief if light comes from above (`down`) or from the left.

    Shading is the slope along the light, so its integral is the height. Integrated plainly, noise
    draws streaks; a least-squares integral that prefers low and smooth reliefs has a closed form in
    frequencies (a Wiener filter).
    """
    rows, cols = pixels.shape
    margin = rows // 2
    framed = cv2.copyMakeBorder(pixels, *(margin,) * 4, cv2.BORDER_REFLECT)
    shading = np.fft.rfft2(framed.astype(np.float32))
    vertical = 2 * np.pi * np.fft.fftfreq(framed.shape[0])[:, None]
    sideways = 2 * np.pi * np.fft.rfftfreq(framed.shape[1])[None]
    along, across = (vertical, sideways) if down else (sideways, vertical)
    broad = 2 * np.pi / (RELIEF_REACH * rows)
    gain = -1j * along / (along**2 + STREAK_COST * across**2 + broad**2)
    height = np.fft.irfft2(shading * gain, framed.shape)
    return height[margin : margin + rows, margin : margin + cols].astype(np.float32)


def _spread(values: Signed, tails: float) -> Pixels:
    """Values as 0..255; `tails` per cent at either end are cut off. Flat pictures become grey."""
    low, high = np.percentile(values[:, ::2], (tails, 100 - tails))
    if high - low < 1e-3:
        return np.full(values.shape, 128, np.uint8)
    scaled = (values - low) * np.float32(255 / (high - low))
    return np.clip(scaled, 0, 255).astype(np.uint8)
