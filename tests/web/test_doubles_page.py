"""Doubles on the page and for programs."""

import pytest
from visiting import post
from worn import jpeg, photographed, put, surface

from reader import catalogue as store

OK = {"authorization": "Bearer GREASY7NUT"}


@pytest.fixture
def pair(client):
    """Two folders that show one part, in the page's catalogue."""
    catalogue = client.app.state.stock.catalogue
    return [
        put(catalogue, name, jpeg(photographed(surface(1), n)))
        for n, name in ((11, "a"), (12, "b"))
    ]


def test_the_page_shows_the_pair_and_keeps_the_word(client, pair):
    text = client.get("/doubles").text
    one, other = sorted(pair)
    assert f'src="/doubles/{one}/{other}"' in text
    assert client.get(f"/doubles/{one}/{other}").content.startswith(b"\x89PNG")
    answer = post(client, f"/doubles/{one}/{other}", said="same")
    assert "No two parts look like one" in answer.text and "Take it back" in answer.text
    (settled,) = store.doubles(client.app.state.stock.catalogue, settled=True)
    assert settled.said == "same" and settled.gone in pair


def test_programs_see_and_settle_pairs(client, pair):
    store.suggest(client.app.state.stock.catalogue)
    (seen,) = client.get("/api/doubles", headers=OK).json()
    assert {seen["part"]["code"], seen["other"]["code"]} == set(pair) and seen["likeness"] > 0.9
    word = {"part": pair[0], "other": pair[1], "said": "different"}
    assert client.post("/api/doubles", json=word, headers=OK).json()["said"] == "different"
    assert client.get("/api/doubles", headers=OK).json() == []


@pytest.mark.parametrize("done", ["x", "a-b", "7KQ4M2XDAB-7KQ4M2XDAC", "<b>-<i>"])
def test_a_crafted_done_steers_no_form(client, done):
    assert "Noted for" not in client.get("/doubles", params={"done": done}).text


def test_parts_without_pictures_have_none_to_show(client):
    assert client.get("/doubles/7KQ4M2XDAB/7KQ4M2XDAC").status_code == 404
