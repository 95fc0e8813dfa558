"""Few large photos are in work at the same time, so that memory stays within bounds."""

import io
from contextlib import ExitStack

import pytest
from PIL import Image

from reader.catalogue.intake import room


class Door:
    """Counts who is inside."""

    inside = most = 0

    def __enter__(self):
        self.inside += 1
        self.most = max(self.most, self.inside)

    def __exit__(self, *_):
        self.inside -= 1


@pytest.fixture
def door(monkeypatch):
    monkeypatch.setattr(room, "LARGE", 10_000)
    monkeypatch.setattr(room, "_few", None)
    room.share(made := Door())
    return made


def png(side: int) -> bytes:
    stream = io.BytesIO()
    Image.new("L", (side, side)).save(stream, "PNG")
    return stream.getvalue()


def test_a_large_photo_waits_and_holds_its_place_until_its_part_is_read(door) -> None:
    with ExitStack() as held:
        room.wait(held, png(64), "small")
        assert door.inside == 0
        room.wait(held, png(128), "large")
        assert door.inside == 1
        room.wait(held, png(128), "the same part's second")
        assert door.inside == door.most == 1, "one part never waits for itself"
    assert door.inside == 0
    with ExitStack() as held:
        room.wait(held, png(128), "the next part")
        assert door.inside == 1


def test_half_of_the_workers_may_read_large_photos() -> None:
    assert [room.at_once(workers) for workers in (1, 2, 3, 8)] == [1, 1, 1, 4]
