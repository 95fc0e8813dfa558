"""Outlines and plates on a photo; saved files are opened again with Pillow."""

from __future__ import annotations

import numpy as np
import pytest
import seen
from PIL import Image

from reader.errors import PhotoError
from reader.photo.overlay import (
    OTHER_COLOUR,
    SIZE_COLOUR,
    draw_regions,
    overlay,
    save,
    shrunk,
    strip_card,
)
from reader.records import (
    Candidate,
    Evidence,
    Marking,
    Photo,
    Reading,
    Region,
    Size,
    Strip,
    Verdict,
)

GREY = 110


def plain(name="front", size=(600, 900)):
    return Photo(name, np.full((*size, 3), GREY, np.uint8))


def marking(photo, text, x, y, length=240.0, notation="iso_pair", cost=0.0):
    """A marking that fills a level strip whose middle line starts at (x, y)."""
    line = seen.line(text, photo=photo, x=x, y=y, length=length, height=40, engine="moulded")
    return seen.marking(line, notation, cost=cost)


def reading(*markings, verdict=Verdict.SURE, bsd=507):
    said = [m.text for m in markings if m.notation == "iso_pair"]
    evidence = tuple(Evidence("ISO pair read", f"'{text}': it says so", 5.0) for text in said)
    candidates = (Candidate(Size(bsd, 47), "tyre", 0.99, evidence),)
    return Reading(candidates, verdict, "tyre", markings=markings)


def painted(picture, colour):
    """Rows and columns of the pixels in a hue; thin lines are blended with what is beside them."""
    red, _, blue = np.moveaxis(picture.astype(int), 2, 0)
    return np.nonzero(red - blue > 60 if colour == SIZE_COLOUR else blue - red > 40)


def test_the_outline_lies_where_the_strip_was_cut():
    photo = plain()
    picture = overlay(photo, reading(marking(photo, "47-507", 300, 400), verdict=Verdict.NONE))
    rows, columns = painted(picture[370:431], SIZE_COLOUR)
    assert (rows.min() + 370, rows.max() + 370) == pytest.approx((380, 420), abs=4)
    assert (columns.min(), columns.max()) == pytest.approx((300, 540), abs=6)
    inside = picture[388:413, 310:530]
    assert (inside == GREY).all()  # what is read stays to be seen


def test_a_part_of_the_line_is_outlined_alone():
    photo = plain()
    whole = marking(photo, "AAAAAA47-507", 300, 400)
    half = Marking("iso_pair", "47-507", {}, (6, 12), 0.0, whole.hypothesis)
    picture = overlay(photo, reading(half, verdict=Verdict.NONE))
    _, columns = painted(picture[370:431], SIZE_COLOUR)
    assert columns.min() > 300 + 240 * 0.4
    assert columns.max() <= 545


def test_sizes_and_other_markings_have_their_own_colours():
    photo = plain()
    markings = marking(photo, "47-507", 100, 200), marking(photo, "50 PSI", 500, 450)
    other = Marking("pressure", "50 PSI", {}, (0, 6), 0.0, markings[1].hypothesis)
    picture = overlay(photo, reading(markings[0], other, verdict=Verdict.NONE))
    assert len(painted(picture[150:250, :450], SIZE_COLOUR)[0]) > 200
    assert len(painted(picture[400:500, 450:], OTHER_COLOUR)[0]) > 100
    assert len(painted(picture[400:500, 450:], SIZE_COLOUR)[0]) == 0


@pytest.mark.parametrize(
    ("x", "y"), [(-120, 5), (800, 5), (-200, 595), (860, 598), (2, 300), (5000, 5000)]
)
def test_a_marking_at_the_edge_is_drawn_inside_the_picture(x, y):
    photo = plain()
    picture = overlay(photo, reading(marking(photo, "47-507 ETRTO", x, y)))
    assert picture.shape == photo.pixels.shape
    assert picture.dtype == np.uint8


def test_plates_of_crowded_markings_cover_neither_each_other_nor_the_letters():
    photo = plain(size=(900, 1200))
    texts = ("47-507", "24 x 1.75", "50 PSI")
    crowded = [marking(photo, text, 500, 450 + 50 * k) for k, text in enumerate(texts)]
    alone = [overlay(photo, reading(one, verdict=Verdict.NONE)) for one in crowded]
    together = overlay(photo, reading(*crowded, verdict=Verdict.NONE))

    headline = overlay(photo, reading(verdict=Verdict.NONE))

    def added(picture):
        return int((picture != headline).any(2).sum())

    assert added(together) > 0.9 * sum(added(picture) for picture in alone)
    for k in range(3):
        assert (together[440 + 50 * k : 460 + 50 * k, 520:720] == GREY).all()


@pytest.mark.parametrize(
    ("verdict", "told"),
    [(Verdict.SURE, True), (Verdict.LIKELY, True), (Verdict.CANT_TELL, True)],
)
def test_the_answer_stands_on_top(verdict, told):
    picture = overlay(plain(), reading(verdict=verdict))
    assert ((picture[:60] != GREY).any()) == told
    assert (picture[80:] == GREY).all()


def test_a_doubtful_size_is_not_told_as_if_it_were_sure():
    pictures = [overlay(plain(), reading(verdict=verdict)) for verdict in Verdict]
    for k, one in enumerate(pictures):
        assert all((one != other).any() for other in pictures[k + 1 :])
    unsure = overlay(plain(), reading(verdict=Verdict.CANT_TELL, bsd=622))
    assert (unsure == pictures[2]).all()  # whichever size leads, it is not named


def test_markings_of_other_photos_and_of_typed_text_are_left_out():
    photo, other = plain("front"), plain("back")
    typed = Marking("iso_pair", "47-507", {}, (0, 6))
    given = reading(marking(other, "47-507", 300, 300), typed, verdict=Verdict.NONE)
    without = overlay(photo, reading(verdict=Verdict.NONE))
    assert (overlay(photo, given) == without).all()


def test_the_photo_itself_is_left_alone():
    photo = plain()
    overlay(photo, reading(marking(photo, "47-507", 300, 400)))
    draw_regions(photo, (marking(photo, "47-507", 300, 400).hypothesis.strip.region,))
    assert (photo.pixels == GREY).all()


def test_a_large_photo_is_shrunk_with_its_outlines():
    photo = plain(size=(1500, 3000))
    given = reading(marking(photo, "47-507", 1500, 750, 600), verdict=Verdict.NONE)
    picture = overlay(photo, given, side=1000)
    assert picture.shape == (500, 1000, 3)
    rows, columns = painted(picture[235:266], SIZE_COLOUR)
    assert (columns.min(), columns.max()) == pytest.approx((500, 700), abs=6)


def test_a_small_photo_is_not_enlarged():
    picture, scale = shrunk(plain(size=(20, 30)).pixels, 1000)
    assert (picture.shape, scale) == ((20, 30, 3), 1.0)


def test_regions_show_where_reading_starts():
    photo = plain()
    line = np.array([[200, 300], [600, 300]], np.float32)
    picture = draw_regions(photo, (Region(photo, line, 60),))
    _, starts = painted(picture, SIZE_COLOUR)
    _, all_round = painted(picture, OTHER_COLOUR)
    assert starts.max() < 215
    assert all_round.max() == pytest.approx(600, abs=4)


@pytest.mark.parametrize("text", ["47-507", "24 × 1¾ – 26°", "東京", ""])
def test_a_card_holds_the_strip_and_its_text(text):
    pixels = np.full((24, 100), 200, np.uint8)
    strip = Strip(Region(plain(), np.zeros((2, 2), np.float32), 10), pixels)
    card = strip_card(strip, text, height=48)
    assert (card[:48, :200] == 200).all()
    assert bool(card[48:].any()) == bool(text)


@pytest.mark.parametrize(
    ("name", "kind"), [("a.png", "PNG"), ("b.JPG", "JPEG"), ("c.jpeg", "JPEG")]
)
def test_saved_pictures_open_again(tmp_path, name, kind):
    rng = np.random.default_rng(1)
    pixels = np.repeat(np.repeat(rng.integers(0, 255, (6, 9, 3), np.uint8), 8, 0), 8, 1)
    save(pixels, tmp_path / name)
    with Image.open(tmp_path / name) as image:
        assert image.format == kind
        again = np.asarray(image.convert("RGB")).astype(int)
    assert np.abs(again - pixels).mean() < (1e-9 if kind == "PNG" else 12)


def test_a_name_that_says_no_format_is_refused(tmp_path):
    with pytest.raises(PhotoError, match=r"can't save a picture as answer\.gif"):
        save(plain().pixels, tmp_path / "answer.gif")
    assert list(tmp_path.iterdir()) == []


def test_a_missing_folder_is_told(tmp_path):
    with pytest.raises(PhotoError, match="can't be written"):
        save(plain().pixels, tmp_path / "gone" / "answer.png")


def test_a_rival_has_a_dashed_line_and_what_was_only_tried_has_none():
    photo = plain()
    mine, rival, tried = (
        marking(photo, text, 300, 150 + 130 * k)
        for k, text in enumerate(("47-507", "47-559", "12-203"))
    )
    evidence = [(Evidence("ISO pair read", f"'{m.text}': so", 5.0),) for m in (mine, rival)]
    best = Candidate(Size(507, 47), "tyre", 0.6, evidence[0])
    other = Candidate(Size(559, 47), "tyre", 0.3, evidence[1])
    given = Reading((best, other), Verdict.CANT_TELL, markings=(mine, rival, tried))
    picture = overlay(photo, given)
    amounts = [
        len(painted(picture[at - 30 : at + 31, 280:560], SIZE_COLOUR)[0]) for at in (150, 280, 410)
    ]
    assert amounts[0] > 1.4 * amounts[1] > 0
    assert amounts[2] == 0


def test_the_deciding_strip_stands_beside_the_size():
    photo = plain()
    bright = np.full((32, 160), 250, np.uint8)
    line = seen.line("47-507", photo=photo, x=300, y=400, length=240, height=40, pixels=bright)
    one = seen.marking(line, "iso_pair")
    with_strip = overlay(photo, reading(one))
    assert (with_strip[:80] == 250).all(2).sum() > 1500
    doubtful = overlay(photo, reading(one, verdict=Verdict.CANT_TELL))
    assert (doubtful[:80] == 250).all(2).sum() < 500
