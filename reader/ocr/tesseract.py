"""Tesseract through pytesseract: many strips per call, as starting the program costs most."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import cv2
import numpy as np

from reader.errors import EngineError
from reader.ocr.tesseract_program import Program, program
from reader.records import Hypothesis, Pixels, Strip

HEIGHT = 48  # pixels a line; from memory: it wants 30 or more
SMOOTH = (
    1.2  # pixels; with `flatten`, doubled exact reads on uneven rendered lines (20 to 41 of 80)
)
BATCH = 100  # strips per call
ONE_LINE = "--psm 7"  # the picture is a single line of text
_MARGIN = 8
_SECONDS_PER_STRIP = 5  # far more than one takes

Word = tuple[str, float]  # text, confidence 0..1


class Tesseract:
    """Reads strips with the Tesseract program; gives strings and word confidences only."""

    name = "tesseract"
    late = True
    finds = False

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """One hypothesis per strip; an empty text where nothing was seen.

        Raises:
            EngineError: there is no Tesseract program, or it failed.
        """
        use = program()
        out: list[Hypothesis] = []
        for start in range(0, len(strips), BATCH):
            some = strips[start : start + BATCH]
            pages = words([flatten(strip.pixels) for strip in some], use, ONE_LINE)
            out += [_hypothesis(strip, page) for strip, page in zip(some, pages, strict=True)]
        return out

    def describe(self) -> str:
        """Which executable, which version, where from."""
        return str(program())

    def fingerprint(self) -> str:
        """Version and origin of the program."""
        use = program()
        return f"{use.version} {use.origin}"


def flatten(pixels: Pixels) -> Pixels:
    """Grey strip with uneven light taken out and full contrast. A margin only cost reads."""
    width = max(HEIGHT, round(pixels.shape[1] * HEIGHT / pixels.shape[0]))
    grey = cv2.resize(pixels.astype(np.float32), (width, HEIGHT), interpolation=cv2.INTER_CUBIC)
    relief = cv2.GaussianBlur(grey, (0, 0), SMOOTH) - cv2.GaussianBlur(grey, (0, 0), HEIGHT / 2)
    low, high = np.percentile(relief, (2, 98))  # per cent: a few odd pixels are cut off
    return np.clip((relief - low) / max(high - low, 1.0) * 255, 0, 255).astype(np.uint8)


def words(pictures: Sequence[Pixels], use: Program, layout: str) -> list[list[Word]]:
    """Run Tesseract once over several pictures.

    Args:
        pictures: grey or RGB, uint8.
        layout: its page segmentation option, such as '--psm 7'.

    Returns:
        The words of each picture in reading order.

    Raises:
        EngineError: the program failed or took far too long.
    """
    if not pictures:
        return []
    import pytesseract

    pytesseract.pytesseract.tesseract_cmd = use.path
    with tempfile.TemporaryDirectory(prefix="tyremark-") as folder:
        try:
            table = pytesseract.image_to_data(
                str(_listed(pictures, Path(folder))),
                config=f"{use.options} {layout}",
                timeout=30 + _SECONDS_PER_STRIP * len(pictures),  # for its start
            )
        except (RuntimeError, OSError) as error:  # TesseractError and the timeout are RuntimeErrors
            raise EngineError(
                f"{use} failed ({str(error)[:200]})", "try again, or choose other engines"
            ) from error
    pages: list[list[Word]] = [[] for _ in pictures]
    for page, word in _rows(table):
        pages[page].append(word)
    return pages


def _listed(pictures: Sequence[Pixels], folder: Path) -> Path:
    """Write the pictures and the list of them that Tesseract takes as one input."""
    paths = [folder / f"{k:04}.png" for k in range(len(pictures))]
    for path, picture in zip(paths, pictures, strict=True):
        order = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
        cv2.imwrite(str(path), order, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    listing = folder / "pictures.txt"
    listing.write_text("\n".join(map(str, paths)) + "\n", encoding="utf-8")
    return listing


def _rows(table: str) -> Iterator[tuple[int, Word]]:
    """Page (from 0) and word of each row of Tesseract's tab-separated output."""
    for row in csv.DictReader(io.StringIO(table), delimiter="\t", quoting=csv.QUOTE_NONE):
        text, confidence = (row["text"] or "").strip(), float(row["conf"])
        if text and confidence >= 0:  # -1 marks rows of blocks and lines
            yield int(row["page_num"]) - 1, (text, confidence / 100)


def _hypothesis(strip: Strip, page: Sequence[Word]) -> Hypothesis:
    text = " ".join(word for word, _ in page)
    scores = [sure for word, sure in page for _ in f"{word} "][:-1]
    mean = float(np.mean(scores)) if scores else 0.0
    return Hypothesis(Tesseract.name, text, mean, strip, char_scores=tuple(scores))
