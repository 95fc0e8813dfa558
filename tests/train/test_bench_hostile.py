"""Hostile texts: near misses of real ones, and no command that breaks at them."""

import pytest

from reader.train.bench.hostile.__main__ import kept, write
from reader.train.bench.hostile.by_text import WAYS, into_command, real, texts
from reader.train.bench.hostile.rows import Row


def test_about_half_are_one_slip_from_a_real_text() -> None:
    printed = set(real("size"))

    def near(text: str) -> bool:
        shorter = {text[:at] + text[at + 1 :] for at in range(len(text))}
        return bool(shorter & cut) or text.strip(' "m') in printed or bool(shorter & printed)

    cut = {one[:at] + one[at + 1 :] for one in printed for at in range(len(one))} | printed
    made = texts("size", 400)
    assert made == texts("size", 400)
    assert 0.4 < sum(near(text) for text in made) / len(made) < 0.75


@pytest.mark.parametrize("name", WAYS)
def test_no_command_breaks_at_a_text(name, tmp_path) -> None:
    row = into_command(name, tmp_path, 12)
    assert row.tried == 12 and row.faults == []


def test_rows_are_written_one_by_one(tmp_path) -> None:
    out, order = tmp_path / "t.md", ["first", "second"]
    for name in reversed(order):
        write(out, Row(name, tried=3), order)
    assert list(kept(out)) == order and kept(out)["first"][1] == "3"
