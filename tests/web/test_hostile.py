"""Mutated pictures of every type: the server stays up and the catalogue whole."""

import io
import random
import struct
import zlib
from pathlib import Path

import numpy as np
import pretend
import pytest
from PIL import Image
from sqlalchemy import text
from starlette.testclient import TestClient
from visiting import post, snap, token_of

HEIC = Path(__file__).parents[2] / "fixtures" / "photo" / "upright.heic"
ROUNDS = 36  # of each of the six seeds below


def seeds():
    """One good picture of each type, small."""
    picture = Image.open(io.BytesIO(pretend.photo(pretend.RED, size=(96, 72))))
    made = {}
    for kind in ("JPEG", "PNG", "WEBP", "TIFF"):
        out = io.BytesIO()
        picture.save(out, kind)
        made[kind] = out.getvalue()
    made["HEIC"] = HEIC.read_bytes()
    made["MPO"] = made["JPEG"] + made["JPEG"]
    return made


def mutated(data, chance):
    """The file after one of the usual accidents and attacks."""
    raw = bytearray(data)
    way = chance.randrange(7)
    if way == 0:
        del raw[chance.randrange(12, len(raw)) :]
    elif way == 1:
        for _ in range(chance.randrange(1, 30)):
            raw[chance.randrange(len(raw))] = chance.randrange(256)
    elif way == 2:
        at = chance.randrange(12, len(raw))
        raw[at:at] = chance.randbytes(chance.randrange(1, 400))
    elif way == 3:
        at = chance.randrange(4, len(raw) - 8)
        raw[at : at + 4] = b"\xff\xff\xff\xff"
    elif way == 4:
        at = chance.randrange(4, len(raw) - 8)
        raw[at : at + 4] = b"\x00\x00\x00\x00"
    elif way == 5:
        raw += chance.randbytes(2000)
    else:
        start, length = chance.randrange(len(raw)), chance.randrange(1, 200)
        raw += raw[start : start + length] * 20
    return bytes(raw)


def bomb():
    """A PNG of a few hundred bytes that claims 60000 x 60000 pixels."""

    def chunk(kind, body):
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", 60000, 60000, 8, 2, 0, 0, 0)
    body = zlib.compress(bytes(np.zeros(100_000, np.uint8)))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.fixture
def client(make_app):
    """A visitor who may send as fast as he can."""
    with TestClient(make_app(limits={"uploads": (1e6, 1e6)})) as visitor:
        yield visitor


def test_hostile_pictures_leave_server_and_catalogue_whole(client):
    address = snap(client, pretend.photo(pretend.RED, size=(96, 72)))
    post(client, f"{address}/store", bin="A", quantity="3")
    token, chance = token_of(client), random.Random(5775)
    files = [mutated(data, chance) for data in seeds().values() for _ in range(ROUNDS)]
    files.append(bomb())
    assert len(files) > 200
    for n, content in enumerate(files):
        sent = [("photo", (f"{n}.jpg", content, "image/jpeg"))]
        answer = client.post("/snap", data={"token": token}, files=sent)
        assert answer.status_code in (200, 415), (n, answer.status_code)
        assert "Traceback" not in answer.text and "site-packages" not in answer.text
    assert "47-507" in client.get(snap(client, pretend.photo(pretend.RED))).text
    with client.app.state.stock.catalogue.read() as connection:
        assert connection.scalar(text("PRAGMA integrity_check")) == "ok"
        assert connection.scalar(text("SELECT sum(quantity) FROM parts")) == 3


def test_a_bomb_is_refused_before_it_is_unpacked(client):
    page = client.get(snap(client, bomb())).text
    assert "too many" in page


def test_hostile_fields_come_back_as_text(client):
    """Markup in any field is shown, never run."""
    evil = "<script>alert(1)</script>\"'><img src=x>"
    address = snap(client, pretend.photo(pretend.RED), kind=evil)
    for path, fields in (
        (f"{address}/choose", {"size": evil}),
        (f"{address}/again", {"photo": "1", "left": evil}),
        (f"{address}/store", {"bin": evil, "shelf": evil, "condition": evil}),
    ):
        assert "<script>alert" not in post(client, path, **fields).text
    for path in (
        f"/names?find={evil}",
        f"/fit?tyre={evil}&rim={evil}",
        f"/bins?size={evil}",
        address,
    ):
        page = client.get(path).text
        assert "<script>alert" not in page and "<img src=x" not in page
