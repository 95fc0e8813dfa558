"""The private folder beside the catalogue: what must outlive a server that stops or is killed.

It holds the parts on the bench, uploads that are under way, and the secret that signs sessions. One
server uses it at a time; a second one on the same catalogue takes a folder beside it.
"""

from __future__ import annotations

import json
import os
import secrets
from pathlib import Path
from typing import IO, Any

from reader.errors import ServerError

SERVERS = 9  # on one catalogue at once


class Folder:
    """A folder that only this user can read, held by this server until `close`."""

    def __init__(self, where: Path) -> None:
        """Make it or take it over.

        Raises:
            ServerError: it can't be made, or too many servers run on this catalogue.
        """
        try:
            self.path, self._lock = _first_free(where)
        except OSError as error:
            message = f"the folder {where} can't be used ({error.strerror})"
            raise ServerError(
                message, "give the catalogue a folder that you may write to"
            ) from error

    def part(self, name: str) -> Path:
        """A folder inside, made if need be."""
        path = self.path / name
        path.mkdir(mode=0o700, exist_ok=True)
        return path

    def secret(self, anew: bool = False) -> str:
        """What signs sessions; with `anew` every phone must pair again."""
        path = self.path / "secret"
        if anew or not path.exists():
            write_whole(path, secrets.token_urlsafe(32).encode())
        return path.read_text(encoding="ascii")

    def close(self) -> None:
        """Let another server have it."""
        self._lock.close()


def _first_free(where: Path) -> tuple[Path, IO[bytes]]:
    for number in range(1, SERVERS + 1):
        path = where if number == 1 else where.with_name(f"{where.name}-{number}")
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle = (path / "lock").open("ab")
        if _locked(handle):
            return path, handle
        handle.close()
    raise ServerError(f"{SERVERS} servers use this catalogue already", "stop one of them")


def _locked(handle: IO[bytes]) -> bool:
    """Whether nobody else holds the file; the lock ends with the process, however it ends."""
    try:
        import fcntl
    except ImportError:  # Windows: two servers on one catalogue are not kept apart there
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there as a whole, or as it was before, whatever happens."""
    beside = path.with_name(f"{path.name}.new")
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
    with os.fdopen(os.open(beside, flags, 0o600), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


def read_json(path: Path) -> dict[str, Any]:
    """The object in a JSON file; empty if there is none or it is damaged."""
    try:
        found = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
