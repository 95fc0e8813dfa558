"""How every command ends: an exit status, and one line where something went wrong."""

from __future__ import annotations

import errno
import os
import platform
import re
import sys
import tempfile
import traceback
from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib.metadata import PackageNotFoundError, version

from reader.errors import ExitCode, ReaderError
from reader.language import said

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO, errno.ENXIO}
_LIBRARIES = ("numpy", "opencv-python-headless", "pillow", "pi-heif", "onnxruntime", "SQLAlchemy")
_SECRET_OPTIONS = ("--code",)
_PASSWORD = re.compile(r"(://[^:/@\s]*:)[^@\s]+@")


def ended(run: Callable[[], object]) -> int:
    """Run a command to its end and say in one line what went wrong, if anything did.

    Returns:
        The exit status.
    """
    try:
        status = _status(run)
        if sys.stdout is not None:
            sys.stdout.flush()  # now, as nobody hears of a full disk when Python ends
        return status
    except ReaderError as error:
        _say(told(error))
        return int(error.exit_code)
    except KeyboardInterrupt:
        return int(ExitCode.STOPPED)
    except BrokenPipeError:  # whoever read along has seen enough
        _mute()
        return int(ExitCode.OK)
    except Exception as error:
        if isinstance(error, OSError) and error.errno in _NO_ROOM:
            _mute()
            where, why = error.filename, error.strerror
            what = said(f"can't write to {where} ({why})" if where else f"can't write ({why})")
            _say(f"{what}: {said('make room, or write elsewhere')}")
            return int(ExitCode.OUTPUT)
        _say(_reported(error))
        return int(ExitCode.INTERNAL)


def told(error: ReaderError) -> str:
    """What is wrong and what to do, in the language in use."""
    return ": ".join(said(text) for text in (error.message, error.remedy) if text)


def _status(run: Callable[[], object]) -> int:
    try:
        run()
    except SystemExit as ending:
        if isinstance(ending.__context__, BrokenPipeError):  # the library makes it a failure
            raise ending.__context__ from None
        if isinstance(ending.code, str):
            _say(ending.code)
            return 1
        return ending.code or 0
    return 0


def _say(text: str) -> None:
    """One line on stderr, whatever the text holds."""
    with suppress(OSError, ValueError, AttributeError):
        print(f"tyremark: {' '.join(text.split())}", file=sys.stderr, flush=True)


def _mute() -> None:
    """What is still to be written goes nowhere, so that Python's own end is silent."""
    with suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.close(nowhere)


def _reported(error: Exception) -> str:
    """Write the report; the line that tells of it."""
    what = said(f"a fault of its own ({type(error).__name__})")
    try:
        handle, path = tempfile.mkstemp(prefix="tyremark-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(report(error, sys.argv[1:]))
    except OSError:
        return f"{what}, {said('and no report could be written: make room, then try again')}"
    send = said(f"send the report {path} to whoever looks after tyremark; no photo is in it")
    return f"{what}: {send}"


def report(error: BaseException, words: Sequence[str]) -> str:
    """Versions, command and traceback; no photo, no pairing code, no password."""
    hidden = {
        word
        for option in _SECRET_OPTIONS
        for place, word in enumerate(words[1:])
        if words[place] == option
    } | {word.split("=", 1)[1] for word in words if word.startswith("--code=")}
    lines = [
        f"tyremark {_version('tyremark')}, Python {platform.python_version()}, "
        f"{platform.platform()}",
        *(f"{library} {_version(library)}" for library in _LIBRARIES),
        f"command: {' '.join(words)}",
        "",
        *traceback.format_exception(error),
    ]
    text = "\n".join(line.rstrip("\n") for line in lines) + "\n"
    for secret in sorted(hidden - {""}, key=len, reverse=True):
        text = text.replace(secret, "…")
    return _PASSWORD.sub(r"\1…@", text)


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"
