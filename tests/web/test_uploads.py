"""Uploads: limits kept while streaming, types by content, nothing kept but pixels."""

import io
import shutil
import socket
import time

import pretend
import pytest
from PIL import Image
from starlette.testclient import TestClient
from visiting import snap, token_of


def send(visitor, *files, **fields):
    data = {"token": token_of(visitor), **fields}
    parts = [("photo", (name, content, kind)) for name, content, kind in files]
    return visitor.post("/snap", data=data, files=parts or None, follow_redirects=False)


def test_no_photo(client):
    assert send(client).status_code in (400, 415)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"GIF89a" + b"0" * 64,
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%PDF-1.7",
        b"MZ\x90",
    ],
)
def test_what_is_no_photo_is_refused_whatever_it_calls_itself(client, content):
    answer = send(client, ("holiday.jpg", content, "image/jpeg"))
    assert answer.status_code in (400, 415)
    assert "photo" in answer.text


def test_names_from_the_phone_are_never_used(client, tmp_path):
    data = pretend.photo(pretend.RED)
    answer = send(client, ("../../../../etc/cron.d/x", data, "text/html"))
    assert answer.status_code == 303
    page = client.get(answer.headers["location"]).text
    assert "cron" not in page
    assert not list(tmp_path.rglob("*cron*"))


def test_too_large_is_cut_off(make_app):
    with TestClient(make_app(limits={"file_bytes": 20_000})) as visitor:
        answer = send(visitor, ("a.jpg", b"\xff\xd8\xff" + b"0" * 50_000, "image/jpeg"))
        assert answer.status_code == 413
    with TestClient(make_app(limits={"form_bytes": 20_000})) as visitor:
        answer = send(visitor, ("a.jpg", b"\xff\xd8\xff" + b"0" * 50_000, "image/jpeg"))
        assert answer.status_code == 413


def test_too_many_photos(make_app):
    with TestClient(make_app(limits={"photos": 2})) as visitor:
        files = [("a.jpg", pretend.photo(pretend.RED, size=(64, 48)), "image/jpeg")] * 3
        assert send(visitor, *files).status_code == 413


def test_memory_of_all_uploads_together_is_limited(make_app):
    with TestClient(make_app(limits={"held_bytes": 1000})) as visitor:
        answer = send(visitor, ("a.jpg", pretend.photo(pretend.RED), "image/jpeg"))
        assert answer.status_code == 503
        assert visitor.app.state.ledger.held == 0


@pytest.mark.parametrize(
    "kind",
    ["multipart/form-data", "multipart/form-data; boundary=", "text/plain", "application/json"],
)
def test_broken_forms_are_refused(client, kind):
    token_of(client)
    answer = client.post("/snap", content=b"--x\r\n", headers={"content-type": kind})
    assert answer.status_code in (400, 403, 415)


def test_half_an_upload_is_refused(client):
    token = token_of(client)
    body = (
        f'--x\r\ncontent-disposition: form-data; name="token"\r\n\r\n{token}\r\n'
        '--x\r\ncontent-disposition: form-data; name="photo"; filename="a"\r\n\r\n'
    ).encode() + b"\xff\xd8\xff\xe0 half"
    answer = client.post(
        "/snap", content=body, headers={"content-type": "multipart/form-data; boundary=x"}
    )
    assert answer.status_code == 400


def test_a_slow_upload_is_cut_off(live):
    address = live(limits={"silence": 0.3})
    port = int(address.rpartition(":")[2])
    with socket.create_connection(("127.0.0.1", port), timeout=10) as wire:
        wire.sendall(
            b"POST /snap HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-length: 90000\r\n"
            b"content-type: multipart/form-data; boundary=x\r\n\r\n--x\r\n"
        )
        assert b"408" in wire.recv(4096).partition(b"\r\n")[0]


def with_position():
    """A JPEG whose EXIF tells where and with what it was taken (EXIF 2.32, GPS tags)."""
    picture = Image.open(io.BytesIO(pretend.photo(pretend.RED)))
    exif = Image.Exif()
    exif[0x010F] = "Secretphone"
    exif[0x0112] = 6
    exif[0x8825] = {1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)}
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=b"Secretphone")
    assert b"Secretphone" in out.getvalue()
    return out.getvalue()


def test_position_and_device_are_not_kept(client, tmp_path):
    where = snap(client, with_position())
    part = client.app.state.bench.latest(1)[0]
    token = token_of(client)
    client.post(f"{where}/store", data={"token": token, "bin": "A"})
    kept = [*part.drawn.iterdir(), *(tmp_path / "photos").iterdir()]
    assert len(kept) >= 3
    for path in kept:
        assert b"Secretphone" not in path.read_bytes()
        assert path.name == "outcome" or not Image.open(path).getexif()
    assert (part.pictures[0].width, part.pictures[0].height) == (900, 1200)  # turned upright once


def test_a_picture_that_kills_its_reader_fails_alone(client):
    dead = client.get(snap(client, pretend.photo(pretend.CRASH)))
    assert "could not be read" in dead.text
    assert "47-507" in client.get(snap(client, pretend.photo(pretend.RED))).text


def test_reading_that_hangs_is_ended(make_app):
    with TestClient(make_app(limits={"reading_seconds": 0.4})) as visitor:
        address = snap(visitor, pretend.photo(pretend.SLOW))
        assert "took too long" in visitor.get(address).text


def test_a_full_queue_asks_to_wait(make_app):
    with TestClient(make_app(waiting=1)) as visitor:
        token = token_of(visitor)
        json = {"accept": "application/json"}
        photo = pretend.photo(pretend.SLOW, size=(320, 240))
        codes = []
        for _ in range(6):
            files = [("photo", ("a.jpg", photo, "image/jpeg"))]
            answer = visitor.post("/snap", data={"token": token}, files=files, headers=json)
            codes.append(answer.status_code)
        assert codes[0] == 202 and codes[-1] == 503
        assert answer.headers["retry-after"]


def test_old_parts_leave_the_bench_with_their_pictures(make_app):
    with TestClient(make_app(limits={"parts": 2})) as visitor:
        first = snap(visitor, pretend.photo(pretend.RED, size=(320, 240)))
        folder = visitor.app.state.bench.latest(1)[0].folder
        for _ in range(2):
            snap(visitor, pretend.photo(pretend.RED, size=(320, 240)))
        assert visitor.get(first).status_code == 404
        assert not folder.exists()


def test_only_the_parts_own_pictures_are_given(client):
    address = snap(client, pretend.photo(pretend.RED))
    for name in ("..%2f..%2fcatalogue.db", "x.jpg", "%2fetc%2fpasswd", "1.jpg%00"):
        assert client.get(f"{address}/picture/{name}").status_code == 404
    assert client.get(f"{address}/picture/1-view.jpg").headers["content-type"] == "image/jpeg"


def test_the_bench_outlives_the_server_for_a_day_at_most(make_app, tmp_path):
    """Pictures of an earlier server are shown again, and go at a start when they are too old."""
    with TestClient(make_app()) as visitor:
        address = snap(visitor, pretend.photo(pretend.RED))
        folder = visitor.app.state.bench.latest(1)[0].folder
        assert oct(folder.stat().st_mode)[-3:] == oct(folder.parent.stat().st_mode)[-3:] == "700"
    (tmp_path / "bench" / "parts" / "half-written").mkdir()
    with TestClient(make_app()) as visitor:
        assert ">47-507<" in visitor.get(address).text
        assert visitor.get(f"{address}/picture/1-view.jpg").status_code == 200
        assert not (folder.parent / "half-written").exists()
    with TestClient(make_app(limits={"part_seconds": 0.0})) as visitor:
        assert visitor.get(address).status_code == 404
        assert not folder.exists()


def test_what_was_accepted_is_read_after_a_kill(make_app, tmp_path):
    """The folder as a killed server leaves it: photos accepted, no outcome."""
    with TestClient(make_app(work=pretend.never)) as visitor:
        token = token_of(visitor)
        files = [("photo", ("a.jpg", pretend.photo(pretend.RED), "image/jpeg"))]
        json = {"accept": "application/json"}
        told = visitor.post("/snap", data={"token": token}, files=files, headers=json).json()
        parts = tmp_path / "bench" / "parts"
        shutil.copytree(parts, tmp_path / "killed")
    shutil.rmtree(parts)
    shutil.copytree(tmp_path / "killed", parts)
    with TestClient(make_app()) as visitor:
        bench = visitor.app.state.bench
        assert bench.latest(1)[0].ended.wait(20)
        assert ">47-507<" in visitor.get(told["address"]).text
        assert not list(bench.latest(1)[0].folder.glob("sent/*"))


def test_a_photo_that_kills_the_server_is_given_up_in_the_end(make_app, tmp_path):
    with TestClient(make_app(work=pretend.never)) as visitor:
        token = token_of(visitor)
        files = [("photo", ("a.jpg", pretend.photo(pretend.RED), "image/jpeg"))]
        json = {"accept": "application/json"}
        told = visitor.post("/snap", data={"token": token}, files=files, headers=json).json()
        part = visitor.app.state.bench.latest(1)[0]
        part.tries = 3
        part.write()
        shutil.copytree(part.folder.parent, tmp_path / "killed")
    shutil.rmtree(tmp_path / "bench" / "parts")
    shutil.copytree(tmp_path / "killed", tmp_path / "bench" / "parts")
    with TestClient(make_app()) as visitor:
        assert "stopped the server each time" in visitor.get(told["address"]).text


def test_a_stop_in_the_middle_leaves_the_part_to_the_next_start(make_app):
    with TestClient(make_app(work=pretend.never)) as visitor:
        token = token_of(visitor)
        files = [("photo", ("a.jpg", pretend.photo(pretend.RED), "image/jpeg"))]
        json = {"accept": "application/json"}
        told = visitor.post("/snap", data={"token": token}, files=files, headers=json).json()
    with TestClient(make_app()) as visitor:
        assert visitor.app.state.bench.latest(1)[0].ended.wait(20)
        assert ">47-507<" in visitor.get(told["address"]).text


def test_progress_is_told(client):
    token = token_of(client)
    files = [("photo", ("a.jpg", pretend.photo(pretend.SLOW), "image/jpeg"))]
    json = {"accept": "application/json"}
    address = client.post("/snap", data={"token": token}, files=files, headers=json).json()[
        "address"
    ]
    steps = set()
    for _ in range(200):
        now = client.get(f"{address}/state").json()
        steps.add(now["step"])
        if now["state"] == "done":
            break
        time.sleep(0.02)
    assert {"Finding text", "Done"} <= steps
