"""A drawn close-up of a sidewall for the screens: rubber, an arc of raised letters."""

from __future__ import annotations

import cv2
import numpy as np
import pretend

COLOURS = {"sure": pretend.RED, "torn": pretend.GREEN, "rim": pretend.BLUE}


def sidewall(text, kind, size=(1600, 1200), seed=5775):
    """JPEG bytes; a small tag in the corner tells the pretend reader what to 'read'."""
    width, height = size
    chance = np.random.default_rng(seed)
    strip = np.zeros((220, 1500), np.uint8)
    face = cv2.FONT_HERSHEY_DUPLEX
    (wide, _), _ = cv2.getTextSize(text, face, 5.0, 14)
    cv2.putText(strip, text, ((1500 - wide) // 2, 160), face, 5.0, 255, 14, cv2.LINE_AA)
    relief = cv2.GaussianBlur(bent(strip / np.float32(255), width, height), (0, 0), 2.2)
    light = np.roll(relief, (3, 3), (0, 1)) - np.roll(relief, (-3, -3), (0, 1))
    y, x = np.mgrid[:height, :width].astype(np.float32)
    radius = np.hypot(x - width / 2, y - 2600)
    rubber = 46 + 4 * np.sin(radius / 9) + 26 * np.exp(-(((radius - 2140) / 260) ** 2))
    noise = cv2.GaussianBlur(chance.normal(0, 9, (height, width)).astype(np.float32), (0, 0), 1.1)
    grey = np.clip(rubber + noise - 70 * light + 10 * relief, 0, 255)
    pixels = np.repeat(grey[:, :, None], 3, axis=2).astype(np.uint8)
    pixels[:40, :40] = COLOURS[kind][::-1]
    return cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, 90])[1].tobytes()


def bent(strip, width, height, radius=1900.0):
    """The strip laid along a circle whose centre lies below the picture."""
    y, x = np.mgrid[:height, :width].astype(np.float32)
    dx, dy = x - width / 2, y - (height * 0.61 + radius)
    out = np.hypot(dx, dy)
    along = np.arctan2(dx, -dy) * radius + strip.shape[1] / 2
    across = radius - out + strip.shape[0] / 2
    return cv2.remap(strip, along.astype(np.float32), across.astype(np.float32), cv2.INTER_LINEAR)
