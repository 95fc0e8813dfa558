"""The plain readers, on a photograph from opencv-doc (see fixtures/ocr) and on a drawn label."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from reader.records import Photo
from reader.train.bench.baselines import PEERS, markings, scene_texts, tesseract_texts

PICTURES = Path(__file__).parents[2] / "fixtures" / "ocr"


def photo(name):
    return Photo(name, np.asarray(Image.open(PICTURES / name).convert("RGB")))


def label(turn=0):
    """A white label with a size, as drawn by Pillow in its own font."""
    image = Image.new("RGB", (700, 400), "white")
    font = ImageFont.load_default(48)
    ImageDraw.Draw(image).text((80, 160), "37-622 700x35C", font=font, fill="black")
    return Photo("label", np.asarray(image.rotate(turn)))


def test_the_scene_reader_reads_a_photographed_sign_either_way_up():
    for turned in (False, True):
        sign = photo("service.jpg")
        if turned:
            sign = Photo("sign", sign.pixels[::-1, ::-1].copy())
        texts = {one.text for one in scene_texts(sign)}
        assert {"Customer", "Freephone", "Private Hire", "Service"} <= texts


def test_tesseract_reads_a_printed_page():
    texts = [one.text for one in tesseract_texts(photo("page.png"))]
    assert any("technical details are too complex to cover in the book itself" in t for t in texts)


@pytest.mark.parametrize("peer", PEERS)
def test_the_grammar_reads_what_the_peer_returns(peer):
    found = {(one.notation, one.text) for one in markings(label(), peer)}
    assert {("iso_pair", "37-622"), ("french", "700x35C")} <= found


@pytest.mark.parametrize("peer", PEERS)
def test_an_empty_photo_gives_no_marking(peer):
    blank = Photo("blank", np.full((300, 400, 3), 128, np.uint8))
    assert markings(blank, peer) == ()
