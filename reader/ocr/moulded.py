"""Our own recogniser for moulded, worn and printed lettering: letter probabilities for each frame.

A strip is 48 rows high, normalised to zero mean and unit deviation as in training; one frame spans
4 columns. The model's card is `reader/data/moulded.md`.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reader.checksums import assure
from reader.errors import EngineError
from reader.language import N_
from reader.ocr.alphabet import ALPHABET
from reader.records import Floats, Hypothesis, Pixels, Strip
from reader.text.ctc import starts
from reader.threads import cores, open_model

MODEL = Path(__file__).parent.parent / "data" / "moulded.onnx"
ROWS = 48  # the model's
WIDEST = 2400  # columns; longer strips would be lines that no tyre carries
BATCH_COLUMNS = 6000  # columns a run, which bounds memory
ROUND = 32  # widths are rounded up to this
UNLIKE = 1.12  # strips of one run differ no more in width, as padding costs what letters cost


class Moulded:
    """Reads strips with the packaged model; it opens on first use, once a process."""

    name = "moulded"
    late = False
    finds = False

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """One hypothesis per strip, in the same order.

        Raises:
            EngineError: the model can't be opened or run.
        """
        widths = [fitted_width(strip.pixels) for strip in strips]
        order = sorted(range(len(strips)), key=lambda k: widths[k])
        answers: dict[int, Floats] = {}
        for group in _groups(order, widths):
            wide = max(widths[k] for k in group)
            batch = np.stack([normalised(strips[k].pixels, widths[k], wide) for k in group])
            for k, log_probs in zip(group, self._run(batch[:, None]), strict=True):
                answers[k] = log_probs[: max(1, widths[k] // 4)]
        return [_hypothesis(strip, answers[k]) for k, strip in enumerate(strips)]

    def describe(self) -> str:
        """Which model is in use.

        Raises:
            EngineError: it is missing or damaged.
        """
        return N_(f"moulded lettering, packaged model {MODEL.name}, SHA-256 {self.fingerprint()}")

    def fingerprint(self) -> str:
        """The model's checksum."""
        return assure(MODEL)[:16]

    def _run(self, batch: Floats) -> Floats:
        try:
            opened = session(cores(), os.getpid())
            return np.asarray(opened.run(None, {"picture": batch})[0], np.float32)
        except EngineError:
            raise
        except Exception as error:  # onnxruntime raises its own many kinds
            raise EngineError(
                f"the moulded-lettering model can't be run ({type(error).__name__})",
                "install tyremark again",
            ) from error


@lru_cache(maxsize=2)
def session(threads: int, process: int) -> Any:
    """The runtime's session for the packaged model; one inherited through a fork can hang."""
    return open_model(MODEL, threads)


def fitted_width(pixels: Pixels) -> int:
    """Columns of a strip once it is ROWS high, rounded up and bounded."""
    wide = pixels.shape[1] * ROWS / pixels.shape[0]
    return min(WIDEST, max(64, -(-round(wide) // ROUND) * ROUND))  # columns: less than two letters


def normalised(pixels: Pixels, width: int, padded: int) -> Floats:
    """Resize, continue by the last column, then zero mean and unit deviation; ROWS x padded."""
    # columns: one frame
    natural = max(8, min(width, round(pixels.shape[1] * ROWS / pixels.shape[0])))
    if pixels.shape != (ROWS, natural):
        pixels = np.asarray(
            cv2.resize(pixels, (natural, ROWS), interpolation=cv2.INTER_AREA), np.uint8
        )
    values = pixels.astype(np.float32) / 255
    mean, deviation = float(values.mean()), float(values.std())
    values = np.clip((values - mean) / (deviation + 2 / 255), -4, 4)  # as in training
    return np.pad(values, ((0, 0), (0, padded - natural)), "edge")


def _groups(order: list[int], widths: list[int]) -> list[list[int]]:
    """Strips of like width together, each group small enough for one run."""
    groups: list[list[int]] = []
    for k in order:
        fits = groups and (len(groups[-1]) + 1) * widths[k] <= BATCH_COLUMNS
        if fits and widths[k] <= widths[groups[-1][0]] * UNLIKE:
            groups[-1].append(k)
        else:
            groups.append([k])
    return groups


def _hypothesis(strip: Strip, log_probs: Floats) -> Hypothesis:
    """Best-path text with a score a letter."""
    best = log_probs.argmax(1)
    begins = starts(best)
    text = "".join(ALPHABET[best[t] - 1] for t in begins)
    scores = tuple(float(np.exp(log_probs[t, best[t]])) for t in begins)
    score = float(np.mean(scores)) if scores else 0.0
    return Hypothesis("moulded", text, score, strip, log_probs, ALPHABET, scores)
