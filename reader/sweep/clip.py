"""Clips and animated pictures as frames, decoded in a guarded process of their own.

MP4 and MOV with H.264, HEVC or AV1, WebM with VP8, VP9 or AV1, animated WebP and HEIC files with
several pictures; upright by their rotation flag, at variable frame rates as well.
"""

from __future__ import annotations

import contextlib
import io
import json
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import numpy as np

from reader.errors import EngineError, PhotoError
from reader.language import N_
from reader.photo.formats import HEAD, format_of, is_animated, is_video
from reader.photo.heic import pictures
from reader.processes import decoder, end
from reader.records import PartKind, Pixels

LONGEST = 30.0  # seconds looked at
LOOKS = 30  # frames chosen of a clip
BURST = 6  # photos of one part from which they are read as a sweep
LARGEST_FILE = 600 * 2**20
SECONDS = 90.0  # for decoding; half a minute at 3840 x 2160 took 40 on one core
PATIENCE = 30.0  # seconds without a frame
REMEDY = N_("film the marking again with the phone's own camera, two to six seconds")
SAVE_AS = N_("save it as MP4 with H.264, or photograph the marking")


@dataclass(frozen=True, eq=False)
class Frame:
    """One chosen frame: RGB, upright, and when it was taken, seconds from the beginning."""

    pixels: Pixels
    seconds: float


def is_clip(source: Path | bytes) -> bool:
    """Whether a file is a video, an animated WebP, a sequence of HEIC's or a burst in one HEIC.

    Nothing is decoded; what can't be opened is no clip.
    """
    head = _head(source)
    return is_video(head) or is_animated(head) or _is_burst(source, head)


def _is_burst(source: Path | bytes, head: bytes) -> bool:
    kind = format_of(head)
    if kind is None or kind.decoder != "HEIF":
        return False
    try:
        with source.open("rb") if isinstance(source, Path) else io.BytesIO(source) as stream:
            size = source.stat().st_size if isinstance(source, Path) else len(source)
            return pictures(stream, size) >= BURST
    except OSError:
        return False


def _head(source: Path | bytes) -> bytes:
    if not isinstance(source, Path):
        return bytes(source[:HEAD])
    try:
        if not source.is_file():
            return b""
        with source.open("rb") as stream:
            return stream.read(HEAD)
    except OSError:
        return b""


class Clip:
    """One file's chosen frames.

    After they were iterated `notes` say what was left out, and `error` why there were none.
    """

    def __init__(
        self,
        source: Path | bytes,
        name: str = "",
        part: PartKind = "unknown",
        looks: int = LOOKS,
    ) -> None:
        """`source` a file or its content, `name` how errors call it, `looks` frames wanted."""
        self._source = source
        self.name = name or (str(source) if isinstance(source, Path) else "clip")
        self.part = part
        self._looks = looks
        self.notes: list[str] = []
        self.error: PhotoError | None = None

    def __iter__(self) -> Iterator[Frame]:
        """The frames.

        Raises:
            PhotoError: the file is none of the formats above, empty, damaged before its first
                frame, too large, or takes too long.
            EngineError: the decoding process can't be started.
        """
        with contextlib.ExitStack() as stack:
            path = self._path(stack)
            yield from self._decoded(path)

    def _path(self, stack: contextlib.ExitStack) -> Path:
        source, name = self._source, self.name
        head = _head(source)
        size = source.stat().st_size if isinstance(source, Path) and head else len(head)
        if not isinstance(source, Path):
            size = len(source)
        if not size:
            raise PhotoError(f"{name} is empty or can't be opened", "check the path, copy it again")
        if size > LARGEST_FILE:
            raise PhotoError(f"{name} has {size / 2**20:.0f} MB, too much for a clip", REMEDY)
        self._animated = is_animated(head) or _is_burst(source, head)
        if not (is_video(head) or self._animated):
            raise PhotoError(f"{name} is no clip of a known format", SAVE_AS)
        if isinstance(source, Path):
            return source.resolve()
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="tyremark-")))
        file = folder / "clip"
        file.write_bytes(source)
        return file

    def _decoded(self, path: Path) -> Iterator[Frame]:
        process = _started()
        late = threading.Event()
        clock = _Clock(process, late)
        given = 0
        try:
            assert process.stdin is not None and process.stdout is not None
            request = {
                "path": str(path), "animated": self._animated, "looks": self._looks,
                "seconds": LONGEST,
            }  # fmt: skip
            process.stdin.write(json.dumps(request).encode() + b"\n")
            process.stdin.flush()
            while True:
                with clock.waiting():
                    answer = json.loads(process.stdout.readline() or b"null")
                    frame = _frame(process.stdout, answer)
                if frame is None:
                    break
                given += 1
                yield frame
            self._check_end(answer, given, late.is_set())
        except (OSError, EOFError, ValueError, KeyError) as error:
            raise self._explained(late.is_set()) from error
        finally:
            end(process)

    def _check_end(self, answer: Any, given: int, late: bool) -> None:
        if not isinstance(answer, dict):
            if not given or late:
                raise self._explained(late)
            self.notes.append(N_(f"{self.name} is damaged: only its beginning was read."))
            return
        if error := answer.get("error"):
            if error == "damaged" and given:
                self.notes.append(N_(f"{self.name} is damaged: only its beginning was read."))
                return
            raise self._refusal(error, answer)
        if not given:
            raise PhotoError(f"{self.name} has no picture in it, or it is cut off", REMEDY)
        if answer.get("cut"):
            self.notes.append(N_(f"Only the first {LONGEST:.0f} s of {self.name} were read."))
        if answer.get("missing"):
            self.notes.append(N_(f"{self.name} is cut off: what is there was read."))

    def _refusal(self, error: str, answer: dict[str, Any]) -> PhotoError:
        name = self.name
        if error == "large":
            wide, high = answer["size"]
            return PhotoError(f"{name} has {wide} x {high} pixels, too many for a clip", REMEDY)
        if error == "memory":
            return PhotoError(f"{name} needs more memory than a clip may take", REMEDY)
        if error == "unknown":
            return PhotoError(f"{name} is damaged, or no clip that can be decoded here", SAVE_AS)
        return PhotoError(f"{name} is cut off or damaged", REMEDY)

    def _explained(self, late: bool) -> PhotoError:
        if late:
            return PhotoError(f"{self.name} takes too long to decode", REMEDY)
        return PhotoError(f"{self.name} is damaged in a way that stops its decoder", REMEDY)


def _started() -> subprocess.Popen[bytes]:
    try:
        return decoder("reader.sweep.decode")
    except OSError as error:
        raise EngineError(
            "the process that decodes clips can't be started", "see that there is free memory"
        ) from error


class _Clock:
    """Ends a process that keeps its reader waiting too long, for one frame or in all."""

    def __init__(self, process: subprocess.Popen[bytes], late: threading.Event) -> None:
        self._process, self._late = process, late
        self._left = SECONDS

    @contextlib.contextmanager
    def waiting(self) -> Iterator[None]:
        """Time spent inside counts."""
        import time

        began = time.monotonic()
        timer = threading.Timer(max(0.1, min(PATIENCE, self._left)), self._ring)
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()
            self._left -= time.monotonic() - began

    def _ring(self) -> None:
        self._late.set()
        with contextlib.suppress(OSError):
            self._process.kill()


def _frame(stream: IO[bytes], answer: Any) -> Frame | None:
    """The frame that an answer announces, None where it announces none."""
    if not isinstance(answer, dict) or "rows" not in answer:
        return None
    rows, columns = int(answer["rows"]), int(answer["columns"])
    if not 0 < rows * columns <= 60_000_000:
        raise ValueError("a frame of no sensible size")
    room = np.empty((rows, columns, 3), np.uint8)
    view = memoryview(room.data).cast("B")
    done = 0
    while done < len(view):
        count = stream.readinto(view[done:])  # type: ignore[attr-defined]
        if not count:
            raise EOFError
        done += count
    return Frame(room, float(answer["seconds"]))
