"""Helpers that act as a visitor."""

from __future__ import annotations


def token_of(visitor, path="/"):
    """The token that the page's forms carry."""
    text = visitor.get(path).text
    return text.partition('name="token" value="')[2].partition('"')[0]


def snap(visitor, *photos, kind="unknown", **more):
    """Sends photos as a browser without scripts does; gives the address of the part."""
    files = [("photo", (f"IMG_{n}.jpg", data, "image/jpeg")) for n, data in enumerate(photos)]
    answer = visitor.post(
        "/snap",
        data={"token": token_of(visitor), "kind": kind, **more},
        files=files,
        follow_redirects=False,
    )
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def post(visitor, path, **fields):
    """Sends a plain form with the session's token."""
    return visitor.post(path, data={"token": token_of(visitor), **fields})
