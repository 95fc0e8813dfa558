"""The surroundings of a part's marking, laid straight, by which the part is known again."""

from __future__ import annotations

from collections.abc import Iterable

import cv2
import numpy as np

from reader.photo.likeness import CAP, PAD, ROOM, ROWS
from reader.photo.load import load
from reader.photo.rectify import lengthen, straighten
from reader.records import Marking, Pixels
from reader.selection import share

QUALITY = 80  # of JPEG; about 15 kB a part


def surroundings(markings: Iterable[Marking]) -> bytes | None:
    """A grey JPEG around the first marking whose place is known; None without one."""
    for marking in markings:
        pixels = around(marking)
        if pixels.size:
            said = [cv2.IMWRITE_JPEG_QUALITY, QUALITY]
            return bytes(cv2.imencode(".jpg", pixels, said)[1].tobytes())
    return None


def around(marking: Marking) -> Pixels:
    """The surroundings of a marking, `ROWS` x W, text `CAP` pixels high; empty if unknown.

    The text begins `ROOM` heights from the left edge, as far as its line tells.
    """
    seen = marking.hypothesis
    if (
        seen is None
        or seen.strip is None
        or seen.strip.region is None
        or not seen.strip.pixels.size
    ):
        return np.zeros((0, 0), np.uint8)
    region = seen.strip.region
    steps = np.diff(region.centreline, axis=0)
    length = float(np.hypot(steps[:, 0], steps[:, 1]).sum()) / region.height
    pixels = straighten(lengthen(region, ROOM), ROWS, PAD).pixels
    heights = length + 2 * ROOM
    begin, end = ((ROOM + at * length) / heights * pixels.shape[1] for at in share(marking))
    left, right = int(begin - ROOM * CAP), int(end + ROOM * CAP)
    return np.ascontiguousarray(pixels[:, max(0, left) : right])


def opened(picture: bytes) -> Pixels:
    """The pixels of a kept picture.

    Raises:
        PhotoError: it is damaged; a catalogue may come from anywhere.
    """
    return np.ascontiguousarray(load(picture, "a part's kept picture").pixels[..., 0])
