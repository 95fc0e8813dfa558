"""The camera of a drawn clip: one moment of a lit surface becomes one grey frame."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np
import torch

from reader.records import Floats, Pixels
from reader.train.render import geometry
from reader.train.render.handheld import Path

if TYPE_CHECKING:
    from reader.train.render.sweeps import Stage

COARSE = 12  # picture pixels between two points whose place on the sheet is worked out
METERED = 0.25  # mean display value, linear, that automatic exposure aims at
SLOW = 0.12  # share of the way to the right exposure made each frame
LONGEST_BLUR = 25  # pixels
STEPS, FULL = 4096, 2.5  # of the tone curve; the light at which it ends


class Camera:
    """Takes frames in order: exposure follows slowly, and motion is that since the last frame."""

    def __init__(
        self, stage: Stage, path: Path, rng: np.random.Generator, magnified: bool = False
    ) -> None:
        self._stage, self._path, self._rng = stage, path, rng
        self._level = 0.0
        self._gamma = float(rng.uniform(1.8, 2.4))
        self._noise = float(np.exp(rng.uniform(math.log(0.002), math.log(0.02))))
        self._sharpen = float(rng.uniform(0, 1.2))
        self._bar_speed = float(rng.uniform(1.3, 2.2))
        self._lens = float(rng.uniform(0.55, 0.8)) if magnified else 0.0
        self._lens_zoom = float(rng.uniform(1.3, 1.9))
        level = np.arange(STEPS) * (FULL / STEPS)
        tones = np.clip((1 - np.exp(-1.4 * level)) / (1 - math.exp(-1.4 * FULL)), 0, 1)
        self._tones = np.asarray(tones ** (1 / self._gamma) * 255, np.uint8)
        place = next((item for item in stage.sheet.items if item.kind == "answer"), None)
        self._middle = (
            ((place.start + place.end) / 2, place.middle) if place is not None else (0.0, 0.0)
        )
        self._grain = rng.normal(0, 1, (stage.recipe.size[0] + 64, stage.recipe.size[1] + 64))
        self._grain = self._grain.astype(np.float32)

    def take(self, number: int, shown: Floats) -> Pixels:
        """One frame, grey, uint8; `shown` is the surface's linear radiance."""
        s, r, u, v = self._where(number)
        stage = self._stage
        half_s, half_r = stage.reach
        level = float(shown.mean()) + 1e-6
        x = (s + half_s) * stage.per_cap - 0.5
        y = (r + half_r) * stage.per_cap - 0.5
        picture = cv2.remap(shown, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
        side = stage.behind.shape[0]
        bu, bv = (u * 0.35 + side / 2).astype(np.float32), (v * 0.35 + side / 2).astype(np.float32)
        behind = cv2.remap(stage.behind, bu, bv, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        face = np.clip((half_r - np.abs(r)) * 8, 0, 1)
        world = (behind.astype(np.float32) / 255) ** 2 * level * 4
        mixed: Floats = np.asarray(picture * face + world * (1 - face), np.float32)
        return self._develop(number, self._bars(number, mixed, s, level))

    def _where(self, number: int) -> tuple[Floats, Floats, Floats, Floats]:
        """Place on the sheet (caps) and in the plane (pixels) of every picture pixel."""
        height, width = self._stage.recipe.size
        path, base = self._path, self._stage.view
        rows, columns = -(-height // COARSE) + 1, -(-width // COARSE) + 1
        y, x = np.mgrid[0:rows, 0:columns].astype(np.float32) * COARSE
        x, y = self._bend(x, y, number)
        # a rolling shutter: later rows see a later moment
        drift = self._speed(number)
        late = (y / height - 0.5) * path.readout
        x, y = x + drift[0] * late, y + drift[1] * late
        x, y = x - path.shake[number, 0], y - path.shake[number, 1]
        zoom = float(path.zoom[number])
        view = geometry.View(**{name: value.clone() for name, value in vars(base).items()})
        view.tilt = (view.tilt + float(path.lean[number])).clamp(0, 0.9)
        view.angle = view.angle + float(path.turn[number])
        geometry.place(view, torch.tensor([width / 2.0]), torch.tensor([height / 2.0]))
        middle = (width / 2, height / 2)
        at_x = torch.from_numpy((x - middle[0]) / zoom + middle[0])[None]
        at_y = torch.from_numpy((y - middle[1]) / zoom + middle[1])[None]
        u, v = geometry.to_plane(view, at_x, at_y)
        s, r = geometry.to_sheet(view, u, v)
        s = s + self._middle[0] + float(path.along[number])
        r = r + self._middle[1] + float(path.across[number])
        u = u + float(path.along[number]) * float(view.cap[0])
        fine = (columns * COARSE, rows * COARSE)
        grown = []
        for field in (s[0], r[0], u[0], v[0]):
            flat = np.ascontiguousarray(field.numpy(), np.float32)
            big = cv2.warpAffine(
                flat, np.array([[1 / COARSE, 0, 0], [0, 1 / COARSE, 0]]), fine,
                flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE,
            )  # fmt: skip
            grown.append(np.asarray(big[:height, :width], np.float32))
        return grown[0], grown[1], grown[2], grown[3]

    def _bend(self, x: Floats, y: Floats, number: int) -> tuple[Floats, Floats]:
        """A magnifier held before the marking: larger and bent inside its rim."""
        if not self._lens:
            return x, y
        height, width = self._stage.recipe.size
        dx, dy = x - width / 2, y - height / 2
        reach = np.sqrt((dx / width * 2) ** 2 + (dy / height * 2) ** 2) / self._lens
        zoom = np.where(reach < 1, (1 + 0.12 * reach**2) / self._lens_zoom, 1.0)
        return (dx * zoom + width / 2).astype(np.float32), (dy * zoom + height / 2).astype(
            np.float32
        )

    def _speed(self, number: int) -> tuple[float, float]:
        """Pixels that the picture moves in one frame's time."""
        path, other = self._path, max(0, number - 1)
        if number == other:
            return 0.0, 0.0
        cap = float(self._stage.view.cap[0]) * float(path.zoom[number])
        angle = float(self._stage.view.angle[0]) + float(path.turn[number])
        if not bool(torch.isinf(self._stage.view.radius[0])):
            angle += math.pi / 2
        ahead = float(path.along[number] - path.along[other]) * cap
        shake = path.shake[number] - path.shake[other]
        return (
            -ahead * math.cos(angle) + float(shake[0]),
            -ahead * math.sin(angle) + float(shake[1]),
        )

    def _bars(self, number: int, picture: Floats, s: Floats, level: float) -> Floats:
        """Spokes between lens and part, passing faster than what is behind them."""
        moved = float(self._path.along[number]) * (self._bar_speed - 1)
        for at, wide, tone in self._stage.spokes:
            bar = np.clip((wide / 2 - np.abs(s - self._middle[0] - at + moved)) * 4 + 0.5, 0, 1)
            picture = picture * (1 - bar) + bar * (tone * 4 * level)
        return np.asarray(picture, np.float32)

    def _develop(self, number: int, picture: Floats) -> Pixels:
        path = self._path
        soft = float(path.soft[number])
        if soft > 0.35:
            picture = _soft(picture, soft)
        picture = _smear(picture, self._speed(number), path.open)
        height, width = picture.shape
        inner = picture[height // 4 : -height // 4, width // 4 : -width // 4]
        level = float(inner.mean()) + 1e-6
        self._level = level if not self._level else self._level + SLOW * (level - self._level)
        picture = picture * np.float32(METERED / self._level * float(path.gain[number]))
        top, left = self._rng.integers(0, 64, 2)
        grain = self._grain[top : top + height, left : left + width]
        rough = cv2.multiply(
            grain, np.sqrt(np.maximum(picture, 0) + np.float32(0.1)), scale=self._noise
        )
        steps = np.asarray(np.clip((picture + rough) * (STEPS / FULL), 0, STEPS - 1), np.uint16)
        shown = np.asarray(self._tones[steps], np.uint8)
        if self._sharpen > 0.1:
            smooth = cv2.GaussianBlur(shown, (0, 0), 1.2)
            shown = np.asarray(
                cv2.addWeighted(shown, 1 + self._sharpen, smooth, -self._sharpen, 0), np.uint8
            )
        return shown


def _soft(picture: Floats, sigma: float) -> Floats:
    if sigma <= 2.5:
        return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma), np.float32)
    height, width = picture.shape
    small = cv2.resize(picture, (width // 3, height // 3), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma / 3)
    return np.asarray(cv2.resize(small, (width, height)), np.float32)


def _smear(picture: Floats, speed: tuple[float, float], share: float) -> Floats:
    """Motion blur over the time in which the shutter is open."""
    dx, dy = speed[0] * share, speed[1] * share
    length = min(LONGEST_BLUR, math.hypot(dx, dy))
    if length < 1.0:
        return picture
    side = 2 * math.ceil(length / 2) + 1
    kernel = np.zeros((side, side), np.float32)
    scale = length / math.hypot(dx, dy) / 2
    middle = side // 2
    for step in np.linspace(-1, 1, 4 * side):
        x, y = middle + dx * scale * step, middle + dy * scale * step
        kernel[round(y), round(x)] += 1
    return np.asarray(cv2.filter2D(picture, -1, kernel / kernel.sum()), np.float32)
