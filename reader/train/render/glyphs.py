"""Draw lines of lettering as masks, the way mould cutters and sign printers set them.

A mask is uint8, H x W, 255 inside the letters; capital height and margins are given in pixels.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
from numpy.random import Generator
from PIL import Image, ImageDraw, ImageFont

from reader.records import Pixels

_FRACTION = re.compile(r"(?<=\d)[ -](\d)/(\d{1,2})(?!\d)")


@dataclass(frozen=True)
class Setting:
    """How a line is set; drawn once a line."""

    font: Path
    spacing: float = 0.05  # extra advance, in capital heights
    stretch: float = 1.0  # widening of the letters
    slant: float = 0.0  # shear, horizontal per vertical
    fraction: str = "plain"  # plain, raised, stacked
    outline: float = 0.0  # width of hollow letters' wall in capital heights; 0 for solid
    bold: float = 0.0  # stroke growth (+) or thinning (-), in capital heights
    bridges: float = 0.0  # gap of stencil bridges in capital heights; 0 for none
    dots: float = 0.0  # pitch of dot-peen marks in capital heights; 0 for none


def draw_setting(rng: Generator, fonts: list[Path]) -> Setting:
    """Draw a way of setting a line; shares are guesses from photographs (common practice)."""
    style = rng.random()
    return Setting(
        font=fonts[rng.integers(len(fonts))],
        spacing=float(rng.choice([0.0, rng.uniform(0, 0.15), rng.uniform(0.1, 0.5)])),
        stretch=float(rng.choice([1.0, rng.uniform(0.75, 1.6)])),
        slant=float(rng.choice([0.0, 0.0, 0.0, rng.uniform(-0.1, 0.35)])),
        fraction=str(rng.choice(["plain", "raised", "stacked"], p=[0.4, 0.35, 0.25])),
        outline=float(rng.uniform(0.06, 0.12)) if style < 0.07 else 0.0,
        bold=float(rng.choice([0.0, 0.0, rng.uniform(-0.04, 0.07)])),
        bridges=float(rng.uniform(0.05, 0.12)) if 0.07 < style < 0.11 else 0.0,
        dots=float(rng.uniform(0.13, 0.2)) if 0.11 < style < 0.12 else 0.0,
    )


@lru_cache(maxsize=4096)
def _font(path: Path, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(path), size)


@lru_cache(maxsize=2048)
def _size_for_cap(path: Path, cap: int) -> int:
    """Font size whose 'H5' is `cap` pixels high."""
    box = _font(path, 100).getbbox("H5", anchor="ls")
    return max(4, round(100 * cap / max(1, -box[1])))


def _pieces(text: str, style: str) -> list[tuple[str, float, float]]:
    """Split into (text, scale, rise) runs; rise is the baseline's lift in capital heights."""
    if style == "plain":
        return [(text, 1.0, 0.0)]
    runs: list[tuple[str, float, float]] = []
    at = 0
    for match in _FRACTION.finditer(text):
        runs.append((text[at : match.start()], 1.0, 0.0))
        if text[match.start()] == "-":
            runs.append(("-", 0.7, 0.05))
        small = 0.55 if style == "raised" else 0.5
        runs += [
            (match[1], small, 1 - small + 0.05),
            ("/", 0.8 if style == "raised" else 0.7, 0.1),
            (match[2], small, -0.02),
        ]
        at = match.end()
    return [*runs, (text[at:], 1.0, 0.0)]


def draw_mask(text: str, setting: Setting, cap: int, margin: int) -> Pixels:
    """Draw one line.

    Returns:
        mask of height cap + 2 * margin; the baseline lies `margin` pixels above its lower edge,
        the text starts and ends `margin` pixels inside the left and right edges.
    """
    runs = _pieces(text, setting.fraction)
    glyphs: list[tuple[str, ImageFont.FreeTypeFont, float, float]] = []
    x = 0.0
    for run, scale, rise in runs:
        font = _font(setting.font, _size_for_cap(setting.font, max(4, round(cap * scale))))
        for char in run:
            glyphs.append((char, font, x, rise))
            x += font.getlength(char) + setting.spacing * cap * scale
    width = int(max(x - setting.spacing * cap, 1)) + 2 * margin
    canvas = Image.new("L", (width, cap + 2 * margin))
    pen = ImageDraw.Draw(canvas)
    for char, font, left, rise in glyphs:
        pen.text((margin + left, cap + margin - rise * cap), char, 255, font, anchor="ls")
    mask = np.asarray(canvas)
    return _treat(mask, setting, cap, margin)


def _treat(mask: Pixels, setting: Setting, cap: int, margin: int) -> Pixels:
    """Apply weight, hollow letters, bridges, dots, stretch and slant."""
    if abs(setting.bold) * cap >= 0.5:
        size = 2 * round(abs(setting.bold) * cap) + 1
        kernel = _disc(size)
        grown = setting.bold > 0
        mask = np.asarray(cv2.dilate(mask, kernel), np.uint8) if grown else _thin(mask, kernel)
    if setting.outline:
        size = 2 * max(1, round(setting.outline * cap)) + 1
        inner = np.asarray(cv2.erode(mask, _disc(size)), np.uint8)
        hollow = np.asarray(cv2.subtract(mask, inner), np.uint8)
        # thin strokes have no inside: they stay solid
        mask = hollow if inner.sum() > 0.15 * mask.sum() else mask
    if setting.bridges:
        gap = max(1, round(setting.bridges * cap))
        middle = margin + round(cap * 0.48)
        mask = mask.copy()
        mask[middle : middle + gap] = 0
    if setting.dots:
        mask = _dot_peen(mask, max(3, round(setting.dots * cap)))
    height, width = mask.shape
    matrix = np.array(
        [[setting.stretch, -setting.slant, setting.slant * (margin + cap)], [0, 1, 0]], np.float32
    )
    out_width = round((width - 2 * margin) * setting.stretch) + 2 * margin
    matrix[0, 2] += margin * (1 - setting.stretch)
    if setting.stretch != 1.0 or setting.slant:
        out_width += round(abs(setting.slant) * cap)
        warped = cv2.warpAffine(mask, matrix, (out_width, height), flags=cv2.INTER_AREA)
        mask = np.asarray(warped, np.uint8)
    return mask


def _disc(size: int) -> Pixels:
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _thin(mask: Pixels, kernel: Pixels) -> Pixels:
    eroded = cv2.erode(mask, kernel)
    return np.asarray(eroded if eroded.sum() > 0.3 * mask.sum() else mask, np.uint8)


def _dot_peen(mask: Pixels, pitch: int) -> Pixels:
    """Replace strokes by round dots on a grid, as a marking stylus leaves them."""
    dots = np.zeros_like(mask)
    radius = max(1, round(pitch * 0.36))
    for y in range(pitch // 2, mask.shape[0], pitch):
        for x in range(pitch // 2, mask.shape[1], pitch):
            window = mask[max(0, y - radius) : y + radius + 1, max(0, x - radius) : x + radius + 1]
            if window.mean() > 110:
                cv2.circle(dots, (x, y), radius, 255, -1, cv2.LINE_AA)
    return dots
