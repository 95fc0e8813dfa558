import shutil
import sys
import threading
import time
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import sync_playwright
from starlette.testclient import TestClient

sys.path.insert(0, str(Path(__file__).parent))  # reading processes import pretend by name

import pretend  # noqa: E402

from reader.web.app import build  # noqa: E402
from reader.web.connections import patient  # noqa: E402
from reader.web.settings import Limits, PageSettings  # noqa: E402

MISSING = (
    "This test needs the browser Chromium: apt-get install chromium, or without root "
    "'playwright install chromium'; or leave such tests out: pytest -m 'not chromium'."
)


@pytest.fixture
def make_app(tmp_path):
    """Builds an app with the pretend reader; keywords go to the settings."""

    def make(**chosen):
        limits = Limits(**chosen.pop("limits", {}))
        values = {
            "catalogue": str(tmp_path / "catalogue.db"),
            "photos": tmp_path / "photos",
            "folder": tmp_path / "bench",
            "hosts": ("testserver", "127.0.0.1", "localhost"),
            "code": "GREASY7NUT",
            "helper_code": "SHINY5SPOKE",
            "reader_code": "QUIET3BELLS",
            "work": pretend.read_part,
            "limits": limits,
            **chosen,
        }
        return build(PageSettings(**values))

    return make


@pytest.fixture
def client(make_app):
    """A visitor on a server that needs no pairing."""
    with TestClient(make_app()) as visitor:
        yield visitor


@pytest.fixture
def live(make_app):
    """Starts real servers on free ports; gives their addresses."""
    stops = []

    def start(**chosen):
        app = make_app(**chosen)
        protocol = patient(app.state.settings.limits)
        config = uvicorn.Config(app, port=0, log_level="error", server_header=False, http=protocol)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        while not server.started:
            assert thread.is_alive(), "the server did not start"
            time.sleep(0.02)
        stops.append((server, thread))
        port = server.servers[0].sockets[0].getsockname()[1]
        return f"http://127.0.0.1:{port}"

    yield start
    for server, thread in stops:
        server.should_exit = True
        thread.join(timeout=20)


@pytest.fixture(scope="session")
def chromium():
    """A headless browser: Debian's, whatever is called so on the path, or Playwright's own."""
    with sync_playwright() as play:
        own = play.chromium.executable_path
        path = shutil.which("chromium") or shutil.which("chromium-browser")
        path = path or (own if Path(own).exists() else None)
        if path is None:
            pytest.fail(MISSING, pytrace=False)
        browser = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()
