"""Drawn wheels: flat drawings of a tyre with text on its sidewall, seen at an angle, on clutter."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.records import Photo

TYRE, SIDEWALL, RIM = 340.0, 296.0, 278.0  # radii in mm: tread edge, rim edge, rim's inner edge
TEXT_RADIUS, LETTERS = 312.0, 9.0
TEXT = "47-507  24 x 1.75"


@dataclass(frozen=True, eq=False)
class Wheel:
    photo: Photo
    to_photo: NDArray  # 3 x 3, from millimetres on the wheel's plane to photo pixels
    text_turn: float  # angle at the middle of the text, clockwise from the x axis

    def circle(self, radius: float, start=0.0, stop=2 * np.pi, count=360) -> NDArray[np.float32]:
        turns = np.linspace(start, stop, count)
        ring = np.stack([radius * np.cos(turns), radius * np.sin(turns)], 1)
        return cv2.perspectiveTransform(ring[None], self.to_photo)[0].astype(np.float32)


def wheel(
    size=(3000, 4000),
    tilt=35.0,
    roll=20.0,
    radius=1250.0,
    centre=(2000, 1500),
    text_turn=-1.3,
    seed=1,
) -> Wheel:
    """A tyre on clutter; tilt in degrees about an axis rolled in the picture, radius in pixels."""
    rng = np.random.default_rng(seed)
    face, scale = _face(rng, text_turn)
    matrix = _view(tilt, roll, radius / TYRE, centre)
    mm = np.array([[1 / scale, 0, -TYRE * 1.05], [0, 1 / scale, -TYRE * 1.05], [0, 0, 1]])
    picture = _clutter(rng, size)
    seen = cv2.warpPerspective(face, matrix @ mm, size[::-1], flags=cv2.INTER_AREA)
    alpha = seen[..., 1:].astype(np.float32) / 255
    grey = picture * (1 - alpha[..., 0]) + seen[..., 0] * alpha[..., 0]
    light = np.linspace(0.7, 1.2, size[1], dtype=np.float32)[None]
    grey = grey * light + rng.normal(0, 4, size).astype(np.float32)
    pixels = np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[..., None], 3, 2)
    return Wheel(Photo("wheel", pixels), matrix, text_turn)


def _face(rng, text_turn):
    """Brightness and opacity of the wheel seen straight on, H x W x 2, and pixels per mm."""
    scale = 3.6
    side = int(TYRE * 2.1 * scale)
    ys, xs = (np.mgrid[0:side, 0:side] / scale - TYRE * 1.05).astype(np.float32)
    away, turn = np.hypot(xs, ys), np.arctan2(ys, xs)
    value = np.zeros((side, side), np.float32)
    cover = np.zeros((side, side), np.float32)
    tyre = (away < TYRE) & (away > SIDEWALL)
    value[tyre] = 38 + 5 * np.sin(away[tyre] * 1.1)
    tread = tyre & (away > TYRE - 14)
    value[tread] = np.where(np.sin(turn[tread] * 150) > 0, 55, 18)
    rim = (away <= SIDEWALL) & (away > RIM)
    value[rim] = 165 + 30 * np.cos(turn[rim] * 2)
    cover[tyre | rim] = 255
    for spoke in np.arange(16) * np.pi / 8 + 0.1:
        line = (np.abs(xs * np.sin(spoke) - ys * np.cos(spoke)) < 1.2) & (away < RIM)
        line &= xs * np.cos(spoke) + ys * np.sin(spoke) > 0
        value[line], cover[line] = 150, 255
    letters = _letters(scale)
    length = letters.shape[1] / scale
    along = ((turn - text_turn + np.pi) % (2 * np.pi) - np.pi) * TEXT_RADIUS + length / 2
    up = TEXT_RADIUS - away + letters.shape[0] / scale / 2
    ink = cv2.remap(letters, along * scale, up * scale, cv2.INTER_LINEAR)
    value = np.maximum(value, ink * 0.75)
    soft = cv2.GaussianBlur(np.stack([value, cover], 2), (0, 0), 0.8)
    return np.clip(soft, 0, 255).astype(np.uint8), scale


def _letters(scale):
    high = int(LETTERS * scale)
    letters = np.zeros((high * 2, high * 12), np.uint8)
    cv2.putText(letters, TEXT, (high // 2, int(high * 1.45)), cv2.FONT_HERSHEY_DUPLEX,
                high / 22, 255, 3, cv2.LINE_AA)  # fmt: skip
    used = np.flatnonzero(letters.any(0))
    return letters[:, : used[-1] + high // 2]


def _view(tilt, roll, scale, centre):
    """Perspective of a disc tilted away from the camera, six radii off."""
    tilt, roll = np.radians([tilt, roll])
    spin = np.array([[np.cos(roll), -np.sin(roll)], [np.sin(roll), np.cos(roll)]])
    plane = spin @ np.diag([1, np.cos(tilt)]) @ spin.T
    depth = (np.array([0, np.sin(tilt)]) @ spin.T) / (6 * TYRE)
    matrix = np.eye(3)
    matrix[:2, :2], matrix[2, :2] = plane * scale, depth
    move = np.array([[1, 0, centre[0]], [0, 1, centre[1]], [0, 0, 1.0]])
    return move @ matrix


def _clutter(rng, size):
    """A wall of planks, boxes and soft blotches."""
    small = (size[0] // 8, size[1] // 8)
    blotches = cv2.GaussianBlur(rng.normal(0, 1, small).astype(np.float32), (0, 0), 12) * 700
    grey = cv2.resize(blotches, size[::-1]) + 120
    for _ in range(14):
        x, y = rng.integers(0, size[1]), rng.integers(0, size[0])
        w, h = rng.integers(size[1] // 12, size[1] // 4), rng.integers(size[0] // 12, size[0] // 4)
        grey[y : y + h, x : x + w] += rng.normal(0, 30)
    grey[:, :: max(60, size[1] // 14)] -= 50
    return cv2.GaussianBlur(grey, (0, 0), 1.5)
