"""Named ways to show a strip to an engine; all take and give grey H x W, uint8."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np

from reader.errors import InputError
from reader.records import Pixels, Strip

NARROWED, WIDENED = 0.72, 1.4  # of the width


def enhance(strip: Strip, variant: str) -> Strip:
    """The strip with a variant's pixels and name.

    Raises:
        InputError: there is no variant of that name.
    """
    known = VARIANTS
    if variant not in known:
        raise InputError(
            f"no picture variant is called '{variant}'", f"use one of: {', '.join(known)}"
        )
    return replace(strip, pixels=VARIANTS[variant](strip.pixels), variant=variant)


def plain(pixels: Pixels) -> Pixels:
    """As photographed: best for printed markings in good light."""
    return pixels


def narrowed(pixels: Pixels) -> Pixels:
    """Letters pressed together: a sidewall seen from above its tread shows them low and wide."""
    return _drawn_out(pixels, NARROWED)


def widened(pixels: Pixels) -> Pixels:
    """Letters drawn out: seen along the line they are narrow."""
    return _drawn_out(pixels, WIDENED)


VARIANTS: dict[str, Callable[[Pixels], Pixels]] = {
    "plain": plain, "narrowed": narrowed, "widened": widened,
}  # fmt: skip


def _drawn_out(pixels: Pixels, share: float) -> Pixels:
    high, wide = pixels.shape
    size = max(1, round(wide * share)), high
    mode = cv2.INTER_AREA if size[0] < wide else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(pixels, size, interpolation=mode), np.uint8)
