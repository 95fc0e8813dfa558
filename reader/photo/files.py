"""Opening a photo's file without looking into it: what is no plain file is refused."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import blake2b
from pathlib import Path
from typing import IO
from unicodedata import category

from reader.errors import PhotoError
from reader.photo.formats import NAMES

LARGEST_FILE = 600 * 2**20  # 50 million pixels of 16-bit RGBA, uncompressed, are 400 MB
CHUNK = 1 << 20
OPEN_UP = "change its permissions or copy it"
SAVE_AS = f"save it as {NAMES} and try again"


def printable(name: str) -> str:
    """The name fit for a one-line message; of a long one the end stays, where a file's name is.

    >>> print(printable("two\\nlines of Zürich.jpg"))
    two\\nlines of Zürich.jpg
    """
    name = "".join(letter if _is_plain(letter) else ascii(letter)[1:-1] for letter in name)
    return name if len(name) <= 200 else f"{name[:60]}…{name[-100:]}"


def _is_plain(letter: str) -> bool:
    return letter.isprintable() or category(letter) == "Zs"  # wide and narrow spaces are no harm


def is_folder(path: Path) -> bool:
    """Whether there is a folder; never raises, whatever the name."""
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def open_file(path: Path, name: str) -> IO[bytes]:
    """The file opened for reading; pipes and devices are refused before they could block.

    Raises:
        PhotoError: it is not there, may not be read, is no plain file, is empty or far too large.
    """
    status_of(path, name)
    with _told(name):
        return path.open("rb")


def status_of(path: Path, name: str) -> os.stat_result:
    """The file's entry on the disk, if it can be a photo.

    Raises:
        PhotoError: as `open_file`, but for the right to read it.
    """
    with _told(name):
        status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        if not os.access(path, os.R_OK | os.X_OK):
            raise PhotoError(f"the folder {name} may not be read", OPEN_UP)
        raise PhotoError(f"{name} is a folder", "name the photos in it, or use the bulk command")
    if not stat.S_ISREG(status.st_mode):
        raise PhotoError(f"{name} is a device or a pipe", "save the photo as a file first")
    refuse_by_length(status.st_size, name)
    return status


@contextmanager
def _told(name: str) -> Iterator[None]:
    """What the system says, in the user's words."""
    try:
        yield
    except FileNotFoundError as error:
        raise PhotoError(f"{name} does not exist", "check the spelling and the folder") from error
    except PermissionError as error:
        raise PhotoError(f"{name} may not be read", OPEN_UP) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise PhotoError(f"{name} can't be opened ({reason})", "check the path") from error


def refuse_by_length(length: int, name: str) -> None:
    """Refuse what holds nothing, or more than any photo.

    Raises:
        PhotoError: empty, or more than `LARGEST_FILE` bytes.
    """
    if length == 0:
        raise PhotoError(f"{name} is empty", "copy or take the photo again")
    if length > LARGEST_FILE:
        raise PhotoError(f"{name} has {length / 2**20:.0f} MB, too much for a photo", SAVE_AS)


def digest(path: Path, name: str) -> str:
    """BLAKE2b (160 bits, hex) of a file's bytes.

    Args:
        path: the file.
        name: for messages, printable.

    Raises:
        PhotoError: it can't be opened or read to its end.
    """
    state = blake2b(digest_size=20)
    with open_file(path, name) as file:
        try:
            while block := file.read(CHUNK):
                state.update(block)
        except OSError as error:
            reason = f"{name} can't be read ({error.strerror})"
            raise PhotoError(reason, "check the disk, or copy the photo again") from error
    return state.hexdigest()
