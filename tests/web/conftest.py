import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

sys.path.insert(0, str(Path(__file__).parent))  # reading processes import pretend by name

import pretend  # noqa: E402

from reader.web.app import build  # noqa: E402
from reader.web.settings import Limits, PageSettings  # noqa: E402


@pytest.fixture
def make_app(tmp_path):
    """Builds an app with the pretend reader; keywords go to the settings."""

    def make(**chosen):
        limits = Limits(**chosen.pop("limits", {}))
        values = {
            "catalogue": str(tmp_path / "catalogue.db"),
            "photos": tmp_path / "photos",
            "hosts": ("testserver", "127.0.0.1", "localhost"),
            "code": "GREASY7NUT",
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


def token_of(visitor, path="/"):
    """The token that the page's forms carry."""
    text = visitor.get(path).text
    return text.partition('name="token" value="')[2].partition('"')[0]


@pytest.fixture
def snap(client):
    """Sends photos as a browser without scripts does; gives the address of the part."""

    def send(*photos, kind="unknown", visitor=client):
        token = token_of(visitor)
        files = [("photo", (f"IMG_{n}.jpg", data, "image/jpeg")) for n, data in enumerate(photos)]
        answer = visitor.post(
            "/snap", data={"token": token, "kind": kind}, files=files, follow_redirects=False
        )
        assert answer.status_code == 303, answer.text
        return answer.headers["location"]

    return send
