"""Uploads that may break off: photos come in pieces, each kept on disk, and go on where they were.

The phone names the upload by a random number of its own; all pieces of all its photos lie in one
folder until it says that they are all there.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import time
from pathlib import Path

from reader.web.readers import Busy
from reader.web.refusals import Refusal
from reader.web.settings import Limits
from reader.web.uploads import check_photo

NAME = re.compile(r"[0-9a-f-]{32,40}")
FORGOTTEN = 24 * 3600.0  # seconds after its last piece that an upload is thrown away


class Incoming:
    """The folder of uploads under way."""

    def __init__(self, folder: Path, limits: Limits) -> None:
        """Take over the folder; what nobody went on with for a day goes."""
        self._folder, self._limits = folder, limits
        for upload in folder.iterdir():
            if time.time() - upload.stat().st_mtime > FORGOTTEN:
                shutil.rmtree(upload, ignore_errors=True)

    def sizes(self, owner: str, name: str) -> list[int]:
        """Bytes that are here of each photo, in order."""
        return [path.stat().st_size for path in self.photos(owner, name)]

    def photos(self, owner: str, name: str) -> list[Path]:
        """The files of an upload, in order."""
        folder = self._place(owner, name)
        files = folder.iterdir() if folder.is_dir() else ()
        return sorted((path for path in files if path.name.isdigit()), key=lambda p: int(p.name))

    def add(self, owner: str, name: str, photo: int, at: int, piece: bytes) -> int:
        """Put a piece behind what is here; gives the bytes that are here then.

        A piece for another place changes nothing: the phone goes on from the number it gets.

        Raises:
            Refusal: too many photos, or too large ones.
            Busy: all uploads together take too much of the disk.
        """
        if not 0 <= photo < self._limits.photos:
            remedy = f"send {self._limits.photos} at most"
            raise Refusal(413, "too many photos of one part", remedy)
        folder = self._place(owner, name)
        path = folder / str(photo)
        here = path.stat().st_size if path.exists() else 0
        if at != here:
            return here
        head = piece[:64] if at == 0 else path.read_bytes()[:64]
        check_photo(head, here + len(piece), self._limits)
        if self.held() + len(piece) > self._limits.held_bytes:
            raise Busy
        folder.mkdir(mode=0o700, exist_ok=True)
        with path.open("ab") as file:
            file.write(piece)
        return here + len(piece)

    def held(self) -> int:
        """Bytes of all uploads under way."""
        return sum(path.stat().st_size for path in self._folder.glob("*/*"))

    def forget(self, owner: str, name: str) -> None:
        """Throw away what is left of an upload."""
        shutil.rmtree(self._place(owner, name), ignore_errors=True)

    def _place(self, owner: str, name: str) -> Path:
        if not NAME.fullmatch(name):
            raise Refusal(400, "this upload has no proper name", "send it again")
        seed = f"{owner}:{name}".encode()
        return self._folder / hashlib.blake2b(seed, digest_size=16).hexdigest()
