"""Who gets in. Rules from OWASP's cheat sheets (session management, CSRF, HTTP headers)."""

import json
import re
import socket
import time
from base64 import b64encode

import itsdangerous
import pretend
import pytest
from starlette.routing import Mount, Route
from starlette.testclient import TestClient
from visiting import post, snap, token_of

from reader.web.failures import flat
from reader.web.rights import same_code
from reader.web.security import COOKIE, Buckets, is_open

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
    flags = cookie.lower()
    assert "httponly" in flags and "samesite=lax" in flags and "path=/" in flags


def test_a_stranger_sees_only_the_pairing_page(stranger):
    assert stranger.get("/").headers["location"] == "/pair"
    assert stranger.get("/names").status_code == 303
    assert stranger.get("/api/diameters").status_code == 401
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
    body = b64encode(json.dumps({"role": 3, "token": "x"}).encode())
    signed = itsdangerous.TimestampSigner("another secret").sign(body).decode()
    stranger.cookies.set(COOKIE, signed)
    assert stranger.get("/").status_code == 303


def test_a_program_with_the_code_needs_no_session(stranger):
    ok = {"authorization": f"Bearer {CODE}"}
    assert stranger.get("/api/diameters", headers=ok).status_code == 200
    assert stranger.get("/api/diameters", headers={"authorization": "Bearer no"}).status_code == 401


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

    monkeypatch.setattr(names, "diameters", broken)
    with TestClient(make_app(), raise_server_exceptions=False) as visitor:
        answer = visitor.get("/names")
    assert answer.status_code == 500
    assert "secret" not in answer.text and "Traceback" not in answer.text
    assert "content-security-policy" in answer.headers


def test_a_broken_catalogue_tells_no_path(client, tmp_path):
    client.app.state.stock.catalogue.engine.dispose()
    (tmp_path / "catalogue.db").write_bytes(b"not a database" * 400)
    answer = client.get("/review")
    assert answer.status_code == 503
    assert str(tmp_path) not in answer.text


def test_codes_are_compared_without_dashes_and_case():
    assert same_code("greasy 7-nut", CODE) and not same_code("", CODE)


def test_posting_with_the_token_works(client):
    answer = post(client, "/review/7KQ4M2XDAB", act="skip")
    assert answer.status_code == 404 and "no part" in answer.text.lower()


def test_who_is_in_can_let_the_next_phone_in(stranger, client):
    assert stranger.get("/let-in").headers["location"] == "/pair"
    stranger.get(f"/pair/{CODE}")
    page = stranger.get("/let-in").text
    assert "<svg" in page and CODE in page
    assert CODE not in client.get("/let-in").text


def every_route(app):
    """Path and methods of every route, those of mounted apps with their prefix."""
    for route in flat(app.routes):
        if isinstance(route, Mount) and getattr(route.app, "routes", None):
            for path, methods in every_route(route.app):
                yield f"{route.path}{path}", methods
        elif hasattr(route, "methods"):
            yield route.path, route.methods or ()


def test_no_route_lets_a_stranger_in_by_any_method(make_app):
    """Only pairing and files that are alike for everybody are open; compared as whole paths."""
    seen, free = 0, {"uploads": (1e6, 1e6), "requests": (1e6, 1e6), "codes": (1e6, 1e6)}
    stranger = TestClient(make_app(pairing=True, limits=free), follow_redirects=False)
    for path, methods in every_route(stranger.app):
        made = re.sub(r"{[^}]*}", "7KQ4M2XDAB", path)
        if is_open(made):
            assert path.startswith(("/pair", "/static")) or path in (
                "/manifest.webmanifest",
                "/offline.js",
                "/offline",
            ), path
            continue
        for method in {*methods, "GET", "POST", "PUT", "PATCH", "DELETE"}:
            answer = stranger.request(method, made)
            shut = answer.status_code == 401 or answer.headers.get("location") == "/pair"
            assert shut, (method, path, answer.status_code)
            seen += 1
    assert seen > 100


@pytest.mark.parametrize(
    "path", ["/pairs", "/pairing", "/pair/x/y", "/static", "/offlines", "//pair", "/pair/../bins"]
)
def test_what_only_begins_like_an_open_path_is_shut(stranger, path):
    answer = stranger.get(path)
    assert answer.status_code == 401 or answer.headers.get("location") == "/pair"


def test_guesses_by_bearer_are_slowed_like_those_by_form(stranger):
    def guess(code):
        return stranger.get("/api/diameters", headers={"authorization": f"Bearer {code}"})

    codes = [guess(f"{n}WRONG").status_code for n in range(12)]
    assert codes[0] == 401 and codes[-1] == 429
    assert guess(CODE).status_code == 429  # a right one tells the guesser nothing now
    assert stranger.get(f"/pair/{CODE}").status_code == 429


def test_an_unknown_code_is_not_found(client):
    for path in ("/bins/7KQ4M2XDAB", "/bins/rubber", "/bins/7KQ4M2XDAB/label"):
        assert client.get(path).status_code == 404, path
    ok = {"authorization": f"Bearer {CODE}"}
    assert client.get("/api/catalogue/7KQ4M2XDAB", headers=ok).status_code == 404


def test_allow_names_every_method(client):
    assert client.delete("/bins/7KQ4M2XDAB").status_code == 405
    allow = client.put("/bins/7KQ4M2XDAB", headers={}).headers["allow"]
    assert allow == "GET, HEAD, POST"
    ok = {"authorization": f"Bearer {CODE}"}
    allow = client.delete("/api/catalogue/7KQ4M2XDAB", headers=ok).headers["allow"]
    assert allow == "GET, PATCH"


def test_the_description_names_its_security_scheme(client):
    document = client.get("/api/openapi.json").json()
    schemes = document["components"]["securitySchemes"]
    (name,) = [name for name, one in schemes.items() if one["scheme"] == "bearer"]
    for path, jobs in document["paths"].items():
        for job in jobs.values():
            assert {name: []} in job["security"], path


@pytest.mark.parametrize("done", ["../part/x", "//evil.example", "quiz", "7KQ4M2XDAB", '"><b>'])
def test_a_crafted_done_steers_no_form(client, done):
    page = client.get("/review", params={"done": done}).text
    assert "Noted for" not in page and done not in page.partition("<main")[2]


def test_a_bins_name_stays_one_value_of_the_address(client):
    address = snap(client, pretend.photo(pretend.GREEN))
    post(client, f"{address}/store", bin="A")
    code = client.get("/review").text.partition('action="/review/')[2].partition('"')[0]
    fields = {"token": token_of(client), "act": "skip", "bin": "A&done=x#y"}
    answer = client.post(f"/review/{code}", data=fields, follow_redirects=False)
    assert answer.headers["location"] == f"/review?done={code}&bin=A%26done%3Dx%23y"


def test_a_form_saved_over_a_newer_change_is_told(client):
    address = snap(client, pretend.photo(pretend.RED))
    post(client, f"{address}/store", bin="Rack A")
    code = client.app.state.bench.latest(1)[0].stored
    page = client.get(f"/bins/{code}").text
    seen = page.partition('name="seen" value="')[2].partition('"')[0]
    first = {"seen": seen, "bin": "Rack B", "quantity": "2", "note": "mine"}
    assert post(client, f"/bins/{code}", **first).status_code == 200
    second = {"seen": seen, "bin": "Rack C", "quantity": "5", "note": "yours"}
    answer = post(client, f"/bins/{code}", **second)
    assert answer.status_code == 409 and "Somebody changed this part" in answer.text
    assert 'value="yours"' in answer.text and "<strong>Rack B</strong>" in answer.text
    fresh = answer.text.partition('name="seen" value="')[2].partition('"')[0]
    assert post(client, f"/bins/{code}", **{**second, "seen": fresh}).status_code == 200
    assert "Rack C" in client.get(f"/bins/{code}").text


def test_nothing_that_was_typed_is_cut_off_in_silence(client):
    address = snap(client, pretend.photo(pretend.RED))
    long = "worn " * 20
    answer = post(client, f"{address}/store", bin="A", condition=long)
    assert answer.status_code == 422 and "too long" in answer.text
    assert client.app.state.bench.latest(1)[0].stored is None
    assert client.get("/fit", params={"tyre": "47-507" + " " * 40 + "x" * 40}).status_code == 422


def test_silent_connections_lock_nobody_else_out(live):
    """Other addresses of the loop stand for other phones (RFC 1122: all of 127/8 is this host)."""
    address = live(limits={"connections": 5, "head_seconds": 30.0})
    port = int(address.rpartition(":")[2])
    silent = [
        socket.create_connection(("127.0.0.1", port), source_address=("127.0.0.2", 0))
        for _ in range(60)
    ]
    time.sleep(0.3)
    assert ask(port, "127.0.0.3").startswith(b"HTTP/1.1 200")
    silent[-1].settimeout(5)
    try:
        silent[-1].sendall(b"GET / HTTP/1.1\r\n")
        assert silent[-1].recv(10) == b""
    except ConnectionError:
        pass  # reset, which says the same
    for one in silent:
        one.close()


def ask(port, source):
    with socket.create_connection(("127.0.0.1", port), 5, source_address=(source, 0)) as wire:
        wire.sendall(b"GET /static/bench.css HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n")
        return wire.recv(100)


def test_a_head_that_never_ends_is_cut_off(live):
    address = live(limits={"head_seconds": 0.5})
    port = int(address.rpartition(":")[2])
    with socket.create_connection(("127.0.0.1", port), timeout=10) as wire:
        begun = time.monotonic()
        try:
            for letter in b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx: " + b"y" * 60:
                wire.sendall(bytes([letter]))
                time.sleep(0.05)
        except OSError:
            pass
        assert time.monotonic() - begun < 2.5
    assert ask(port, "127.0.0.1").startswith(b"HTTP/1.1 200")


def test_pairing_survives_a_restart_unless_told_otherwise(make_app):
    with TestClient(make_app(pairing=True), follow_redirects=False) as visitor:
        visitor.get(f"/pair/{CODE}")
        cookie = visitor.cookies[COOKIE]
    for unpair, wanted in ((False, 200), (True, 303)):
        with TestClient(make_app(pairing=True, unpair=unpair), follow_redirects=False) as visitor:
            visitor.cookies.set(COOKIE, cookie)
            assert visitor.get("/").status_code == wanted


def test_pages_are_compressed_but_not_where_the_code_stands(client):
    answer = client.get("/", headers={"accept-encoding": "gzip"})
    assert answer.headers["content-encoding"] == "gzip"
    for path in ("/let-in", "/pair"):
        answer = client.get(path, headers={"accept-encoding": "gzip"})
        assert "content-encoding" not in answer.headers, path


def test_the_token_is_written_anew_on_every_page_and_stays_good(client):
    """BREACH (Gluck, Harris and Prado, 2013): a secret that is compressed must not stay alike."""
    first, second = token_of(client), token_of(client)
    assert first != second
    for token in (first, second):
        assert client.post("/snap", data={"token": token}).status_code == 400
    assert client.post("/snap", data={"token": first[:-4] + "AAAA"}).status_code == 403
    assert client.post("/snap", data={"token": "ä"}).status_code == 403
