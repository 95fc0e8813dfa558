"""A label that is too blurred to be read is told from a photo that shows none.

The labels are drawn by the program that prints them, laid on a mottled bench by Pillow and blurred
as by a lens out of focus (a disc). What a blur of so many modules leaves is not from any source:
zxing-cpp reads up to about 0.9.
"""

import io
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from PIL import Image

from reader.catalogue import Sheet, labels_pdf
from reader.catalogue.db.codes import qr_text, tidy
from reader.photo.load import codes
from reader.photo.unread import unread_code
from reader.tables import load_tables

SAMPLES = Path(__file__).parents[2] / "samples"
WIDTH = 1600  # pixels
LABEL = 63.5  # mm wide
MODULES = 33  # of the square with its quiet zone, as `labels` draws it
SQUARE = 24.13  # mm of that square


@pytest.fixture(scope="module")
def label():
    """A blank label with a code, as it is printed."""
    sheet = Sheet((LABEL, 38.1), (LABEL, 38.1), 1, 1, (0, 0))
    pdf = labels_pdf([], sheet, load_tables(), blank=1)
    return pypdfium2.PdfDocument(pdf)[0].render(scale=8).to_pil().convert("L")


def photo(label, view: float, blur: float, turn: float) -> np.ndarray:
    """The label seen `view` mm wide, turned by degrees, blurred by a disc of `blur` modules."""
    chance = np.random.default_rng(round(view + turn))
    coarse = chance.integers(40, 150, (30, 40)).astype(np.uint8)
    bench = Image.fromarray(cv2.resize(coarse, (WIDTH, 1200), interpolation=cv2.INTER_CUBIC))
    side = round(LABEL / view * WIDTH)
    paper = label.resize((side, side * label.height // label.width), Image.Resampling.BOX)
    shape = Image.new("L", paper.size, 255).rotate(turn, expand=True)
    bench.paste(paper.rotate(turn, expand=True), (180, 140), shape)
    radius = blur * SQUARE / MODULES / view * WIDTH
    y, x = np.mgrid[-radius : radius + 1, -radius : radius + 1]
    disc = (np.hypot(x, y) <= radius + 0.5).astype(np.float32)
    seen = cv2.filter2D(np.asarray(bench, np.float32), -1, disc / disc.sum())
    return np.clip(seen + chance.normal(0, 3, seen.shape), 0, 255).astype(np.uint8)


def jpeg(pixels: np.ndarray) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "JPEG", quality=85)
    return stream.getvalue()


@pytest.mark.parametrize("view", [110, 150, 300])
def test_a_blurred_label_is_seen_and_a_sharp_one_is_read(label, view) -> None:
    for turn in (0, 20, 75):
        sharp = codes(jpeg(photo(label, view, 0, turn)))
        assert len(sharp.texts) == 1 and not sharp.unread
        assert sharp.texts[0] == qr_text(tidy(sharp.texts[0]))
        for blur in (1.3, 2, 3.5):
            seen = codes(jpeg(photo(label, view, blur, turn)))
            assert seen.texts == () and seen.unread, (view, turn, blur)


def test_tyres_and_rims_are_no_labels() -> None:
    for path in sorted(SAMPLES.glob("*.jpg")):
        with Image.open(path) as picture:
            picture.draft("L", (WIDTH, WIDTH))
            grey = np.asarray(picture.convert("L"))
        assert not unread_code(grey), path.name


def test_pictures_that_show_nothing() -> None:
    for shape in ((16, 16), (16, 3000), (400, 300)):
        assert not unread_code(np.full(shape, 128, np.uint8))
