"""Who gets in. Rules from OWASP's cheat sheets (session management, CSRF, HTTP headers)."""

import pytest
from starlette.routing import Route
from starlette.testclient import TestClient
from visiting import post, token_of

from reader.web.gate import Buckets, Keys, same_code

CODE = "GREASY7NUT"


@pytest.fixture
def stranger(make_app):
    """A visitor who has not paired."""
    with TestClient(make_app(pairing=True), follow_redirects=False) as visitor:
        yield visitor


def test_every_answer_carries_the_headers(client):
    for path in ("/", "/nowhere", "/static/bench.css", "/api/openapi.json"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["referrer-policy"] == "same-origin"


def test_pages_have_nothing_inline_and_nothing_from_elsewhere(client):
    for path in ("/", "/fit?tyre=47-507&rim=507x21C", "/names", "/review", "/bins", "/tally"):
        text = client.get(path).text
        assert " style=" not in text and "<style" not in text and " onclick=" not in text
        assert "<script>" not in text
        outside = [part for part in text.split('"') if part.startswith(("http:", "https:", "//"))]
        assert set(outside) <= {"http://www.w3.org/2000/svg"}


@pytest.mark.parametrize("host", ["evil.example", "192.0.2.7", "", "testserver.evil.example"])
def test_another_host_name_is_refused(client, host):
    """A page that rebinds its own name to this address gets nothing."""
    assert client.get("/", headers={"host": host}).status_code == 421


def test_a_form_without_the_token_does_nothing(client):
    client.get("/")
    answer = client.post("/snap", data={"kind": "tyre"})
    assert answer.status_code == 403


def test_every_route_that_changes_something_wants_the_token(client, make_app):
    client.get("/")
    paths = [
        route.path
        for route in client.app.routes
        if isinstance(route, Route) and "POST" in (route.methods or ())
    ]
    assert len(paths) >= 7
    for path in paths:
        made = path.replace("{part}", "x").replace("{code}", "7KQ4M2XDAB")
        assert client.post(made, data={"token": "wrong"}).status_code in (403, 404), path


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_post_from_another_site_is_refused(client, headers):
    token = token_of(client)
    answer = client.post("/snap", data={"token": token}, headers=headers)
    assert answer.status_code == 403
    assert "another page" in answer.text


def test_the_cookie_is_out_of_reach(client):
    cookie = client.get("/").headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie and "Path=/" in cookie


def test_a_stranger_sees_only_the_pairing_page(stranger):
    assert stranger.get("/").headers["location"] == "/pair"
    assert stranger.get("/names").status_code == 303
    assert stranger.get("/api/seats").status_code == 401
    assert stranger.post("/snap", data={}).status_code == 401
    assert stranger.get("/pair").status_code == 200
    assert stranger.get("/static/bench.css").status_code == 200


def test_a_wrong_code_is_refused_and_slowed(stranger):
    codes = [stranger.get(f"/pair/{n}WRONG").status_code for n in range(12)]
    assert codes[0] == 403 and codes[-1] == 429


def test_the_scanned_code_pairs(stranger):
    assert stranger.get(f"/pair/{CODE}").status_code == 303
    assert stranger.get("/").status_code == 200


def test_the_typed_code_pairs(stranger):
    answer = post_pair(stranger, "greasy-7 nut")
    assert answer.status_code == 303
    assert stranger.get("/").status_code == 200


def post_pair(visitor, code):
    return visitor.post("/pair", data={"token": token_of(visitor, "/pair"), "code": code})


def test_a_made_up_session_is_refused(stranger):
    stranger.cookies.set("bench", Keys().session())
    assert stranger.get("/").status_code == 303


def test_a_program_with_the_code_needs_no_session(stranger):
    ok = {"authorization": f"Bearer {CODE}"}
    assert stranger.get("/api/seats", headers=ok).status_code == 200
    assert stranger.get("/api/seats", headers={"authorization": "Bearer no"}).status_code == 401


def test_a_program_without_the_code_changes_nothing(client):
    new = {"size": "37-590", "bin": "A"}
    assert client.post("/api/catalogue", json=new).status_code == 401
    ok = {"authorization": f"Bearer {CODE}"}
    assert client.post("/api/catalogue", json=new, headers=ok).status_code == 201


def test_too_many_requests_are_slowed(make_app):
    with TestClient(make_app(limits={"requests": (0.0, 5.0)})) as visitor:
        codes = [visitor.get("/names").status_code for _ in range(7)]
    assert codes == [200] * 5 + [429] * 2


def test_a_bucket_fills_again():
    bucket = Buckets(refill=1.0, burst=2.0, most=3)
    assert [bucket.allow("a", now) for now in (0, 0, 0, 1.5, 1.6)] == [
        True,
        True,
        False,
        True,
        False,
    ]
    for name in "bcdef":
        assert bucket.allow(name, 2.0)


def test_faults_of_ours_tell_no_internals(make_app, monkeypatch):
    from reader.web.pages import names

    def broken(*_):
        raise RuntimeError("/secret/path")

    monkeypatch.setattr(names, "rows", broken)
    with TestClient(make_app(), raise_server_exceptions=False) as visitor:
        answer = visitor.get("/names")
    assert answer.status_code == 500
    assert "secret" not in answer.text and "Traceback" not in answer.text
    assert "content-security-policy" in answer.headers


def test_a_broken_catalogue_tells_no_path(client, tmp_path):
    client.app.state.shelf.catalogue.engine.dispose()
    (tmp_path / "catalogue.db").write_bytes(b"not a database" * 400)
    answer = client.get("/review")
    assert answer.status_code == 503
    assert str(tmp_path) not in answer.text


def test_codes_are_compared_without_dashes_and_case():
    assert same_code("greasy 7-nut", CODE) and not same_code("", CODE)


def test_posting_with_the_token_works(client):
    answer = post(client, "/review/7KQ4M2XDAB", act="skip")
    assert answer.status_code == 422 and "no part" in answer.text.lower()


def test_who_is_in_can_let_the_next_phone_in(stranger, client):
    assert stranger.get("/let-in").headers["location"] == "/pair"
    stranger.get(f"/pair/{CODE}")
    page = stranger.get("/let-in").text
    assert "<svg" in page and CODE in page
    assert CODE not in client.get("/let-in").text
