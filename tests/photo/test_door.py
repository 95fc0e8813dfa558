"""Whatever bytes come, for any purpose: this process lives, and one line says what is wrong."""

from __future__ import annotations

import ast
import os
import resource
import struct
import subprocess
import sys
import threading
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reader.errors import PhotoError
from reader.photo import guard
from reader.photo.files import digest
from reader.photo.formats import FORMATS, SUFFIXES, format_of
from reader.photo.load import codes, load, taken

FIXTURES = Path(__file__).parents[2] / "fixtures" / "photo"
READER = Path(__file__).parents[2] / "reader"
WAYS = (load, taken, codes)


def chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def flat_png(wide, high, *extra):
    """A valid grey PNG of one shade, a few kilobytes whatever its size."""
    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    squeeze = zlib.compressobj(9)
    rows = b"".join(squeeze.compress(bytes(wide * 3 + 1)) for _ in range(high)) + squeeze.flush()
    parts = (chunk(b"IHDR", head), *extra, chunk(b"IDAT", rows), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.fixture
def hurt_heic(tmp_path):
    """A HEIC with one flipped bit in its item list; its decoder ends the process on it."""
    data = bytearray((FIXTURES / "turned.heic").read_bytes())
    data[data.index(b"Exif") + 2] ^= 0x80
    path = tmp_path / "hurt.heic"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("way", WAYS)
def test_a_heic_with_a_flipped_bit(way, hurt_heic):
    with pytest.raises(PhotoError, match="damaged"):
        way(hurt_heic)


@pytest.mark.parametrize("way", WAYS)
def test_a_drawing_program_is_never_started(way, tmp_path, monkeypatch):
    """PostScript named .jpg: refused by its first bytes, whatever Pillow could do with it."""
    (tmp_path / "gs").write_text(f"#!/bin/sh\ntouch '{tmp_path}/started'\n")
    (tmp_path / "gs").chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    drawing = tmp_path / "drawing.jpg"
    drawing.write_text("%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 200 200\nshowpage\n%%EOF\n")
    with pytest.raises(PhotoError, match="PostScript"):
        way(drawing)
    assert not (tmp_path / "started").exists()


def test_the_date_of_a_large_png_costs_no_pixels(tmp_path):
    """52 million pixels in a few kilobytes: decoded, they take over a second and 156 MB."""
    path = tmp_path / "flat.png"
    path.write_bytes(flat_png(8000, 6000))
    taken(path)  # the process is there
    began = time.process_time(), time.perf_counter()
    assert taken(path) == ""
    with guard.lent() as process:
        status = Path(f"/proc/{process._process.pid}/status").read_text()
    assert int(status.split("VmHWM:")[1].split()[0]) < 80_000  # kB
    assert time.perf_counter() - began[1] < 5


def test_the_date_of_every_format(encode):
    picture = Image.new("RGB", (40, 30))
    for kind in ("JPEG", "PNG", "WEBP", "TIFF"):
        exif = Image.Exif()
        exif[0x0131] = "a camera"
        if kind == "TIFF":  # Pillow writes no further list of tags there
            exif[0x0132] = "2026:05:04 10:11:12"
        else:
            exif.get_ifd(0x8769)[0x9003] = "2026:05:04 10:11:12"
        assert taken(encode(picture, kind, exif=exif)) == "2026-05-04T10:11:12", kind


@pytest.mark.parametrize("wide,high", [(16_000, 16), (16, 16_000), (32_000, 16)])
def test_long_and_thin(wide, high, tmp_path):
    path = tmp_path / "thin.png"
    path.write_bytes(flat_png(wide, high))
    assert load(path).shape == (high, wide)
    assert codes(path).texts == () and taken(path) == ""


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("wide,high", [(3200, 1), (1, 3200), (40_000, 20), (60_000, 60_000)])
def test_sides_no_photo_has(way, wide, high, tmp_path):
    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    data = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")
    path = tmp_path / "odd.png"
    path.write_bytes(data)
    with pytest.raises(PhotoError, match="too (few|many)"):
        way(path)


@pytest.mark.parametrize("way", WAYS)
def test_a_crash_costs_one_photo(way, monkeypatch, encode):
    good = encode(Image.new("RGB", (40, 30)), "PNG")
    real, crashes = guard.Guard._send, [1]

    def crashing(self, *args):
        if crashes:  # before it is asked, or it may have answered
            crashes.pop()
            os.kill(self._process.pid, 11)
        real(self, *args)

    monkeypatch.setattr(guard.Guard, "_send", crashing)
    big = encode(np.random.default_rng(3).integers(0, 255, (3000, 3000, 3), np.uint8), "PNG")
    with pytest.raises(PhotoError, match="stops its decoder") as caught:
        way(big)
    assert caught.value.remedy
    way(good)


def test_a_photo_that_takes_too_long(monkeypatch, encode):
    big = encode(np.random.default_rng(3).integers(0, 255, (3000, 3000, 3), np.uint8), "PNG")
    load(encode(Image.new("RGB", (40, 30)), "PNG"))
    monkeypatch.setattr(guard, "SECONDS", 0.02)
    with pytest.raises(PhotoError, match="to decode"):
        load(big)
    monkeypatch.undo()
    assert load(big).shape == (3000, 3000)


def test_the_process_is_bounded(encode):
    with guard.lent() as process:
        process.answer("taken", "small", encode(Image.new("RGB", (40, 30)), "PNG"))
        soft, _ = resource.prlimit(process._process.pid, resource.RLIMIT_AS)
        core, _ = resource.prlimit(process._process.pid, resource.RLIMIT_CORE)
    assert 0 < soft <= 2**30 and core == 0


def test_many_threads_at_once(encode):
    data = [encode(Image.new("RGB", (40 + n, 30)), "PNG") for n in range(24)]
    got = {}

    def work(n):
        got[n] = load(data[n]).shape

    threads = [threading.Thread(target=work, args=(n,)) for n in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert got == {n: (30, 40 + n) for n in range(24)}


def test_the_process_ends_with_its_owner(tmp_path):
    """Even when the owner is killed outright."""
    script = (
        "import os, sys; from reader.photo import guard; guard.prepare(); "
        "g = guard._idle.get(); g._wait_for_start(); print(g._process.pid, flush=True); "
        "os.kill(os.getpid(), 9)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    child = int(done.stdout)
    for _ in range(100):
        try:
            state = Path(f"/proc/{child}/stat").read_text().split(")")[1].split()[0]
        except FileNotFoundError:
            return
        if state == "Z":
            return
        time.sleep(0.05)
    pytest.fail("it lives on")


def test_modules_beside_the_photos_are_not_imported(tmp_path):
    """A folder of photos may hold any file, json.py too."""
    (tmp_path / "json.py").write_text("raise SystemExit('taken in')")
    Image.new("RGB", (40, 30)).save(tmp_path / "a.png")
    script = "from pathlib import Path; from reader.photo.load import load; load(Path('a.png'))"
    code = f"import sys; sys.path = [p for p in sys.path if p]; {script}"
    path = {**os.environ, "PYTHONPATH": str(READER.parent)}
    subprocess.run([sys.executable, "-P", "-c", code], cwd=tmp_path, env=path, check=True)


def test_content_counts_and_not_the_ending(tmp_path):
    Image.new("RGB", (40, 30)).save(tmp_path / "a.png")
    (tmp_path / "a.png").rename(tmp_path / "a.heic")
    assert load(tmp_path / "a.heic").shape == (30, 40)


def test_each_format_knows_its_own_files(encode):
    picture = Image.new("RGB", (40, 30))
    for kind in FORMATS:
        if kind.decoder == "HEIF":
            data = (FIXTURES / "upright.heic").read_bytes()
        else:
            data = encode(picture, kind.decoder)
        assert format_of(data[:64]) is kind
        assert set(kind.suffixes) <= SUFFIXES


def test_only_the_door_opens_pictures():
    """No other module decodes a picture, but for clips, in a guarded process of their own."""
    doors = {"photo/header.py", "sweep/decode.py"}
    found = []
    for path in READER.rglob("*.py"):
        if "train" in path.parts or str(path.relative_to(READER)) in doors:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-2:] in (
                ["Image", "open"],
                ["cv2", "imread"],
                ["cv2", "imdecode"],
                ["pi_heif", "open_heif"],
                ["pi_heif", "read_heif"],
            ):
                found.append(f"{path.relative_to(READER)}:{node.lineno}")
    assert found == []


def test_pipes_do_not_block_the_look_at_files(tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")
    with pytest.raises(PhotoError, match="pipe"):
        digest(tmp_path / "pipe.jpg", "pipe.jpg")


def test_dates_of_nonsense(encode):
    for text in ("0000:00:00 00:00:00", "9999:99:99 99:99:99", "\0" * 19, "tomorrow"):
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = text
        assert taken(encode(Image.new("RGB", (40, 30)), "JPEG", exif=exif)) == ""
