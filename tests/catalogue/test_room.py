"""Few large photos are in work at the same time, so that memory stays within bounds."""

import io
import threading
import time
from functools import partial

import pytest
from PIL import Image

from reader.catalogue.db.records import PhotoRef
from reader.catalogue.intake import room
from reader.catalogue.intake.jobs import Job, Outcome
from reader.catalogue.intake.workers import LocalCrew


def png(side: int) -> bytes:
    stream = io.BytesIO()
    Image.new("L", (side, side)).save(stream, "PNG")
    return stream.getvalue()


@pytest.fixture
def job(tmp_path, monkeypatch):
    """Makes a job of one photo; those of more than 100 x 100 pixels count as large."""
    monkeypatch.setattr(room, "LARGE", 10_000)

    def made(name: str, side: int) -> Job:
        path = tmp_path / name
        path.write_bytes(png(side) if side else b"no picture")
        return Job(name, (PhotoRef(name, str(path), name),))

    return made


def held(rooms: room.Room, some: list[Job]) -> int:
    """How many of the jobs get in while the others stay inside."""
    inside, leave = [], threading.Event()

    def enter(one: Job) -> None:
        with rooms.for_job(one):
            inside.append(one)
            leave.wait()

    threads = [threading.Thread(target=enter, args=[one]) for one in some]
    for thread in threads:
        thread.start()
    end = time.monotonic() + 1
    while len(inside) < len(some) and time.monotonic() < end:
        time.sleep(0.01)
    count = len(inside)
    leave.set()
    for thread in threads:
        thread.join()
    assert len(inside) == len(some), "everybody gets in at last"
    return count


def test_half_of_the_workers_read_large_photos_at_once(job) -> None:
    large = [job(f"{n}.png", 128) for n in range(3)]
    small = [job(f"s{n}.png", 64) for n in range(3)]
    broken = [job(f"b{n}.png", 0) for n in range(2)]
    assert held(room.Room(1), large) == 1
    assert held(room.Room(2), [*large, *small, *broken]) == 6
    assert held(room.Room(4), large) == 2


def slow(marks: str, job: Job) -> Outcome:
    began = time.monotonic()
    time.sleep(0.3)
    with open(marks, "a") as file:  # noqa: PTH123
        file.write(f"{began} {time.monotonic()}\n")
    return Outcome(None)


def test_workers_wait_for_each_other(job, tmp_path) -> None:
    crew = LocalCrew(partial(slow, str(tmp_path / "marks")), workers=2)
    for n in range(3):
        crew.submit(job(f"{n}.png", 128))
    while crew.busy():
        crew.finished()
    crew.close()
    spans = sorted(tuple(map(float, line.split())) for line in (tmp_path / "marks").open())
    assert len(spans) == 3
    assert all(end <= begin for (_, end), (begin, _) in zip(spans, spans[1:], strict=False))
