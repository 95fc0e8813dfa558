"""Commands under watch: as a process with all below it, or inside this one."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Sequence
from functools import cache
from typing import Any

from reader.errors import ReaderError
from reader.train.bench.hostile.rows import Row, tree_mb

COMMAND = [sys.executable, "-c", "from reader.cli import main; main()"]


def watched(words: Sequence[str], row: Row) -> tuple[int, str, str]:
    """Run a command; status, output, errors. Its memory goes into the row."""
    process = subprocess.Popen([*COMMAND, *words], stdout=-1, stderr=-1)
    done = threading.Event()

    def watch() -> None:
        while not done.wait(0.1):
            row.most_mb = max(row.most_mb, tree_mb(process.pid))

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    out, errors = process.communicate()
    done.set()
    watcher.join()
    texts = [text.decode("utf-8", "replace") for text in (out, errors)]
    if process.returncode < 0 or "Traceback" in texts[0] + texts[1] or process.returncode == 70:
        row.faults.append(f"{words[0]}: status {process.returncode}, {texts[1][-300:]}")
    return process.returncode, texts[0], texts[1]


def in_process(words: Sequence[str], row: Row) -> None:
    """A command inside this process; any end but an answer or a one-line error is a fault."""
    row.tried += 1
    result = _runner().invoke(_command(), list(words))
    error = result.exception
    if error is None or isinstance(error, SystemExit):
        if result.exit_code in (0, 1):
            row.fine += 1
        elif result.exit_code == 2:  # the command line's own refusal, with usage
            row.refused += 1
        else:
            row.faults.append(f"{words[0]} {words[-1]!r}: status {result.exit_code}")
    elif isinstance(error, ReaderError):
        row.refused += 1
        if not error.remedy or len(f"{error}".splitlines()) > 1:
            row.faults.append(f"{words[0]} {words[1:3]!r}: {error}")
    else:
        row.faults.append(f"{words[0]} {words[1:3]!r}: {type(error).__name__}: {error}"[:300])


@cache
def _runner() -> Any:
    from click.testing import CliRunner

    return CliRunner()


@cache
def _command() -> Any:
    import typer

    from reader.cli import app

    return typer.main.get_command(app)
