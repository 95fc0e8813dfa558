"""Bursts inside one HEIC file: told from single pictures by the file's item list, and decoded.

Boxes by ISO/IEC 14496-12, sections 8.11.3 (item location), 8.11.6 (item information) and 8.11.12
(item references); kinds of items by ISO/IEC 23008-12.
"""

import io
import random
import struct
import time
from pathlib import Path

import pytest

from reader.photo.heic import pictures
from reader.sweep.clip import Clip, is_clip

STILL = Path(__file__).parents[2] / "fixtures" / "photo" / "upright.heic"
SHAPE = 48, 80, 3  # of the fixture, see its README


def box(kind, body):
    return struct.pack(">I4s", 8 + len(body), kind) + body


def parts(data):
    while data:
        length, kind = struct.unpack(">I4s", data[:8])
        yield kind, data[8:length]
        data = data[length:]


def several(count, references=b"", hidden=0):
    """The fixture's one picture, listed `count` times; the last `hidden` are marked as hidden."""
    still = dict(parts(STILL.read_bytes()))
    meta = dict(parts(still[b"meta"][4:]))
    offset, length = struct.unpack(">I", meta[b"iloc"][12:16])[0], meta[b"iloc"][22:26]
    properties = dict(parts(meta[b"iprp"]))
    linked = properties[b"ipma"][10:]  # of item 1: how many properties, and which

    def written(shift):
        located = b"".join(
            struct.pack(">HHIHI", k, 0, offset + shift, 1, 0) + length for k in range(1, count + 1)
        )
        named = b"".join(
            box(b"infe", struct.pack(">BBBBHH", 2, 0, 0, k > count - hidden, k, 0) + b"hvc1\0")
            for k in range(1, count + 1)
        )
        linking = b"".join(struct.pack(">H", k) + linked for k in range(1, count + 1))
        body = b"".join(
            [
                bytes(4),
                box(b"hdlr", meta[b"hdlr"]),
                box(b"iloc", meta[b"iloc"][:6] + struct.pack(">H", count) + located),
                box(b"iinf", bytes(4) + struct.pack(">H", count) + named),
                box(b"pitm", meta[b"pitm"]),
                box(b"iref", bytes(4) + references) if references else b"",
                box(
                    b"iprp",
                    box(b"ipco", properties[b"ipco"])
                    + box(b"ipma", bytes(4) + struct.pack(">I", count) + linking),
                ),
            ]
        )
        return box(b"meta", body)

    shift = len(written(0)) - len(box(b"meta", still[b"meta"]))
    return box(b"ftyp", still[b"ftyp"]) + written(shift) + box(b"mdat", still[b"mdat"])


def refer(kind, start, *ends):
    return box(kind, struct.pack(f">HH{len(ends)}H", start, len(ends), *ends))


def count(data):
    return pictures(io.BytesIO(data), len(data))


def test_a_still_is_one_picture_and_no_clip():
    assert count(STILL.read_bytes()) == 1
    assert not is_clip(STILL)


def test_a_burst_is_a_clip_and_is_decoded():
    burst = several(8)
    assert count(burst) == 8 and is_clip(burst)
    frames = list(Clip(burst, "burst.heic"))
    assert frames and frames[0].pixels.shape == SHAPE


@pytest.mark.parametrize(
    ("references", "hidden", "own"),
    [
        (refer(b"thmb", 8, 1), 0, 7),  # a thumbnail of the first
        (refer(b"auxl", 8, 1) + refer(b"auxl", 7, 1), 0, 6),  # a depth map and a mask
        (refer(b"dimg", 1, 2, 3, 4, 5, 6, 7, 8), 0, 1),  # one picture of seven tiles
        (b"", 3, 5),
    ],
)
def test_what_belongs_to_another_picture_does_not_count(references, hidden, own):
    assert count(several(8, references, hidden)) == own


def test_a_few_pictures_in_one_file_are_no_sweep():
    assert not is_clip(several(3))


def test_a_damaged_list_is_no_burst():
    burst = several(8)
    for end in range(0, 900, 7):
        assert is_clip(burst[:end]) in (True, False)
    assert not is_clip(burst[:60])


def test_strangers_bytes_raise_nothing_and_take_no_time():
    """These lists are read outside the guarded process, so nothing in them may be trusted."""
    burst, chance = several(8, refer(b"dimg", 1, 2, 3)), random.Random(5)
    for _ in range(3000):
        data = bytearray(burst)
        for _ in range(chance.randrange(1, 9)):
            data[chance.randrange(len(data) if chance.random() < 0.2 else 700)] = chance.randrange(
                256
            )
        assert is_clip(bytes(data)) in (True, False)
    head = burst[: len(box(b"ftyp", dict(parts(burst))[b"ftyp"]))]
    began = time.process_time()
    assert not is_clip(head + box(b"free", b"") * 2_000_000)
    assert not is_clip(head + box(b"meta", bytes(4) + box(b"free", b"") * 2_000_000))
    assert time.process_time() - began < 20  # hours, when each box copied all that follow
