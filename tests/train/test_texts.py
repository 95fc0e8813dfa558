"""Drawn lines: their letters, their sizes against the sourced tables, the split of names."""

import re
from collections import Counter

import numpy as np
import pytest

from reader.names.meanings import meanings
from reader.ocr.alphabet import ALPHABET, fold
from reader.tables import load_tables
from reader.train.render import texts, textsizes
from reader.train.render import words as names

TABLES = load_tables()


def draws(kind, count=400, seed=1, held_out=False):
    rng = np.random.default_rng(seed)
    return [texts.draw_line(rng, kind, held_out)[0] for _ in range(count)]


def bsds(notation, **numbers):
    return {meaning.size.bsd for meaning in meanings(notation, numbers, TABLES)}


def inches(text):
    whole, _, rest = text.partition(" ")
    top, _, bottom = (rest or whole).partition("/")
    part = float(top) / float(bottom) if bottom else 0.0
    return part if "/" in whole else float(whole) + part


@pytest.mark.parametrize("kind", texts.KINDS)
def test_lines_keep_to_the_letters_and_are_never_empty(kind):
    for text in draws(kind):
        assert text and text == text.strip()
        assert set(text) <= set(texts.LETTERS), text
        assert fold(text) and set(fold(text)) <= set(ALPHABET)


@pytest.mark.parametrize("kind", texts.KINDS)
def test_the_same_seed_draws_the_same_lines(kind):
    assert draws(kind, 20) == draws(kind, 20)
    assert draws(kind, 20) != draws(kind, 20, seed=2)


@pytest.mark.parametrize("kind", ["tyre_size", "tyre_other", "random"])
def test_most_lines_are_short_enough_for_a_strip(kind):
    assert np.mean([len(text) <= 30 for text in draws(kind)]) > 0.9


@pytest.mark.parametrize("size", textsizes.sizes(), ids=lambda size: str(size.bsd))
def test_every_name_means_its_diameter_by_the_sourced_tables(size):
    assert size.bsd in TABLES.bsds
    for name in size.inch:
        parts = [inches(part) for part in name.split(" x ")]
        texts_of = name.split(" x ")
        if len(parts) == 3:
            found = bsds(
                "inch_three",
                diameter_in=parts[0],
                height_in=parts[1],
                width_in=parts[2],
                height_text=texts_of[1],
                width_text=texts_of[2],
            )
        else:
            found = bsds(
                "inch_fraction",
                diameter_in=parts[0],
                width_in=parts[1],
                width_text=texts_of[1],
                code="",
            )
        assert size.bsd in found, name
    if size.french:
        number, letter = int(size.french[:-1]), size.french[-1]
        assert size.bsd in bsds("french", diameter_mm=number, width_mm=0, letter=letter)


@pytest.mark.parametrize("width", [w for w in textsizes.DECIMAL if w <= 76])
def test_printed_inches_stand_for_their_width_by_the_sourced_table(width):
    listed: dict[float, set[float]] = {}
    for row in TABLES.inch_rows:
        if row.style == "decimal":
            listed.setdefault(inches(row.text), set()).update({row.tyre_mm, row.also_mm} - {None})
    for text in textsizes.DECIMAL[width].split("|"):
        # the table skips a few prints (0.90, 1.00 on 23 mm); those it has must agree
        if float(text) in listed:
            assert min(abs(width - other) for other in listed[float(text)]) <= 3, text


def test_both_common_and_rare_sizes_are_drawn():
    rng = np.random.default_rng(5)
    drawn = Counter(textsizes.draw_size(rng)[0].bsd for _ in range(6000))
    assert set(drawn) == {size.bsd for size in textsizes.sizes()}
    assert drawn[622] > 8 * drawn[335]


def test_pairs_on_a_line_agree_with_a_listed_diameter():
    known = {size.bsd for size in textsizes.sizes()}
    found = [m for t in draws("tyre_size") for m in re.findall(r"\b\d{2,3} ?- ?(\d{2,3})\b", t)]
    assert len(found) > 200
    # '1-3/8' never ends in three digits, so every match is a pair
    assert {int(bsd) for bsd in found} <= known


def test_a_quarter_of_other_kinds_follow_no_grammar():
    shaped = re.compile(r"\d{2}-\d{3}$")
    assert np.mean([bool(shaped.match(text)) for text in draws("random", 1000)]) < 0.05


def test_no_invented_name_is_in_both_sets():
    train, held = names.names(), names.names(held_out=True)
    for field in ("makers", "models", "slogans", "rims", "places"):
        one, other = set(getattr(train, field)), set(getattr(held, field))
        assert one and other and not one & other
    total = sum(len(getattr(s, f)) for s in (train, held) for f in ("makers", "models", "rims"))
    assert total >= 100


def test_held_out_names_do_not_turn_up_in_training_lines():
    held = {word.upper() for word in names.names(held_out=True).models}
    lines = " ".join(draws("tyre_other", 800) + draws("tyre_size", 800)).upper()
    assert not [word for word in held if word in lines]


def test_an_unknown_kind_is_refused():
    with pytest.raises(KeyError):
        texts.draw_line(np.random.default_rng(0), "pedal")
