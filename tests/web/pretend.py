"""A reader for tests: what it 'reads' is told by the photo's colour. Pictures are real."""

from __future__ import annotations

import os
import time
from dataclasses import replace

import cv2
import numpy as np

from reader.photo.rectify import straighten
from reader.records import (
    Candidate,
    Evidence,
    Fact,
    Hypothesis,
    Judgement,
    Marking,
    Reading,
    Region,
    Size,
    Verdict,
)
from reader.web import worker

RED, GREEN, BLUE = (200, 40, 40), (40, 160, 60), (40, 60, 200)
GREY, CRASH, SLOW = (120, 120, 120), (200, 0, 200), (0, 200, 200)


def photo(colour, text="47-507", size=(1200, 900), kind=".jpg"):
    """An encoded picture with a coloured corner and a text on dark ground."""
    width, height = size
    pixels = np.full((height, width, 3), 34, np.uint8)
    pixels[: height // 4, : width // 4] = colour[::-1]
    scale = width / 420
    place = (width // 8, height * 2 // 3)
    grey = (150, 150, 150)
    cv2.putText(pixels, text, place, cv2.FONT_HERSHEY_SIMPLEX, scale, grey, int(3 * scale))
    return cv2.imencode(kind, pixels)[1].tobytes()


def colour_of(one):
    patch = one.pixels[8:24, 8:24].reshape(-1, 3).mean(axis=0)
    known = (RED, GREEN, BLUE, GREY, CRASH, SLOW)
    return min(known, key=lambda colour: float(np.abs(patch - colour).sum()))


def marking(one, notation, text, numbers, line=""):
    """A marking on an arc through the lower middle of the picture, laid straight for real."""
    high, wide = one.shape
    radius = wide * 1900 / 1600
    turn = np.linspace(-0.4, 0.4, 24)
    x, y = wide / 2 + radius * np.sin(turn), high * 0.61 + radius * (1 - np.cos(turn))
    region = Region(one, np.stack([x, y], 1).astype(np.float32), wide * 0.1, 1.0, "lines")
    line = line or text
    start = line.index(text)
    read = Hypothesis("pretend", line, 0.9, straighten(region))
    return Marking(notation, text, numbers, (start, start + len(text)), 0.0, read)


def reason(name, detail, weight):
    return Evidence(name, detail, weight, "photo 1", "pretend")


def sure(photos):
    line = "47-507 24 x 1.75"
    pair = marking(photos[0], "iso_pair", "47-507", {"width_mm": 47, "bsd_mm": 507}, line)
    size = {"diameter_in": 24, "width_in": 1.75}
    inch = marking(photos[0], "inch_decimal", "24 x 1.75", size, line)
    why = (
        reason("ISO pair read", "47-507, clean", 5.2),
        reason("inch name agrees", "24 x 1.75 is 507", 2.1),
    )
    best = Candidate(Size(507, 47), "tyre", 0.994, why, ("24 x 1.75", "24 x 1.85"))
    return Reading(
        (best, Candidate(Size(520, 47), "tyre", 0.006)),
        Verdict.SURE,
        "tyre",
        diameter=Judgement(507, 0.994, Verdict.SURE, ((520, 0.006),)),
        width=Judgement(47.0, 0.994, Verdict.SURE),
        kind=Judgement("tyre", 0.99, Verdict.SURE),
        facts=(
            Fact("pressure", 450.0, "40-65 psi", 0.98),
            Fact("direction", True, "rotation", 0.9),
        ),
        markings=(pair, inch),
        cautions=("Keep to the lower of the pressures printed on tyre and rim.",),
    )


def torn(photos):
    inch = marking(photos[0], "inch_fraction", "26 x 1 3/8", {"diameter_in": 26, "width_in": 1.375})
    why = (reason("inch fraction alone", "26 x 1 3/8 is 590 or 597", 0.4),)
    return Reading(
        (
            Candidate(Size(590, 37), "tyre", 0.71, why, ("26 x 1 3/8 (E.A.3)", "650A")),
            Candidate(Size(597, 37), "tyre", 0.24, why, ("26 x 1 3/8 (S-6)",)),
        ),
        Verdict.CANT_TELL,
        "tyre",
        diameter=Judgement(590, 0.71, Verdict.CANT_TELL, ((597, 0.24),)),
        width=Judgement(37.0, 0.95, Verdict.LIKELY, nominal=True),
        kind=Judgement("tyre", 0.95, Verdict.LIKELY),
        markings=(inch,),
        advice=(
            "Is it the 590 or the 597 kind? Photograph the other side, the ISO size may be there.",
        ),
    )


def rim(photos):
    text = marking(
        photos[0], "rim", "507 x 21C", {"bsd_mm": 507, "width_mm": 21, "kind": "C", "order": "bsd"}
    )
    best = Candidate(Size(507, 21), "rim", 0.985, (reason("rim marking read", "507x21C", 4.4),))
    return Reading(
        (best,),
        Verdict.LIKELY,
        "rim",
        diameter=Judgement(507, 0.975, Verdict.LIKELY),
        width=Judgement(21.0, 0.975, Verdict.LIKELY),
        kind=Judgement("rim", 0.985, Verdict.LIKELY),
        markings=(text,),
    )


READINGS = {RED: sure, GREEN: torn, BLUE: rim}


def never(task, progress):
    """A reader that is still at it when the server goes."""
    time.sleep(60)


def read_part(task, progress):
    """As the real one, with the pictures for real and the reading by colour."""
    photos, pictures = worker.open_all(task, progress)
    if not photos:
        return worker.Outcome(None, tuple(pictures), error="no photo could be opened")
    colour = colour_of(photos[0])
    if any(source.box for source in task.sources):
        colour = RED
    if colour == CRASH:
        os._exit(9)
    if colour == SLOW:
        for tenth in range(10):
            progress("finding text", tenth / 10)
            time.sleep(0.1)
    progress("reading", 0.6)
    made = READINGS.get(colour, lambda _: Reading((), Verdict.NONE))(photos)
    reading = replace(made, photos=tuple(one.name for one in photos), seconds=0.1)
    return worker.outcome_of(reading, photos, pictures, task.folder)
