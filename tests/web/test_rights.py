"""What reader, helper and keeper may do. Deny by default: OWASP's sheet on authorisation."""

import re

import pretend
import pytest
from starlette.testclient import TestClient
from test_security import every_route
from visiting import post, snap, token_of

from reader.web.rights import Role, needed
from reader.web.security import is_open

CODES = {Role.KEEPER: "GREASY7NUT", Role.HELPER: "SHINY5SPOKE", Role.READER: "QUIET3BELLS"}
FREE = {"uploads": (1e6, 1e6), "requests": (1e6, 1e6), "codes": (1e6, 1e6)}
# What each role may send or take out, written down once more by hand, by path as the routes say.
HELPERS = {
    ("POST", path)
    for path in (
        "/snap", "/live/{name}", "/live/{name}/end", "/outbox/{name}",
        "/outbox/{name}/{photo:int}", "/part/{part}/more", "/part/{part}/again",
        "/part/{part}/choose", "/part/{part}/store", "/bins/{code}/more", "/labels",
        "/api/parts", "/api/parts/{part}/size", "/api/parts/{part}/place", "/api/catalogue",
    )
}  # fmt: skip
KEEPERS = {
    ("GET", "/tally.csv"),
    ("POST", "/bins/{code}"),
    ("POST", "/review/{code}"),
    ("POST", "/doubles/{code}/{other}"),
    ("POST", "/api/doubles"),
    ("PATCH", "/api/catalogue/{code}"),
    ("POST", "/api/review/{code}"),
}
ANYBODY = {("POST", "/me")}


def filled(path):
    """A path with something in each place."""
    made = re.sub(r"{[^}]*:int}", "1", path)
    return re.sub(r"{[^}]*}", "7KQ4M2XDAB", made)


@pytest.fixture(params=list(Role), ids=lambda role: role.name)
def visitor(request, make_app):
    """A phone that has paired with one role's code."""
    app = make_app(pairing=True, limits=FREE)
    with TestClient(app, follow_redirects=False, raise_server_exceptions=False) as phone:
        assert phone.get(f"/pair/{CODES[request.param]}").status_code == 303
        phone.role = request.param
        yield phone


def least(method, path):
    """The role that a route needs, by the lists above."""
    method = "GET" if method == "HEAD" else method
    if (method, path) in KEEPERS:
        return Role.KEEPER
    if (method, path) in HELPERS:
        return Role.HELPER
    assert method in ("GET", "HEAD") or (method, path) in ANYBODY, f"who may {method} {path}?"
    return Role.READER


def test_every_route_by_every_role(visitor):
    """By the session of a phone: 403 where the role is too low, and only there."""
    seen = 0
    token = token_of(visitor)
    for path, methods in every_route(visitor.app):
        if is_open(filled(path)):
            continue
        for method in sorted(methods):
            answer = visitor.request(method, filled(path), headers={"x-form-token": token})
            refused = answer.status_code == 403
            assert refused == (visitor.role < least(method, path)), (method, path, answer.text)
            seen += 1
    assert seen > 60


def test_every_route_by_every_code(make_app):
    """The same for programs, which show a code with each request."""
    app = make_app(pairing=True, limits=FREE)
    with TestClient(app, follow_redirects=False, raise_server_exceptions=False) as program:
        for role, code in CODES.items():
            shown = {"authorization": f"Bearer {code}"}
            for path, methods in every_route(app):
                if is_open(filled(path)):
                    continue
                for method in sorted(methods):
                    answer = program.request(method, filled(path), headers=shown)
                    refused = answer.status_code == 403
                    assert refused == (role < least(method, path)), (role, method, path)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "POST", "TRACE"])
def test_what_nobody_thought_of_is_for_keepers(method):
    assert needed(method, "/anything/new") is Role.KEEPER


def test_a_helper_adds_but_takes_nothing_away(make_app):
    app = make_app(pairing=True, limits=FREE)
    with TestClient(app) as phone:
        phone.get(f"/pair/{CODES[Role.HELPER]}")
        address = snap(phone, pretend.photo(pretend.RED))
        assert post(phone, f"{address}/store", bin="Rack A").status_code == 200
        code = app.state.bench.latest(1)[0].stored
        assert post(phone, f"/bins/{code}/more", quantity="2").status_code == 200
        assert app.state.stock.find(code).quantity == 3
        assert post(phone, f"/bins/{code}/more", quantity="-1").status_code == 403
        assert post(phone, f"/bins/{code}", bin="Rack B", quantity="0").status_code == 403
        assert app.state.stock.find(code).quantity == 3


def test_nobody_lets_in_somebody_with_more_rights(visitor):
    page = visitor.get("/let-in").text
    shown = {role for role, code in CODES.items() if code in page}
    assert shown == {role for role in Role if role <= visitor.role}


def test_a_session_without_a_role_pairs_again(make_app):
    """Those of a time when whoever had the code could do everything."""
    import json
    from base64 import b64encode

    import itsdangerous

    from reader.web.security import COOKIE

    app = make_app(pairing=True)
    with TestClient(app, follow_redirects=False) as phone:
        secret = next(one for one in app.user_middleware if "secret_key" in one.kwargs)
        body = b64encode(json.dumps({"paired": True, "token": "x"}).encode())
        signed = itsdangerous.TimestampSigner(secret.kwargs["secret_key"]).sign(body).decode()
        phone.cookies.set(COOKIE, signed)
        assert phone.get("/bins").headers["location"] == "/pair"


def test_who_holds_the_phone_stands_beside_what_is_changed(make_app):
    with TestClient(make_app(pairing=True, limits=FREE)) as phone:
        phone.get(f"/pair/{CODES[Role.KEEPER]}")
        post(phone, "/me", person="Wren")
        address = snap(phone, pretend.photo(pretend.RED))
        post(phone, f"{address}/store", bin="Rack A")
        code = phone.app.state.bench.latest(1)[0].stored
        post(phone, f"/bins/{code}", bin="Rack B", quantity="1")
        assert "Wren" in phone.get(f"/bins/{code}").text
