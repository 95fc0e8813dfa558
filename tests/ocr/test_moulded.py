"""Our own recogniser on printed lines, set in the DejaVu font that comes with matplotlib."""

from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from reader.errors import EngineError
from reader.ocr import moulded
from reader.ocr.alphabet import ALPHABET
from reader.ocr.moulded import ROWS, WIDEST, Moulded, fitted_width, normalised

FONT = Path(mpl.get_data_path(), "fonts", "ttf", "DejaVuSans-Bold.ttf")


def printed(text, size=44, ink=215, ground=60):
    font = ImageFont.truetype(str(FONT), size)
    width = round(font.getlength(text)) + size
    image = Image.new("L", (width, 48), ground)
    ImageDraw.Draw(image).text((size // 2, 40), text, ink, font, anchor="ls")
    noise = np.random.default_rng(len(text)).normal(0, 3, (48, width))
    return np.clip(np.asarray(image) + noise, 0, 255).astype(np.uint8)


TEXTS = ("47-507", "700X28C", "26 X 1.75", "622-19", "MAX 65 PSI")


@pytest.fixture(scope="module")
def read():
    return Moulded()


def test_printed_lines_are_read_in_their_order(read, strip_of):
    told = read.read([strip_of(printed(text)) for text in TEXTS])
    assert [one.text.replace(" ", "") for one in told] == [text.replace(" ", "") for text in TEXTS]


def test_dark_ink_on_light_reads_alike(read, strip_of):
    (told,) = read.read([strip_of(printed("47-507", ink=40, ground=200))])
    assert told.text.strip() == "47-507"


def test_evidence_is_a_probability_for_every_frame(read, strip_of):
    strip = strip_of(printed("47-507"))
    (told,) = read.read([strip])
    assert told.strip is strip
    assert told.alphabet == ALPHABET
    assert told.log_probs.shape == (fitted_width(strip.pixels) // 4, len(ALPHABET) + 1)
    assert np.exp(told.log_probs).sum(1) == pytest.approx(1, abs=1e-3)
    assert len(told.char_scores) == len(told.text)
    assert 0 <= told.score <= 1


def test_company_changes_little(read, strip_of):
    strips = [strip_of(printed(text)) for text in TEXTS]
    together = read.read(strips)
    alone = [read.read([strip])[0] for strip in strips]
    assert [one.text for one in together] == [one.text for one in alone]


@pytest.mark.parametrize("shape", [(48, 3), (12, 900), (200, 40), (48, 9000), (1, 1)])
def test_odd_strips_are_read_without_trouble(read, strip_of, shape):
    (told,) = read.read([strip_of(np.full(shape, 90, np.uint8))])
    assert len(told.log_probs) <= WIDEST // 4


def test_no_strips_no_answers(read):
    assert read.read([]) == []


def test_brightness_and_contrast_are_taken_out():
    pixels = printed("47-507")
    width = fitted_width(pixels)
    values = normalised(pixels, width, width + 32)
    assert values.shape == (ROWS, width + 32)
    assert abs(values[:, : pixels.shape[1]].mean()) < 0.02
    dim = normalised((pixels * 0.5 + 20).astype(np.uint8), width, width + 32)
    assert np.abs(values - dim).mean() < 0.05


def test_a_model_that_can_not_be_opened_is_told(monkeypatch, tmp_path, strip_of):
    monkeypatch.setattr(moulded, "MODEL", tmp_path / "gone.onnx")
    moulded.session.cache_clear()
    try:
        with pytest.raises(EngineError, match="is missing"):
            Moulded().read([strip_of(printed("47-507"))])
    finally:
        moulded.session.cache_clear()
