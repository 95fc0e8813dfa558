"""The process in which pictures are decoded: strangers' bytes in, plain pixels and texts out.

It is started by `guard`, serves one request after the other, keeps nothing, and ends when its input
closes. A request is a line of JSON (`Request`), followed by the file's bytes if it brings them;
an answer is a line of JSON, followed by the pixels if there are any. Nothing here is unpickled.
"""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from reader.errors import PhotoError
from reader.photo import header, upright
from reader.photo.files import open_file, refuse_by_length

if TYPE_CHECKING:
    from PIL.Image import Image

# Address space, bytes. Photos of 50 million pixels took 280 MB (TIFF) to 890 MB (WebP).
MOST_MEMORY = 1000 * 2**20
LARGE = 16 * 2**20  # bytes of an answer after which it pays to hand memory back
READY = b"ready\n"


def serve() -> None:
    """Answer requests until the input closes."""
    source, sink = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a decoder prints must not get among the answers
    _limit()
    sink.write(READY)
    sink.flush()
    while line := source.readline():
        request = json.loads(line)
        data = source.read(request["bytes"]) if "bytes" in request else None
        sent = 0
        for piece in _answers(request, data):
            sent += sink.write(piece)
        sink.flush()
        del data, piece
        if sent > LARGE or request["want"] == "codes":
            _give_back()


def _give_back() -> None:
    from reader.memory import give_back  # what it needs takes time to import

    give_back()


def _limit() -> None:
    """No more memory than a photo needs, and no dump of it after a crash."""
    with suppress(ImportError, ValueError, OSError):  # Windows knows no such limits
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def _answers(request: dict[str, Any], data: bytes | None) -> Iterator[Any]:
    """The pieces of one answer: a line of JSON, then bands of pixels."""
    name = request["name"]
    try:
        with (
            _stream(request, data, name) as (stream, size),
            header.opened(stream, name, size) as image,
        ):
            match request["want"]:
                case "pixels":
                    yield from _pixels(image, name)
                case "size":
                    yield _line({"size": image.size})
                case "taken":
                    yield _line({"taken": header.taken(image)})
                case "codes":
                    from reader.photo.codes import codes

                    yield _line({"codes": codes(image)})
    except PhotoError as error:
        yield _line({"error": error.message, "remedy": error.remedy})


@contextmanager
def _stream(
    request: dict[str, Any], data: bytes | None, name: str
) -> Iterator[tuple[IO[bytes], int]]:
    """The file, and how many bytes it has."""
    if data is not None:
        refuse_by_length(len(data), name)
        yield io.BytesIO(data), len(data)
        return
    with open_file(Path(request["path"]), name) as stream:
        yield stream, os.fstat(stream.fileno()).st_size


def _pixels(image: Image, name: str) -> Iterator[Any]:
    image.load()
    header.refuse_size(image.size, name)  # some decoders find another size than the header's
    turn = upright.orientation(image)
    yield _line({"rows": image.height, "cols": image.width, "turn": turn})
    for band in upright.bands(image):
        yield band.data.cast("B")


def _line(answer: dict[str, Any]) -> bytes:
    return json.dumps(answer).encode() + b"\n"
