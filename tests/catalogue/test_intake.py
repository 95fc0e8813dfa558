import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import fake_reader
import pytest
import sqlalchemy as sa

from reader.catalogue import schema
from reader.catalogue.canonical import dump
from reader.catalogue.crew import DIED, LocalCrew
from reader.catalogue.intake import Choices, failed_photos, take_in
from reader.catalogue.jobs import Job, Outcome
from reader.catalogue.store import Catalogue, open_catalogue
from reader.errors import InputError


class Here:
    """Reads in this process and counts what it was asked."""

    def __init__(self) -> None:
        self.jobs: list[Job] = []
        self._done: list[tuple[Job, Outcome]] = []
        self.most = 0

    def __call__(self) -> "Here":
        return self

    def has_room(self) -> bool:
        return len(self._done) < 3

    def busy(self) -> bool:
        return bool(self._done)

    def submit(self, job: Job) -> None:
        self.jobs.append(job)
        self._done.append((job, fake_reader.read(job)))
        self.most = max(self.most, len(self._done))

    def finished(self) -> list[tuple[Job, Outcome]]:
        return [self._done.pop()]  # newest first: the order must not matter

    def close(self, stop: bool = False) -> None:
        self._done.clear()


def count(catalogue: Catalogue, table: sa.Table) -> int:
    with catalogue.read() as connection:
        return int(connection.scalar(sa.select(sa.func.count()).select_from(table)) or 0)


def test_reads_each_part_once(catalogue, make_bin) -> None:
    root, crew = make_bin(5, 3), Here()
    tally = take_in(catalogue, [root], crew)
    assert (tally.parts, tally.photos_done, len(crew.jobs)) == (5, 15, 5)
    assert count(catalogue, schema.parts) == 5 and count(catalogue, schema.photos) == 15
    second = take_in(catalogue, [root], crew)
    assert (second.parts, second.parts_known, len(crew.jobs)) == (0, 5, 5)


def test_queue_is_bounded(file_catalogue, make_bin) -> None:
    crew = Here()
    take_in(file_catalogue, [make_bin(20, 1)], crew)
    assert crew.most <= 3


def test_changed_photo_is_read_again(catalogue, make_bin) -> None:
    root, crew = make_bin(3, 2), Here()
    take_in(catalogue, [root], crew)
    (root / "part 001" / "0.jpg").write_bytes(b"another picture")
    tally = take_in(catalogue, [root], crew)
    assert (tally.parts, tally.parts_known, len(crew.jobs)) == (1, 2, 4)
    assert count(catalogue, schema.parts) == 3, "the part stays the same part"
    with catalogue.read() as connection:
        states = sa.select(schema.photos.c.state).order_by(schema.photos.c.state)
        assert list(connection.scalars(states)).count("replaced") == 1
        assert count(catalogue, schema.readings) == 4, "the old reading is kept"


def test_new_photo_joins_its_part(catalogue, make_bin) -> None:
    root, crew = make_bin(2, 1), Here()
    take_in(catalogue, [root], crew)
    (root / "part 000" / "later.jpg").write_bytes(b"a second look")
    take_in(catalogue, [root], crew)
    assert count(catalogue, schema.parts) == 2
    assert len(crew.jobs[-1].photos) == 2, "all photos of the part are read together"


def test_same_photo_twice_is_recognised(catalogue, make_bin) -> None:
    root, crew = make_bin(2, 1), Here()
    shutil.copytree(root / "part 000", root / "part 999")
    tally = take_in(catalogue, [root], crew)
    assert tally.parts == 2 and len(tally.same) == 1
    assert "part 000" in tally.same[0].reason
    later = take_in(catalogue, [root], crew)
    assert (later.parts, len(later.same)) == (0, 1)


def test_moved_folder_is_the_same_parts(catalogue, make_bin) -> None:
    root, crew = make_bin(3, 2), Here()
    take_in(catalogue, [root], crew)
    moved = root.rename(root.with_name("bin B"))
    tally = take_in(catalogue, [moved], crew)
    assert (tally.parts, tally.parts_known, tally.same) == (0, 3, [])
    with catalogue.read() as connection:
        assert all("bin B" in path for path in connection.scalars(sa.select(schema.photos.c.path)))


def test_bad_photo_is_listed_and_stops_nothing(catalogue, make_bin) -> None:
    root, crew = make_bin(3, 2), Here()
    (root / "part 000" / "0.jpg").write_bytes(b"BAD")
    (root / "part 001" / "0.jpg").write_bytes(b"BAD 1")
    (root / "part 001" / "1.jpg").write_bytes(b"BAD 2")
    (root / "part 002" / "2.jpg").write_bytes(b"")
    (root / "part 002" / "3.jpg").symlink_to("nowhere")
    tally = take_in(catalogue, [root], crew)
    assert [Path(f.path).name for f in tally.failed] == ["0.jpg", "0.jpg", "1.jpg"]
    assert {left.reason.split(" (")[0] for left in tally.left_out} == {
        "the file is empty",
        "can't be opened",
    }
    assert tally.parts == 3
    assert take_in(catalogue, [root], crew).parts == 0, "a bad photo is not tried again"
    assert len(failed_photos(catalogue, [root])) == 3
    (root / "part 001" / "0.jpg").write_bytes(b"good now")
    assert take_in(catalogue, [root], crew).parts == 1
    assert len(failed_photos(catalogue)) == 2


def test_missing_folder(file_catalogue, tmp_path) -> None:
    with pytest.raises(InputError, match="does not exist"):
        take_in(file_catalogue, [tmp_path / "nowhere"], Here())


def test_workers_and_order_do_not_matter(make_bin, tmp_path) -> None:
    root = make_bin(9, 2)
    dumps = []
    for workers in (1, 3):
        catalogue = open_catalogue(tmp_path / f"{workers}.sqlite")
        take_in(catalogue, [root], lambda workers=workers: LocalCrew(fake_reader.read, workers))
        dumps.append("\n".join(dump(catalogue)))
    catalogue = open_catalogue(tmp_path / "here.sqlite")
    take_in(catalogue, [root], Here())
    assert dumps[0] == dumps[1] == "\n".join(dump(catalogue))


def test_worker_that_dies_costs_one_part(file_catalogue, make_bin) -> None:
    root = make_bin(6, 1)
    (root / "part 003" / "0.jpg").write_bytes(b"KILL")
    tally = take_in(file_catalogue, [root], lambda: LocalCrew(fake_reader.read, 2))
    assert tally.parts == 6
    assert [(Path(f.path).parent.name, f.reason) for f in tally.failed] == [("part 003", DIED)]


SCRIPT = """
import sys
sys.path.insert(0, {tests!r})
import fake_reader
from pathlib import Path
from reader.catalogue.crew import LocalCrew
from reader.catalogue.intake import take_in
from reader.catalogue.store import open_catalogue
if __name__ == "__main__":
    c = open_catalogue(sys.argv[1])
    print("go", flush=True)
    take_in(c, [Path(sys.argv[2])], lambda: LocalCrew(fake_reader.read, 2))
"""


def start(script: Path, catalogue: Path, root: Path) -> "subprocess.Popen[bytes]":
    env = {**os.environ, "FAKE_DELAY": "0.02"}
    command = [sys.executable, str(script), str(catalogue), str(root)]
    return subprocess.Popen(
        command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )


def children_gone(process: "subprocess.Popen[bytes]") -> bool:
    listing = subprocess.run(["ps", "-eo", "sess="], capture_output=True, text=True).stdout
    return str(process.pid) not in listing.split()


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_killed_at_random_gives_the_same_catalogue(how, make_bin, tmp_path) -> None:
    root = make_bin(40, 2)
    script = tmp_path / "run.py"
    script.write_text(SCRIPT.format(tests=str(Path(__file__).parent)))
    broken = tmp_path / "broken.sqlite"
    for delay in (0.0, 0.3, 0.5, 0.7):
        process = start(script, broken, root)
        process.stdout.readline()
        time.sleep(delay)
        os.kill(process.pid, how)
        process.wait(20)
        for _ in range(100):
            if children_gone(process):
                break
            time.sleep(0.05)
        assert children_gone(process), "no worker is left behind"
    process = start(script, broken, root)
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 0, errors.decode()
    whole = open_catalogue(tmp_path / "whole.sqlite")
    take_in(whole, [root], Here())
    assert list(dump(open_catalogue(broken))) == list(dump(whole))


def test_two_processes_at_once_do_no_harm(url, make_bin, tmp_path) -> None:
    root = make_bin(12, 1)
    script = tmp_path / "run.py"
    script.write_text(SCRIPT.format(tests=str(Path(__file__).parent)))
    both = [start(script, url, root) for _ in range(2)]
    for process in both:
        _, errors = process.communicate(timeout=60)
        assert process.returncode == 0, errors.decode()
    whole = open_catalogue(tmp_path / "whole.sqlite")
    take_in(whole, [root], Here())
    assert list(dump(open_catalogue(url))) == list(dump(whole))


def test_failed_photo_is_tried_again_when_asked(file_catalogue, make_bin, monkeypatch) -> None:
    root, crew = make_bin(3, 1), Here()
    right = fake_reader.read
    monkeypatch.setattr(
        fake_reader,
        "read",
        lambda job: Outcome(None, {p.digest: "broken" for p in job.photos}),
    )
    assert len(take_in(file_catalogue, [root], crew).failed) == 3
    monkeypatch.setattr(fake_reader, "read", right)
    assert take_in(file_catalogue, [root], crew).parts == 0
    mended = take_in(file_catalogue, [root], crew, Choices(retry=True))
    assert (mended.parts, mended.failed) == (3, [])
    with file_catalogue.read() as connection:
        assert set(connection.scalars(sa.select(schema.parts.c.state))) == {"open"}
    assert take_in(file_catalogue, [root], crew, Choices(retry=True)).parts == 0


def test_forced_again_reads_once_more(file_catalogue, make_bin) -> None:
    root, crew = make_bin(2, 1), Here()
    take_in(file_catalogue, [root], crew)
    take_in(file_catalogue, [root], crew, Choices(again=True))
    assert len(crew.jobs) == 4 and count(file_catalogue, schema.parts) == 2
