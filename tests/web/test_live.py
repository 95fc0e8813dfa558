"""Sweeps on the page: a clip sent as a file, and live with a clip as the browser's camera."""

import shutil
import ssl
import time
from pathlib import Path

import cv2
import numpy as np
import pytest
import uvicorn
from starlette.testclient import TestClient
from visiting import snap

from reader.errors import ServerError
from reader.web import serving
from reader.web.certificate import certificate
from reader.web.worker import read_part

SAMPLE = Path(__file__).parents[2] / "samples" / "printed-120.jpg"


def frames(count, size=(960, 720)):
    """The shipped sample as a moving phone sees it: the picture drifts by a few pixels."""
    wide, high = size
    picture = cv2.imread(str(SAMPLE))
    scale = max((wide + 80) / picture.shape[1], (high + 80) / picture.shape[0])
    picture = cv2.resize(picture, None, fx=scale, fy=scale)
    for number in range(count):
        x, y = round(40 + 30 * np.sin(number / 5)), round(40 + 20 * np.cos(number / 7))
        yield picture[y : y + high, x : x + wide]


@pytest.fixture(scope="session")
def clip(tmp_path_factory):
    """A WebM as a browser or a phone may record it."""
    path = tmp_path_factory.mktemp("clip") / "sweep.webm"
    film = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"VP80"), 15, (960, 720))
    for frame in frames(30):
        film.write(frame)
    film.release()
    return path


@pytest.fixture(scope="session")
def camera(tmp_path_factory):
    """A clip that Chromium takes for its camera (MJPEG, as its documentation tells)."""
    path = tmp_path_factory.mktemp("camera") / "camera.mjpeg"
    with path.open("wb") as film:
        for frame in frames(40):
            film.write(cv2.imencode(".jpg", frame)[1].tobytes())
    return path


def test_a_clip_is_read_like_a_photo(make_app, clip):
    with TestClient(make_app(work=read_part)) as visitor:
        address = snap(visitor, clip.read_bytes(), kind="tyre")
        part = visitor.app.state.bench.latest(1)[0]
        assert part.ended.wait(60)
        page = visitor.get(address).text
        assert part.reading is not None and part.reading.diameter.told, page
        assert part.lines and part.pictures[0].view


def test_half_a_clip_is_told(make_app, clip):
    with TestClient(make_app(work=read_part)) as visitor:
        address = snap(visitor, clip.read_bytes()[:60], kind="tyre")
        assert visitor.app.state.bench.latest(1)[0].ended.wait(60)
        assert "could not be read" in visitor.get(address).text


def browser_with(play, camera, allow=True):
    args = ["--no-sandbox", "--use-fake-device-for-media-stream"]
    args += [f"--use-file-for-fake-video-capture={camera}"]
    args += ["--use-fake-ui-for-media-stream"] if allow else ["--deny-permission-prompts"]
    return play.launch(executable_path=shutil.which("chromium"), args=args)


@pytest.fixture
def own_browser(chromium):
    """Starts further browsers with a camera."""
    opened = []

    def start(camera, allow=True):
        opened.append(browser_with(chromium.browser_type, camera, allow))
        return opened[-1]

    yield start
    for one in opened:
        one.close()


def test_live_draws_tells_and_stops_by_itself(own_browser, live, camera):
    page = own_browser(camera).new_page(base_url=live())
    told = []
    page.on("response", lambda answer: told.append(answer) if "?kind=" in answer.url else None)
    page.goto("/live?kind=tyre")
    page.wait_for_url("**/part/*", timeout=60_000)
    assert len(told) >= 3 and told[0].status == 200
    assert page.inner_text("h1.size").split()[0].isdigit()
    assert page.locator("img.strip").count() >= 1


def test_live_goes_on_after_a_lost_connection(own_browser, live, camera):
    page = own_browser(camera).new_page(base_url=live())
    page.route("**/live/*?kind=*", lambda route: route.abort())
    page.goto("/live?kind=tyre")
    page.wait_for_selector("[data-hint]:has-text('away')", timeout=30_000)
    page.unroute("**/live/*?kind=*")
    page.wait_for_url("**/part/*", timeout=60_000)


def test_without_permission_the_way_out_is_told(own_browser, live, camera):
    page = own_browser(camera, allow=False).new_page(base_url=live())
    page.goto("/live")
    page.wait_for_selector("[data-hint]:has-text('No camera may be used')", timeout=30_000)
    assert page.is_visible("text=Back")


def test_two_phones_sweep_at_once(own_browser, live, camera):
    address, browser = live(), own_browser(camera)
    pages = [browser.new_page(base_url=address) for _ in range(2)]
    for page in pages:
        page.goto("/live?kind=tyre")
    for page in pages:
        page.bring_to_front()
        page.wait_for_url("**/part/*", timeout=90_000)


def test_a_certificate_is_made_once_and_serves(tmp_path, make_app):
    """Checked by Python's own TLS: the name in the certificate is the one that is called."""
    names = ("192.0.2.7", "127.0.0.1", "localhost", "bench.local", "::1")
    kept = certificate(tmp_path / "own", names)
    assert certificate(tmp_path / "own", tuple(reversed(names))) == kept
    assert certificate(tmp_path / "own", names[1:]).fingerprint != kept.fingerprint
    kept = certificate(tmp_path / "own", names)
    assert len(kept.fingerprint.split(":")) == 32
    assert oct(kept.key.stat().st_mode)[-3:] == "600"
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(kept.certificate, kept.key)


def test_the_page_is_served_over_https(chromium, make_app, tmp_path):
    import threading

    app = make_app(pairing=True, secure=True)
    kept = certificate(tmp_path / "own", ("127.0.0.1", "localhost"))
    config = uvicorn.Config(
        app, port=0, log_level="error", ssl_certfile=kept.certificate, ssl_keyfile=kept.key
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    context = chromium.new_context(ignore_https_errors=True)
    page = context.new_page()
    page.goto(f"https://127.0.0.1:{port}/pair/GREASY7NUT")
    assert page.evaluate("window.isSecureContext") and page.is_visible("text=Sweep live")
    assert context.cookies()[0]["secure"]
    context.close()
    server.should_exit = True
    thread.join(timeout=10)


def test_no_certificate_where_nothing_can_be_kept(tmp_path):
    (tmp_path / "file").write_text("")
    plan = serving.plan(False, "", 8622, [], secure=True)
    settings = serving.settings(
        plan, ("", "", ""), str(tmp_path / "file" / "c.db"), None, "world", 1
    )
    with pytest.raises(ServerError, match="certificate"):
        serving.certified(settings)
