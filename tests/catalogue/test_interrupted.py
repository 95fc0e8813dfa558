"""Intakes that are killed, stopped, or run twice at once."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import fake_reader
import pytest

from reader.catalogue.db.canonical import dump
from reader.catalogue.db.store import open_catalogue
from reader.catalogue.intake.intake import take_in

# Of fake_reader, and of what it imports.
FOLDERS = [str(folder) for folder in Path(__file__).parents[:2]]
SCRIPT = """
import sys
sys.path[:0] = {tests!r}
import fake_reader
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path
from reader.catalogue.db.codes import code_of, qr_text
from reader.catalogue.intake.workers import LocalCrew
from reader.catalogue.intake.intake import take_in
from reader.catalogue.db.store import open_catalogue
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
    script.write_text(SCRIPT.format(tests=FOLDERS))
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
    take_in(whole, [root], fake_reader.Here())
    assert list(dump(open_catalogue(broken))) == list(dump(whole))


def test_two_processes_at_once_do_no_harm(url, make_bin, tmp_path) -> None:
    root = make_bin(12, 1)
    script = tmp_path / "run.py"
    script.write_text(SCRIPT.format(tests=FOLDERS))
    both = [start(script, url, root) for _ in range(2)]
    for process in both:
        _, errors = process.communicate(timeout=60)
        assert process.returncode == 0, errors.decode()
    whole = open_catalogue(tmp_path / "whole.sqlite")
    take_in(whole, [root], fake_reader.Here())
    assert list(dump(open_catalogue(url))) == list(dump(whole))
