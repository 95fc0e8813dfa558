"""Worn surfaces photographed twice, and parts that carry them."""

import cv2
import numpy as np

from reader.catalogue.db.records import Arrival, Findings, PhotoRef, Place, Share
from reader.catalogue.intake.insert import record
from reader.photo.likeness import ROWS


def surface(seed, wide=620):
    """A worn surface as no two parts have it: blotches, scratches, grain."""
    choose = np.random.default_rng(seed)
    coarse = choose.normal(0, 1, (ROWS // 6, wide // 6)).astype(np.float32)
    ground = 120 + 25 * cv2.resize(coarse, (wide, ROWS), interpolation=cv2.INTER_CUBIC)
    for _ in range(9):
        ends = choose.integers(0, (wide, ROWS), (2, 2))
        cv2.line(ground, *map(tuple, ends.tolist()), float(choose.uniform(150, 250)), 1)
    ground = np.clip(ground, 0, 255).astype(np.uint8)
    letters = int(choose.integers(0, 8))  # one of OpenCV's own
    cv2.putText(ground, "37-622", (200, 110), letters, 1.2, 230, 3)
    return ground.astype(np.float32)


def photographed(ground, seed):
    """The surface by another camera: moved, turned, stretched, darker, with noise."""
    choose = np.random.default_rng(seed)
    turn, grow = choose.uniform(-3, 3), choose.uniform(0.9, 1.1)
    matrix = cv2.getRotationMatrix2D((310, ROWS / 2), turn, grow)
    matrix[:, 2] += choose.uniform(-12, 12, 2)
    moved = cv2.warpAffine(ground, matrix, ground.shape[::-1], borderMode=cv2.BORDER_REFLECT)
    lit = moved * choose.uniform(0.5, 0.9) + choose.normal(0, 4, moved.shape)
    return np.clip(lit, 0, 255).astype(np.uint8)


def jpeg(pixels):
    return bytes(cv2.imencode(".jpg", pixels)[1].tobytes())


def put(catalogue, name, picture, bsd=622, **more):
    """A part with one photo and its looks."""
    share = Share("tyre", bsd, 37.0, 0.99)
    findings = Findings("sure", "tyre", (share,), "{}", around=picture, **more)
    ref = PhotoRef(name.encode().hex().ljust(40, "0")[:40], f"/x/{name}/1.jpg", "1.jpg")
    arrival = Arrival((ref,), findings, source=name, place=Place("bin 1"), arrived="2026-05-01")
    return record(catalogue, arrival)
