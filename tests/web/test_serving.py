import re
import signal
import socket
import subprocess
import sys
import urllib.request

import cv2
import numpy as np
import pytest
import segno

from reader.errors import InputError, ServerError
from reader.web import serving
from reader.web.settings import LETTERS, fresh_code


def test_without_asking_only_this_computer_gets_in():
    plan = serving.plan(False, "", 8622, [])
    assert plan.listen == "127.0.0.1" and not plan.pairing
    assert plan.address == "http://localhost:8622/"


def test_on_the_network_a_code_is_wanted(monkeypatch):
    monkeypatch.setattr(serving, "own_address", lambda: "192.0.2.20")
    plan = serving.plan(True, "", 8622, ["Bench.lan."])
    assert plan.listen == "0.0.0.0" and plan.pairing
    assert {"192.0.2.20", "bench.lan"} <= set(plan.hosts)
    assert plan.pairing_address("ABC") == "http://192.0.2.20:8622/pair/ABC"


def test_an_address_of_its_own_pairs_unless_it_is_the_loop():
    assert not serving.plan(False, "127.0.0.1", 1, []).pairing
    for wrong in ("shop", "203.0.113.9"):
        with pytest.raises(InputError):
            serving.plan(False, wrong, 1, [])


def test_codes_are_long_and_easy_to_read():
    codes = {fresh_code() for _ in range(50)}
    assert len(codes) == 50
    assert all(len(code) == 10 and set(code) <= set(LETTERS) for code in codes)
    assert not set("01OIL") & set(LETTERS)


def test_the_qr_code_holds_the_pairing_address():
    """Read back by OpenCV's detector from the picture of the same code."""
    address = "http://192.0.2.20:8622/pair/GREASY7NUT"
    matrix = np.array([list(row) for row in segno.make(address, error="m").matrix], np.uint8)
    picture = np.kron(np.pad(255 - 255 * matrix, 4, constant_values=255), np.ones((8, 8), np.uint8))
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == address
    assert len(serving.qr_text(address).splitlines()) > 15


def test_a_short_code_and_an_unknown_market_are_refused(tmp_path):
    plan = serving.plan(False, "", 8622, [])
    with pytest.raises(InputError, match="easy to guess"):
        serving.settings(plan, ("abc-d", "", ""), "c.db", None, "world", 1)
    with pytest.raises(InputError, match="market"):
        serving.settings(plan, ("", "", ""), "c.db", None, "the moon", 1)


def test_photos_lie_beside_the_catalogue():
    assert str(serving.beside("depot/bins.db", "photos")) == "depot/bins-photos"
    assert serving.beside("sqlite:///bins.db", "bench").name == "bins-bench"
    assert serving.beside("postgresql://a@b/c", "photos").name == "catalogue-photos"


def test_a_taken_port_is_told():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(ServerError, match="can't be used"):
            serving.bound(serving.plan(False, "", other.getsockname()[1], []))


def test_the_command_serves_and_stops_cleanly(tmp_path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-c", "from reader.cli import main; main()", "serve"]
    command += ["--port", str(port), "--workers", "1"]
    server = subprocess.Popen(
        command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        address = re.search(r"http://\S+", server.stdout.readline())[0]
        with urllib.request.urlopen(address, timeout=30) as answer:
            assert b"Choose pictures" in answer.read()
        server.send_signal(signal.SIGINT)
        _, complaints = server.communicate(timeout=30)
    finally:
        server.kill()
    assert server.returncode in (0, 130)  # 0 where the shell made it deaf to Ctrl-C
    assert "Traceback" not in complaints
    assert (tmp_path / "catalogue.db").exists()
