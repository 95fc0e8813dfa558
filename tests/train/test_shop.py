"""A shop's own settled markings: scored by one command, and refused for training while few."""

import csv
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))
from test_pipeline import label

from reader.photo.rectify import straighten
from reader.records import Region
from reader.train.models import shop

TEXTS = ("37-622", "47-507", "25-559", "40-635", "32-590", "50-406")
BAND = np.array([(215, 240), (430, 240)], np.float32)  # where `label` sets its text


@pytest.fixture
def folder(tmp_path):
    """Strips as `tyremark training` writes them; the last one was settled to another size."""
    with (tmp_path / "lines.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(("file", "text", "size", "kind"))
        for number, text in enumerate(TEXTS):
            strip = straighten(Region(label(text), BAND, 34.0))
            Image.fromarray(strip.pixels).save(tmp_path / f"{number}.png")
            settled = "20-406" if text == TEXTS[-1] else text
            rows.writerow((f"{number}.png", "" if number == 0 else text, settled, "tyre"))
    return tmp_path


def test_settled_strips_are_scored_by_text_and_by_size(folder, capsys):
    score = shop.score(shop.load(folder))
    assert (score.lines, score.texts) == (6, 5)
    assert score.exact == 5 and score.sizes == 5
    assert shop.main([str(folder)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "all: 5 of 6 sizes read; 5 of 5 texts letter for letter"
    assert said[1].startswith("kept apart: ")


def test_what_is_kept_apart_does_not_move_when_strips_are_added(folder):
    before = {line.file for line in shop.load(folder) if line.is_apart}
    with (folder / "lines.csv").open("a", newline="") as file:
        csv.writer(file).writerow(("5.png", "50-406", "50-406", "tyre"))
    assert {line.file for line in shop.load(folder) if line.is_apart} == before


def test_a_text_that_is_only_a_part_of_its_strip_teaches_nothing(folder):
    lines = shop.load(folder)
    short = shop.Line("part.png", lines[1].pixels, "47", "47-507")
    assert shop.whole([lines[1], short]) == [lines[1]]


def test_few_strips_are_not_trained_on_and_a_wrong_folder_is_told(folder, tmp_path, capsys):
    assert shop.main([str(folder), "--train"]) == 2
    assert "too few to train on" in capsys.readouterr().err
    assert shop.main([str(tmp_path / "none")]) == 2
    assert "tyremark training" in capsys.readouterr().err


def test_a_batch_spells_texts_as_the_recogniser_does(folder):
    pytest.importorskip("torch")
    from reader.ocr.alphabet import ALPHABET
    from reader.train.models.shop_train import batch_of

    lines = shop.load(folder)[1:3]
    pixels, targets, lengths = batch_of(lines, "cpu")
    assert pixels.shape[:2] == (2, 48)
    assert lengths.tolist() == [6, 6]
    assert "".join(ALPHABET[k - 1] for k in targets.tolist()) == "47-50725-559"
