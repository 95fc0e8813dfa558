import numpy as np
import pytest

from reader.train.render.sheet import UNIT, Look, draw_sheet
from reader.train.render.texts import draw_line


def ink_in(sheet, item):
    """Share of an item's box that is lettered."""
    length, breadth = sheet.size
    left, right = sorted((item.start, item.end))
    rows = slice(
        round((item.middle - item.cap / 2 + breadth / 2) * UNIT),
        round((item.middle + item.cap / 2 + breadth / 2) * UNIT),
    )
    columns = slice(round((left + length / 2) * UNIT), round((right + length / 2) * UNIT))
    return (np.maximum(sheet.relief, sheet.ink)[rows, columns] > 127).mean()


@pytest.mark.parametrize("kind", range(5))
def test_every_item_stands_where_the_sheet_says(fonts, kind):
    rng = np.random.default_rng(kind)
    look = Look(kind, ornaments=0.0, density=0.9)
    sheets = [draw_sheet(rng, 60, 8, look, fonts, draw_line) for _ in range(3)]
    items = [(sheet, item) for sheet in sheets for item in sheet.items]
    assert len(items) > 5
    for sheet, item in items:
        assert 0.05 < ink_in(sheet, item) < 0.9, item
        half_length, half_breadth = (side / 2 for side in sheet.size)
        assert max(abs(item.start), abs(item.end)) <= half_length
        assert abs(item.middle) + item.cap / 2 <= half_breadth


def test_text_that_stands_upside_down_runs_backwards(fonts):
    rng = np.random.default_rng(11)
    items = [
        item for _ in range(6) for item in draw_sheet(rng, 60, 8, Look(0), fonts, draw_line).items
    ]
    backwards = sum(item.end < item.start for item in items)
    assert 0 < backwards < len(items)


def test_ornaments_keep_off_the_lettering(fonts):
    plain = draw_sheet(np.random.default_rng(2), 50, 7, Look(0, ornaments=0), fonts, draw_line)
    busy = draw_sheet(np.random.default_rng(2), 50, 7, Look(0, ornaments=1), fonts, draw_line)
    lettered = plain.relief > 0
    assert plain.items == busy.items
    assert (busy.relief != plain.relief).any() or (busy.ink != plain.ink).any()
    changed = (busy.relief != plain.relief)[lettered].mean()
    assert changed < 0.02
