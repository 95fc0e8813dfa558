"""The markings of a part as the resolver sees them, small enough to keep by the thousand.

Pixels and letter probabilities are left out, where each letter stands is kept. What was read once
can so be weighed again after every change of the resolver.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reader.records import Floats, Hypothesis, Marking, Photo, Region, Strip

NO_PIXELS = np.zeros((1, 1, 3), np.uint8)


def thin(markings: Sequence[Marking]) -> tuple[Marking, ...]:
    """The same markings without pixels; `reader.resolve.resolve` gives the same answer for them."""
    photos: dict[int, Photo] = {}
    seen: dict[int, Hypothesis] = {}
    out = []
    for marking in markings:
        hypothesis = marking.hypothesis
        if hypothesis is not None:
            if id(hypothesis) not in seen:
                seen[id(hypothesis)] = _thin(hypothesis, photos)
            hypothesis = seen[id(hypothesis)]
        out.append(replace(marking, hypothesis=hypothesis))
    return tuple(out)


def _thin(hypothesis: Hypothesis, photos: dict[int, Photo]) -> Hypothesis:
    logs = hypothesis.log_probs
    strip = hypothesis.strip
    if strip is not None:
        photo = strip.region.photo
        photos.setdefault(id(photo), replace(photo, pixels=NO_PIXELS))
        region = Region(
            photos[id(photo)],
            strip.region.centreline.astype(np.float32),
            strip.region.height,
            strip.region.score,
            strip.region.finder,
        )
        strip = Strip(region, NO_PIXELS[..., 0], strip.variant)
    return replace(
        hypothesis,
        strip=strip,
        log_probs=None if logs is None else where(logs),
        char_scores=(),
    )


def where(log_probs: Floats) -> Floats:
    """T x 3, 0 where the best letter stands and -1 elsewhere; column 0 for none.

    Letters that follow each other without a blank between take turns in columns 1 and 2, so that
    they begin where they began.
    """
    best = log_probs.argmax(axis=1)
    out = np.full((len(best), 3), -1, np.float32)
    column = 1
    for t, letter in enumerate(best):
        if letter == 0:
            out[t, 0] = 0
            continue
        if t and letter != best[t - 1]:
            column = 3 - column
        out[t, column] = 0
    return out
