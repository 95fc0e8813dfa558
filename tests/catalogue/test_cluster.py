import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import cv2
import fake_reader
import pytest

from reader.catalogue.db.canonical import dump
from reader.catalogue.db.store import open_catalogue
from reader.catalogue.intake.cluster import ClusterCrew, on_one_core
from reader.catalogue.intake.intake import take_in
from reader.catalogue.intake.workers import LocalCrew
from reader.errors import ServerError
from reader.ocr import stamp
from reader.processes import ONE_THREAD


def threads(job: object) -> tuple[str, int]:
    return os.environ["TYREMARK_THREADS"], cv2.getNumThreads()


def test_a_worker_reads_on_one_core(monkeypatch) -> None:
    """As the processes of one machine do; sums over several cores round otherwise."""
    for name in ONE_THREAD:
        monkeypatch.setenv(name, "7")
    before = cv2.getNumThreads()
    try:
        assert on_one_core(threads, None) == ("1", 1)
    finally:
        cv2.setNumThreads(before)


class Cluster:
    """A scheduler and workers as processes of this machine."""

    def __init__(self) -> None:
        folders = map(str, Path(__file__).parents[:2])  # of fake_reader, and of what it imports
        path = os.pathsep.join([*folders, os.environ.get("PYTHONPATH", "")])
        self.env = {**os.environ, "PYTHONPATH": path, "FAKE_DELAY": "0.1"}
        self.processes: list[subprocess.Popen[str]] = []
        command = ["scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
        self.address = self._start(command, r"Scheduler at:\s+(tcp://\S+)")

    def _start(self, arguments: list[str], wanted: str) -> str:
        command = [sys.executable, "-m", "dask", *arguments]
        process = subprocess.Popen(
            command, env=self.env, stderr=subprocess.PIPE, text=True, stdout=subprocess.DEVNULL
        )
        self.processes.append(process)
        assert process.stderr is not None
        for line in process.stderr:
            found = re.search(wanted, line)
            if found:
                threading.Thread(target=process.stderr.read, daemon=True).start()
                return found[1]
        raise AssertionError(f"{arguments} did not start")

    def add_worker(self) -> "subprocess.Popen[str]":
        options = ["--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1"]
        self._start(["worker", self.address, *options], r"Registered to:\s+(tcp://\S+)")
        return self.processes[-1]

    def stop(self) -> None:
        for process in self.processes:
            process.kill()
            process.wait()


@pytest.fixture
def cluster() -> Iterator[Cluster]:
    made = Cluster()
    yield made
    made.stop()


def test_same_result_though_a_worker_is_killed(cluster, make_bin, tmp_path) -> None:
    workers = [cluster.add_worker() for _ in range(3)]
    root = make_bin(24, 2)
    spread = open_catalogue(tmp_path / "cluster.sqlite")

    def kill_one(tally) -> None:
        if tally.parts == 3 and workers[0].poll() is None:
            os.kill(workers[0].pid, signal.SIGKILL)

    tally = take_in(
        spread, [root], lambda: ClusterCrew(fake_reader.read, cluster.address), report=kill_one
    )
    assert workers[0].wait(5) == -signal.SIGKILL
    assert (tally.parts, tally.failed) == (24, [])
    alone = open_catalogue(tmp_path / "alone.sqlite")
    take_in(alone, [root], lambda: LocalCrew(fake_reader.read, 1))
    assert list(dump(spread)) == list(dump(alone))


def test_workers_that_see_the_folder_read_it_themselves(cluster, make_bin, tmp_path) -> None:
    cluster.add_worker()
    root = make_bin(4)
    here = open_catalogue(tmp_path / "here.db")
    take_in(here, [root], lambda: LocalCrew(fake_reader.read, 1))
    spread = open_catalogue(tmp_path / "spread.db")
    crew = ClusterCrew(fake_reader.read, cluster.address, shared=[root])
    sent: list[object] = []
    submit = crew._client.submit
    crew._client.submit = lambda *words, **more: (sent.append(words[2]), submit(*words, **more))[1]
    take_in(spread, [root], lambda: crew)
    assert list(dump(spread)) == list(dump(here))
    assert sent and not any(job.contents for job in sent)


def test_a_folder_that_workers_do_not_see_is_told(cluster, tmp_path) -> None:
    cluster.add_worker()
    with pytest.raises(ServerError, match="does not see"):
        ClusterCrew(fake_reader.read, cluster.address, shared=[tmp_path / "nowhere"])


def test_lost_cluster_keeps_what_was_read(cluster, make_bin, tmp_path) -> None:
    cluster.add_worker()
    catalogue = open_catalogue(tmp_path / "parts.sqlite")

    def stop_all(tally) -> None:
        if tally.parts == 2:
            cluster.stop()
            time.sleep(0.5)

    with pytest.raises(ServerError, match="was lost"):
        take_in(
            catalogue,
            [make_bin(12, 1)],
            lambda: ClusterCrew(fake_reader.read, cluster.address),
            report=stop_all,
        )
    assert sum('"table": "parts"' in line for line in dump(catalogue)) >= 2


def test_a_killed_scheduler_is_one_line_and_exit_status_7(cluster, make_bin, tmp_path) -> None:
    cluster.add_worker()
    root, where = make_bin(30, 1), tmp_path / "parts.sqlite"
    program = (
        "import fake_reader; from reader.cli import bin_run, main; "
        "bin_run.READ = fake_reader.read; main()"
    )
    command = [sys.executable, "-c", program, "bin", str(root), "--catalogue", str(where)]
    run = subprocess.Popen(
        [*command, "--cluster", cluster.address],
        env=cluster.env,
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    for _ in range(600):
        if where.exists() and len(list(dump(open_catalogue(where)))) > 120:
            break
        time.sleep(0.05)
    cluster.processes[0].kill()
    _, errors = run.communicate(timeout=60)
    assert run.returncode == 7, errors
    assert errors.count("\n") == 1 and "run the same command again" in errors, errors
    take_in(open_catalogue(where), [root], lambda: LocalCrew(fake_reader.read, 1))
    whole = open_catalogue(tmp_path / "whole.sqlite")
    take_in(whole, [root], fake_reader.Here())
    assert list(dump(open_catalogue(where))) == list(dump(whole))


def test_a_worker_with_another_library_is_refused(cluster, monkeypatch) -> None:
    cluster.add_worker()
    here = {**stamp.stamp(("moulded",)), "numpy": "0.1"}
    monkeypatch.setattr(stamp, "_stamp", lambda _: here)  # here only, not at the worker
    with pytest.raises(ServerError, match="numpy .* instead of 0.1: install the same there"):
        ClusterCrew(fake_reader.read, cluster.address, ("moulded",))


def test_no_workers(cluster) -> None:
    with pytest.raises(ServerError, match="has no workers"):
        ClusterCrew(fake_reader.read, cluster.address)


def test_nobody_answers(monkeypatch) -> None:
    monkeypatch.setattr("reader.catalogue.intake.cluster.PATIENCE", 0.5)
    with pytest.raises(ServerError, match="no cluster answers"):
        ClusterCrew(fake_reader.read, "tcp://127.0.0.1:1")
