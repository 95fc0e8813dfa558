"""A look at a HEIC file's item list before the decoder sees it: is it sound, is it a burst?

pi-heif up to 1.4.0 ends the whole process when an item's type is not plain text (its metadata
reader does not expect that), so such a file must not reach it. Box layout: ISO/IEC 14496-12,
sections 4.2 (boxes), 8.11.6 (item information) and 8.11.12 (item references).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO

PICTURES = (b"hvc1", b"grid", b"iden", b"iovl")  # kinds of items, ISO/IEC 23008-12
LESSER = (b"thmb", b"auxl")  # what refers so to a picture is its thumbnail, its mask or its depth
MOST_META = 16 * 2**20  # the lists of a file; its pixels lie elsewhere
MOST_BOXES = 10_000  # at the top level of a file; cameras write a handful


class _TooManyBoxes(Exception):
    pass


def is_sound(stream: IO[bytes], size: int) -> bool:
    """Whether every item of the file has a type in plain ASCII.

    Args:
        stream: an open file, of any kind; its position is put back to 0.
        size: its length in bytes.

    Returns:
        False when an item list holds other bytes; True also for what is no HEIC file at all.
    """
    try:
        return all(_items_are_ascii(meta) for meta in _metas(stream, size))
    except _TooManyBoxes:
        return False
    finally:
        stream.seek(0)


def pictures(stream: IO[bytes], size: int) -> int:
    """How many pictures of their own a file holds: no tiles, thumbnails, masks, depth maps.

    Args:
        stream: an open file, of any kind; its position is put back to 0.
        size: its length in bytes.

    Returns:
        Whatever the file holds; a damaged or hostile one raises nothing and takes no time.
    """
    try:
        return max((len(_own(meta)) for meta in _metas(stream, size)), default=0)
    except _TooManyBoxes:
        return 0
    finally:
        stream.seek(0)


def _own(meta: bytes) -> set[int]:
    """Numbers of the items that are pictures of their own."""
    boxes = dict(_boxes(meta[4:]))
    shown = {number for number, kind, hidden in _items(boxes.get(b"iinf", b"")) if
             kind in PICTURES and not hidden}  # fmt: skip
    references = boxes.get(b"iref", b"")
    wide = 4 if references[:1] == b"\1" else 2
    for kind, body in _boxes(references[4:]):
        numbers = [int.from_bytes(body[at : at + wide], "big") for at in _steps(body, wide)]
        if kind in LESSER:
            shown.discard(numbers[0] if numbers else -1)
        elif kind == b"dimg":  # a grid and its tiles
            shown -= set(numbers[1:])
    return shown


def _steps(body: bytes, wide: int) -> list[int]:
    """Where the numbers of a reference stand: from, how many (2 bytes), to each."""
    return [0, *range(wide + 2, len(body) - wide + 1, wide)]


def _items(body: bytes) -> Iterator[tuple[int, bytes, bool]]:
    """Number and kind of each item, and whether it is hidden."""
    for entry, item in _boxes(body[8:] if body[:1] != b"\0" else body[6:]):
        wide = 4 if item[:1] == b"\3" else 2
        if entry == b"infe" and item[:1] in (b"\2", b"\3"):
            number = int.from_bytes(item[4 : 4 + wide], "big")
            hidden = int.from_bytes(item[3:4], "big") & 1
            yield number, item[6 + wide : 10 + wide], bool(hidden)


def _metas(stream: IO[bytes], size: int) -> Iterator[bytes]:
    """Bodies of the `meta` boxes at the top level.

    Raises:
        _TooManyBoxes: more than any camera writes.
    """
    place = boxes = 0
    while place + 8 <= size:
        boxes += 1
        if boxes > MOST_BOXES:
            raise _TooManyBoxes
        stream.seek(place)
        head = stream.read(16)
        length, skip = _extent(head, size - place)
        if length < skip:
            return
        if head[4:8] == b"meta":
            stream.seek(place + skip)
            yield stream.read(min(length - skip, MOST_META))
        place += length


def _items_are_ascii(meta: bytes) -> bool:
    for kind, body in _boxes(meta[4:]):
        if kind == b"iinf":
            entries = body[8:] if body[:1] != b"\0" else body[6:]
            for entry, item in _boxes(entries):
                texts = item[10:] if item[:1] == b"\3" else item[8:]
                if entry == b"infe" and not texts.isascii():
                    return False
    return True


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Kind and body of each box in a row."""
    place = 0
    while place + 8 <= len(data):
        length, skip = _extent(data[place : place + 16], len(data) - place)
        if length < skip:
            return
        yield data[place + 4 : place + 8], data[place + skip : place + length]
        place += length


def _extent(head: bytes, rest: int) -> tuple[int, int]:
    """A box's length and its header's length; length 0 means up to the end, 1 a 64-bit length."""
    length = int.from_bytes(head[:4], "big")
    if length == 1:
        return int.from_bytes(head[8:16], "big"), 16
    return (length or rest), 8
