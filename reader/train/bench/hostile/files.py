"""Files that should break a reader of photos: made anew by code, in a folder of their own."""

from __future__ import annotations

import io
import os
import random
import struct
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from PIL import Image

FIXTURES = Path(__file__).parents[4] / "fixtures" / "photo"
Named = Iterator[tuple[str, bytes]]
FORMATS = ("jpg", "png", "webp", "tif", "heic")
STRANGERS = {
    "eps": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 200 200\nshowpage\n%%EOF\n",
    "pdf": b"%PDF-1.7\n1 0 obj<<>>endobj\n%%EOF\n",
    "gif": b"GIF89a\x40\0\x40\0\x80\0\0" + bytes(60),
    "bmp": b"BM" + bytes(120),
    "psd": b"8BPS\0\1" + bytes(60),
    "svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "html": b"<!DOCTYPE html><script>alert(1)</script>",
    "xml": b"<?xml version='1.0'?><!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>",
    "zip": b"PK\x03\x04" + bytes(80),
    "mp4": b"\0\0\0\x20ftypisom\0\0\0\0isomiso2avc1mp41" + bytes(80),
    "avif": b"\0\0\0\x20ftypavif\0\0\0\0avifmif1miaf" + bytes(80),
    "jxl": b"\0\0\0\x0cJXL \r\n\x87\n" + bytes(80),
    "jp2": b"\0\0\0\x0cjP  \r\n\x87\n" + bytes(80),
    "text": b"47-507\n40-622\n" * 40,
    "elf": b"\x7fELF\2\1\1" + bytes(200),
    "gzip": b"\x1f\x8b\x08" + bytes(100),
}


def encoded(kind: str, size: tuple[int, int] = (96, 72), **options: object) -> bytes:
    """A good small picture; HEIC from the fixtures, as there is no encoder."""
    if kind == "heic":
        return (FIXTURES / "turned.heic").read_bytes()
    rough = np.random.default_rng(3_000_001).integers(0, 255, (*size[::-1], 3), np.uint8)
    name = {"jpg": "JPEG", "png": "PNG", "webp": "WEBP", "tif": "TIFF"}[kind]
    stream = io.BytesIO()
    Image.fromarray(rough).save(stream, name, **options)
    return stream.getvalue()


def chunk(kind: bytes, body: bytes) -> bytes:
    """One chunk of a PNG."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png(
    wide: int, high: int, *extra: bytes, depth: int = 8, colour: int = 2, rows: int = -1
) -> bytes:
    """A PNG of one shade with all its rows, or only so many."""
    head = struct.pack(">IIBBBBB", wide, high, depth, colour, 0, 0, 0)
    channels = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}.get(colour, 3)
    squeeze, line = zlib.compressobj(9), bytes((wide * channels * depth + 7) // 8 + 1)
    data = b"".join(squeeze.compress(line) for _ in range(high if rows < 0 else rows))
    parts = (
        chunk(b"IHDR", head),
        *extra,
        chunk(b"IDAT", data + squeeze.flush()),
        chunk(b"IEND", b""),
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def all_files() -> Named:
    """Every file, by name."""
    for family in (_strangers, _cut, _flipped, _giants, _pngs, _tiffs, _jpegs, _heics, _names):
        yield from family()


def _strangers() -> Named:
    for what, data in STRANGERS.items():
        for ending in FORMATS:
            yield f"really {what}.{ending}", data
    for size in (0, 1, 2, 3, 4, 11, 12, 13, 63, 64, 65, 5000):
        yield f"{size} zeros.jpg", bytes(size)
        yield f"{size} noise.png", random.Random(size).randbytes(size)


def _cut() -> Named:
    for kind in FORMATS:
        data = encoded(kind)
        for share in (0.01, 0.03, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 0.99):
            yield f"cut {share:g}.{kind}", data[: max(4, int(len(data) * share))]


def _flipped() -> Named:
    chance = random.Random(3_000_002)
    for kind in FORMATS:
        for number in range(10):
            data = bytearray(encoded(kind))
            for _ in range(1 + number):
                data[chance.randrange(4, min(len(data), 900))] ^= 1 << chance.randrange(8)
            yield f"flipped {number}.{kind}", bytes(data)


def _giants() -> Named:
    for wide, high in (
        (60_000, 60_000),
        (2**31 - 1, 2**31 - 1),
        (0, 0),
        (40_000, 20),
        (9000, 9000),
    ):
        yield (
            f"claims {wide} x {high}.png",
            png(wide, high, rows=0) if wide < 10**5 else _claim(wide),
        )
    for wide, high in ((3200, 1), (1, 3200), (32_000, 16), (16, 32_000), (15, 15), (16, 16)):
        yield f"thin {wide} x {high}.png", png(wide, high)
    yield "flat 8160 x 6120.png", png(8160, 6120)
    yield "grey 16 bit 7000 x 7000.png", png(7000, 7000, depth=16, colour=0)
    for side in (20_000, 65_000):
        jpeg = bytearray(encoded("jpg"))
        place = jpeg.index(b"\xff\xc0") + 5
        jpeg[place : place + 4] = struct.pack(">HH", side, side)
        yield f"claims {side}.jpg", bytes(jpeg)
    webp = bytearray(encoded("webp"))
    place = webp.index(b"\x9d\x01\x2a") + 3
    webp[place : place + 4] = struct.pack("<HH", 16383, 16383)
    yield "claims 16383.webp", bytes(webp)
    heic = bytearray(encoded("heic"))
    place = heic.index(b"ispe") + 8
    heic[place : place + 8] = struct.pack(">II", 60_000, 60_000)
    yield "claims 60000.heic", bytes(heic)


def _claim(side: int) -> bytes:
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IEND", b"")


def _pngs() -> Named:
    bomb = zlib.compress(bytes(200 * 2**20), 9)
    yield "text bomb.png", png(64, 64, chunk(b"zTXt", b"Comment\0\0" + bomb))
    yield "profile bomb.png", png(64, 64, chunk(b"iCCP", b"icc\0\0" + bomb))
    yield "no rows.png", png(64, 64, rows=0)
    yield "half the rows.png", png(64, 64, rows=30)
    yield "palette missing.png", png(64, 64, colour=3)
    yield "many chunks.png", png(64, 64, *(chunk(b"tEXt", b"a\0b") for _ in range(50_000)))
    yield "odd tags.png", png(64, 64, chunk(b"eXIf", b"MM\0*" + b"\xff" * 60))
    for depth, colour in ((3, 2), (16, 3), (8, 7), (0, 0), (8, 1)):
        yield f"depth {depth} colour {colour}.png", png(64, 64, depth=depth, colour=colour)
    for depth, colour in ((1, 0), (2, 0), (4, 0), (16, 0), (8, 4), (16, 4), (8, 6), (16, 6)):
        yield f"fine {depth} bit colour {colour}.png", png(200, 150, depth=depth, colour=colour)
    stream = io.BytesIO()
    frames = [Image.new("RGB", (64, 64), (n, n, n)) for n in range(20)]
    frames[0].save(stream, "PNG", save_all=True, append_images=frames[1:])
    yield "dance.png", stream.getvalue()
    stream = io.BytesIO()
    frames[0].save(stream, "WEBP", save_all=True, append_images=frames[1:])
    yield "dance.webp", stream.getvalue()


def _tiffs() -> Named:
    plain = encoded("tif")
    for tag in (256, 257, 258, 259, 262, 273, 277, 278, 279):
        data = bytearray(plain)
        at = next((i for i in range(8, len(data) - 12) if _is_entry(data, i, tag)), None)
        if at is not None:
            data[at + 8 : at + 12] = struct.pack("<I", 0xFFFFFFF0)
            yield f"tag {tag} huge.tif", bytes(data)
            data[at + 8 : at + 12] = bytes(4)
            yield f"tag {tag} zero.tif", bytes(data)
    loop = bytearray(plain)
    loop += struct.pack("<HI", 0, 8)
    yield "list that ends in itself.tif", b"II*\0" + struct.pack("<I", 8) + struct.pack("<HI", 0, 8)
    for options in ({"compression": "tiff_lzw"}, {"compression": "jpeg"}, {"big_tiff": True}):
        yield f"fine {'-'.join(map(str, options.values()))}.tif", encoded("tif", **options)
    stream = io.BytesIO()
    Image.new("F", (64, 64), float("nan")).save(stream, "TIFF")
    yield "not a number.tif", stream.getvalue()
    page, stream = Image.new("RGB", (64, 64)), io.BytesIO()
    page.save(stream, "TIFF", save_all=True, append_images=[page] * 40)
    yield "forty pages.tif", stream.getvalue()


def _is_entry(data: bytearray, at: int, tag: int) -> bool:
    return struct.unpack("<HH", data[at : at + 4]) in ((tag, 3), (tag, 4))


def _jpegs() -> Named:
    plain = encoded("jpg", (640, 480))
    yield "many markers.jpg", plain[:2] + b"\xff\xe5\0\4ab" * 60_000 + plain[2:]
    yield "no tables.jpg", plain.replace(b"\xff\xc4", b"\xff\xe9")
    yield "ends at once.jpg", b"\xff\xd8\xff\xd9"
    yield "two in one.jpg", plain + plain
    yield "with a tail.jpg", plain + random.Random(1).randbytes(300_000)
    yield "restarts.jpg", plain[:-2] + b"\xff\xd0\xff\xd1" * 5000 + b"\xff\xd9"
    for tags in (b"Exif\0\0", b"Exif\0\0II*\0\x08\0\0\0\xff\xff", b"Exif\0\0MM\0*\xff\xff\xff\xff"):
        body = struct.pack(">H", len(tags) + 2) + tags
        yield f"tags {tags[6:].hex() or 'none'}.jpg", plain[:2] + b"\xff\xe1" + body + plain[2:]
    own = b"Exif\0\0II*\0\x08\0\0\0\1\0\x69\x87\4\0\1\0\0\0\x08\0\0\0\0\0\0\0"
    body = struct.pack(">H", len(own) + 2) + own
    yield "tags that point at themselves.jpg", plain[:2] + b"\xff\xe1" + body + plain[2:]
    stream = io.BytesIO()
    Image.new("CMYK", (300, 200), (9, 9, 9, 9)).save(stream, "JPEG")
    yield "fine four inks.jpg", stream.getvalue()
    wide = encoded("jpg", (640, 480), progressive=True, quality=80)
    scan = wide[wide.rindex(b"\xff\xda") : -2]
    yield "six hundred scans.jpg", wide[:-2] + scan * 600 + b"\xff\xd9"


def _heics() -> Named:
    plain = encoded("heic")
    for word in (b"hdlr", b"pitm", b"iinf", b"infe", b"iprp", b"ipco", b"hvcC", b"ispe", b"iloc"):
        if word in plain:
            at = plain.index(word)
            for what, new in (("gone", b"free"), ("odd", b"\xca\xfe\xba\xbe")):
                yield f"{word.decode()} {what}.heic", plain[:at] + new + plain[at + 4 :]
            long = struct.pack(">I", 0xFFFFFFFF)
            yield f"{word.decode()} too long.heic", plain[: at - 4] + long + plain[at:]
            yield f"{word.decode()} of no length.heic", plain[: at - 4] + bytes(4) + plain[at:]
    at = plain.index(b"Exif")
    for bit in range(8):
        data = bytearray(plain)
        data[at + 2] ^= 1 << bit
        yield f"one bit {bit}.heic", bytes(data)


def _names() -> Named:
    good, bad = encoded("png", (320, 240)), b"no picture"
    for name in ("-rf.jpg", "--json.jpg", "a b.jpg", "'quote\".jpg", "$(touch x).jpg", "漢字.jpg"):
        yield name, good
    for name in (
        "two\nlines.jpg",
        "bell\x07\x1b[31m.jpg",
        "turned\u202egpj.jpg",
        "n" * 240 + ".jpg",
    ):
        yield name, bad
    yield os.fsdecode(b"caf\xe9.jpg"), good
    yield os.fsdecode(b"\xff\xfe.jpg"), bad


def odd_places(folder: Path) -> list[Path]:
    """Things named like photos that are no files."""
    makers: dict[str, Callable[[Path], object]] = {
        "pipe.jpg": os.mkfifo,
        "folder.jpg": lambda path: path.mkdir(),
        "nowhere.jpg": lambda path: path.symlink_to("gone"),
        "loop.jpg": lambda path: path.symlink_to(path),
        "zeros.jpg": lambda path: path.symlink_to("/dev/zero"),
        "sparse.jpg": _sparse,
    }
    for name, make in makers.items():
        make(folder / name)
    return [folder / name for name in makers]


def _sparse(path: Path) -> None:
    """A file of 10 GB that takes no room."""
    with path.open("wb") as file:
        file.truncate(10 * 2**30)


def mutated(data: bytes, chance: random.Random) -> bytes:
    """The file after one of the usual accidents and attacks."""
    raw, way = bytearray(data), chance.randrange(6)
    at = chance.randrange(16, len(raw) - 8)
    if way == 0:
        del raw[at:]
    elif way == 1:
        for _ in range(chance.randrange(1, 30)):
            raw[chance.randrange(16, len(raw))] = chance.randrange(256)
    elif way == 2:
        raw[at:at] = chance.randbytes(chance.randrange(1, 400))
    elif way == 3:
        raw[at : at + 4] = chance.choice((b"\xff" * 4, bytes(4), b"\x7f\xff\xff\xff"))
    elif way == 4:
        raw[at] ^= 1 << chance.randrange(8)
    else:
        raw += raw[at : at + 200] * 20
    return bytes(raw)
