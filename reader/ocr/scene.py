"""The general scene-text recogniser: PP-OCRv6 small, with the probability of every letter.

Input as the model was trained: 48 pixels high, three equal channels, scaled to -1..1; one frame per
8 pixels. Source: PaddleOCR's recognition pre-processing (the wheel's config.yaml and ch_ppocr_rec).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import cv2
import numpy as np

from reader.errors import EngineError
from reader.ocr import scene_models
from reader.ocr.alphabet import ALPHABET
from reader.ocr.reduce import folding, reduce
from reader.records import Floats, Hypothesis, Pixels, Strip
from reader.text.ctc import starts

HEIGHT = 48  # the model's
STRIDE = 8  # pixels per frame
WINDOW = 1280  # longer strips are read in pieces: attention over more costs much and reads worse
OVERLAP = 320
BATCH_PIXELS = 6400  # columns per call: bounds the memory of the 18,710-class output to ~60 MB

# What is kept of one frame: the best class, its probability, the reduced log-probabilities.
Frames = tuple[np.ndarray, Floats, Floats]


class Scene:
    """Reads strips with the general recogniser. The model opens on first use, once per process."""

    name = "scene"
    late = False
    finds = True

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """One hypothesis per strip, with T x C log-probabilities over `alphabet.ALPHABET`.

        Raises:
            EngineError: the model's wheel is missing or onnxruntime fails.
        """
        pieces = [
            (index, piece)
            for index, strip in enumerate(strips)
            for piece in cut(fit_height(strip.pixels))
        ]
        found: list[list[Frames]] = [[] for _ in strips]
        for (index, _), frames in zip(pieces, _recognise([p for _, p in pieces]), strict=True):
            found[index].append(frames)
        return [_hypothesis(strip, join(parts)) for strip, parts in zip(strips, found, strict=True)]

    def describe(self) -> str:
        """Which model and runtime are in use."""
        return scene_models.describe()

    def fingerprint(self) -> str:
        """The two models' checksums."""
        return scene_models.fingerprint()


def fit_height(pixels: Pixels) -> Pixels:
    """The strip resized to the model's height, its shape kept."""
    height, width = pixels.shape[:2]
    wide = max(STRIDE, round(width * HEIGHT / height))
    if (height, width) == (HEIGHT, wide):
        return pixels
    method = cv2.INTER_AREA if height > HEIGHT else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(pixels, (wide, HEIGHT), interpolation=method), dtype=np.uint8)


def cut(pixels: Pixels) -> list[Pixels]:
    """A long strip as overlapping windows; each starts `WINDOW - OVERLAP` after the one before."""
    width = pixels.shape[1]
    if width <= WINDOW:
        return [pixels]
    step = WINDOW - OVERLAP
    starts = range(0, max(1, width - OVERLAP), step)
    return [pixels[:, start : start + WINDOW] for start in starts]


def join(parts: Sequence[Frames]) -> Frames:
    """Windows' frames side by side again, each overlap shared half and half."""
    if len(parts) == 1:
        return parts[0]
    half = OVERLAP // STRIDE // 2
    last = len(parts) - 1
    spans = [
        slice(0 if k == 0 else half, None if k == last else len(part[0]) - half)
        for k, part in enumerate(parts)
    ]
    best, sure, table = (
        np.concatenate([part[field][span] for part, span in zip(parts, spans, strict=True)])
        for field in range(3)  # name, width, weight
    )
    return best, sure, table


def decode(best: np.ndarray, sure: Floats, classes: Sequence[str]) -> tuple[str, tuple[float, ...]]:
    """Greedy CTC: the letters of the best path and the probability of each.

    Args:
        best: T class numbers, 0 the blank.
        sure: T probabilities of those classes.
        classes: the model's letters, without the blank.
    """
    keep = starts(best)
    text = "".join(classes[k - 1] for k in best[keep])
    return text, tuple(float(p) for p in sure[keep])


def _hypothesis(strip: Strip, frames: Frames) -> Hypothesis:
    best, sure, table = frames
    text, scores = decode(best, sure, model_letters())
    return Hypothesis(
        engine=Scene.name,
        text=text,
        score=float(np.mean(scores)) if scores else 0.0,
        strip=strip,
        log_probs=table,
        alphabet=ALPHABET,
        char_scores=scores,
    )


def _recognise(pieces: Sequence[Pixels]) -> list[Frames]:
    """Frames of every piece; pieces of like width share a call, as padding costs time."""
    out: list[Frames | None] = [None] * len(pieces)
    if not pieces:
        return []
    source, target = _folding()
    net = scene_models.session(scene_models.RECOGNISER)
    for group in batches([piece.shape[1] for piece in pieces]):
        try:
            scores = net.run(None, {"x": _tensor([pieces[k] for k in group])})[0]
        except Exception as error:  # onnxruntime has no common base class for its errors
            raise EngineError(f"the scene engine failed ({error})", "try another engine") from error
        for row, k in zip(scores, group, strict=True):
            frames = row[: -(-pieces[k].shape[1] // STRIDE)]
            best = frames.argmax(axis=1)
            sure = frames[np.arange(len(frames)), best]
            out[k] = (best, sure, reduce(frames, source, target))
    return [frames for frames in out if frames is not None]


def batches(widths: Sequence[int]) -> Iterator[list[int]]:
    """Indices grouped by like width, no group wider in all than `BATCH_PIXELS`."""
    group: list[int] = []
    for k in sorted(range(len(widths)), key=lambda k: widths[k]):
        too_wide = group and widths[k] * (len(group) + 1) > BATCH_PIXELS
        unlike = group and widths[k] > 1.25 * widths[group[0]] + 64  # padding costs as letters do
        if too_wide or unlike:
            yield group
            group = []
        group.append(k)
    if group:
        yield group


def _tensor(pieces: Sequence[Pixels]) -> Floats:
    """N x 3 x 48 x W float32 in -1..1; the room right of a narrower piece is zero (mid grey)."""
    wide = -(-max(piece.shape[1] for piece in pieces) // STRIDE) * STRIDE
    tensor = np.zeros((len(pieces), 3, HEIGHT, wide), dtype=np.float32)  # colours
    for row, piece in zip(tensor, pieces, strict=True):
        row[:, :, : piece.shape[1]] = piece.astype(np.float32) / 127.5 - 1
    return tensor


@lru_cache(maxsize=1)
def model_letters() -> tuple[str, ...]:
    """The model's 18,709 letters in class order, without the blank; the space comes last."""
    meta = scene_models.session(scene_models.RECOGNISER).get_modelmeta().custom_metadata_map
    return (*meta["character"].splitlines(), " ")


@lru_cache(maxsize=1)
def _folding() -> tuple[np.ndarray, np.ndarray]:
    return folding(model_letters())
