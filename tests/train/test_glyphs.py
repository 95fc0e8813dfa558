"""Masks of lettering; the letters' own measures come from FreeType through Pillow."""

import numpy as np
import pytest
from PIL import ImageFont

from reader.train.render.glyphs import Setting, draw_mask, draw_setting

CAP, MARGIN = 40, 12


def rows_inked(mask):
    used = np.flatnonzero((mask > 127).any(1))
    return used[0], used[-1] + 1


def columns_inked(mask):
    used = np.flatnonzero((mask > 127).any(0))
    return used[0], used[-1] + 1


def drawn(fonts, text, **how):
    return draw_mask(text, Setting(fonts[0], **{"spacing": 0.0, **how}), CAP, MARGIN)


@pytest.mark.parametrize("text", ["HEX", "H5", "47-507"])
def test_capitals_fill_the_height_between_the_margins(fonts, text):
    mask = drawn(fonts, text)
    assert mask.shape[0] == CAP + 2 * MARGIN
    top, foot = rows_inked(mask)
    assert abs(top - MARGIN) <= 2
    assert abs(foot - (MARGIN + CAP)) <= 2


def test_a_line_is_as_long_as_the_font_says(fonts):
    mask = drawn(fonts, "HEEH")
    tall = ImageFont.truetype(str(fonts[0]), 1000)
    left, top, right, foot = tall.getmask("HEEH").getbbox()
    first, last = columns_inked(mask)
    assert last - first == pytest.approx((right - left) / (foot - top) * CAP, rel=0.03)
    assert abs(mask.shape[1] - tall.getlength("HEEH") / (foot - top) * CAP - 2 * MARGIN) <= 4


def test_letters_below_the_line_stay_inside_the_margin(fonts):
    assert rows_inked(drawn(fonts, "Jg,"))[1] > MARGIN + CAP + 3


@pytest.mark.parametrize(("style", "lower"), [("raised", 0.75), ("stacked", 0.75)])
def test_a_set_fraction_is_smaller_than_a_plain_one(fonts, style, lower):
    plain, small = drawn(fonts, "26 x 1 3/8"), drawn(fonts, "26 x 1 3/8", fraction=style)
    assert small.shape[1] < plain.shape[1]
    tail = small[:, round(small.shape[1] * 0.7) :]
    above = (tail[: MARGIN + CAP // 2] > 127).sum()
    below = (tail[MARGIN + CAP // 2 :] > 127).sum()
    assert min(above, below) > 0.3 * max(above, below)  # one number high, the other low
    assert rows_inked(small)[0] >= MARGIN - 0.12 * CAP
    assert (small > 127).sum() < lower * (plain > 127).sum() * plain.shape[1] / small.shape[1]


def test_a_size_without_fraction_does_not_change_with_the_style(fonts):
    assert np.array_equal(drawn(fonts, "700x28C", fraction="raised"), drawn(fonts, "700x28C"))


def test_weight_outline_bridges_and_dots_change_the_ink(fonts):
    def ink(**how):
        return int((drawn(fonts, "HHH", **how) > 127).sum())

    solid = ink()
    assert ink(bold=0.05) > solid > ink(bold=-0.03) > 0
    assert 0 < ink(outline=0.04) < solid
    assert 0 < ink(bridges=0.1) < solid
    assert 0 < ink(dots=0.15) < solid


def test_stretch_widens_and_slant_leans_forward(fonts):
    plain, wide = drawn(fonts, "III"), drawn(fonts, "III", stretch=1.5)
    assert wide.shape[1] - 2 * MARGIN == pytest.approx(1.5 * (plain.shape[1] - 2 * MARGIN), abs=1)
    lean = drawn(fonts, "I", slant=0.3)
    top, foot = lean[MARGIN + 2].argmax(), lean[MARGIN + CAP - 3].argmax()
    assert top - foot == pytest.approx(0.3 * (CAP - 5), abs=2)


def test_every_drawn_setting_leaves_legible_ink(fonts):
    rng = np.random.default_rng(5)
    for _ in range(60):
        mask = draw_mask("47-507", draw_setting(rng, fonts), 24, 8)
        assert mask.dtype == np.uint8
        assert 0.02 < (mask > 100).mean() < 0.8
