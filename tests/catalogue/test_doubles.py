"""Parts that look like one are suggested, and a person's word counts them once."""

import cv2
import numpy as np
import pytest
import sqlalchemy as sa
from worn import jpeg, photographed, put, surface

from reader import catalogue as store
from reader.catalogue.db import schema
from reader.catalogue.query.tally import tally
from reader.errors import InputError
from reader.photo.likeness import ROWS, compare, look


@pytest.fixture
def twice(catalogue):
    """Part 1 in two folders, and eight others of its size."""
    one = put(catalogue, "a", jpeg(photographed(surface(1), 11)))
    other = put(catalogue, "b", jpeg(photographed(surface(1), 12)))
    for seed in range(2, 10):
        put(catalogue, f"c{seed}", jpeg(photographed(surface(seed), 20 + seed)))
    return catalogue, one, other


def test_the_same_surface_agrees_and_another_does_not():
    one, again = (look(photographed(surface(1), seed)) for seed in (11, 12))
    other = look(photographed(surface(2), 13))
    assert compare(one, again).score > 4 * compare(one, other).score + 10


def test_a_double_is_suggested_and_nothing_else(twice):
    catalogue, one, other = twice
    assert store.suggest(catalogue).pairs >= 1
    (pair,) = store.doubles(catalogue)
    assert {pair.part.code, pair.other.code} == {one, other}
    assert store.suggest(catalogue).pairs == 0  # all are compared


def test_parts_of_another_size_are_not_compared(catalogue):
    put(catalogue, "a", jpeg(photographed(surface(1), 11)))
    put(catalogue, "b", jpeg(photographed(surface(1), 12)), bsd=559)
    assert store.suggest(catalogue).pairs == 0


def test_said_to_be_the_same_it_counts_once_and_can_be_taken_back(twice):
    catalogue, one, other = twice
    store.suggest(catalogue)
    assert tally(catalogue)[0].expected == pytest.approx(9.9)
    told = store.say(catalogue, one, other, "same", "Ada")
    assert tally(catalogue)[0].expected == pytest.approx(8.91)
    assert not store.doubles(catalogue) and len(store.doubles(catalogue, settled=True)) == 1
    assert store.get_part(catalogue, told.gone).quantity == 0
    happened = [line["what"] for line in store.history(catalogue, one)]
    assert "same as" in happened
    store.say(catalogue, one, other, "different", "Ada")
    assert tally(catalogue)[0].expected == pytest.approx(9.9)
    assert store.suggest(catalogue).pairs == 0 and not store.doubles(catalogue)


def test_a_word_on_two_parts_survives_another_reading(twice):
    catalogue, one, other = twice
    store.suggest(catalogue)
    store.say(catalogue, one, other, "different")
    with catalogue.write() as connection:
        connection.execute(sa.update(schema.looks).values(compared=0))
    store.suggest(catalogue)
    assert not store.doubles(catalogue)


def test_pieces_come_back_as_many_as_they_were(twice):
    catalogue, one, other = twice
    for code in (one, other):
        store.change_part(catalogue, code, quantity=3)
    gone = store.say(catalogue, one, other, "same").gone
    store.say(catalogue, one, other, "same")  # said twice
    store.say(catalogue, one, other, "different")
    assert store.get_part(catalogue, gone).quantity == 3


def test_nonsense_is_refused(twice):
    catalogue, one, other = twice
    with pytest.raises(InputError, match="twice"):
        store.say(catalogue, one, one, "same")
    with pytest.raises(InputError, match="no word"):
        store.say(catalogue, one, other, "perhaps")


def test_both_pictures_stand_above_each_other(twice):
    catalogue, one, other = twice
    png = store.side_by_side(catalogue, one, other)
    shown = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert shown.shape[0] == 2 * (ROWS + 6)
