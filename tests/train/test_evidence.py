"""Markings without pixels resolve as those with."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from reader.markings import automaton, find_all, parse_text
from reader.records import Hypothesis, Photo, Region, Strip
from reader.resolve.resolve import evidence_features, resolve
from reader.resolve.rivals import gather
from reader.tables import load_tables
from reader.train.calibrate.evidence import thin, where

ALPHABET = " 0123456789-xX/C"
TABLES = load_tables()
PHOTO = Photo("a.jpg", np.zeros((400, 600, 3), np.uint8), "tyre")


def hypothesis(text, y=50.0, seed=0, frames=True, engine="moulded"):
    """A line of letters in a photo, letters lasting one to three frames with some doubt."""
    line = np.array([[20, y], [580, y + 20]], np.float32)
    strip = Strip(Region(PHOTO, line, 30.0), np.zeros((48, 400), np.uint8))
    if not frames:
        return Hypothesis(engine, text, 0.9, strip)
    rng = np.random.default_rng(seed)
    columns = []
    for letter in text:
        columns += [ALPHABET.index(letter) + 1] * int(rng.integers(1, 4)) + [0]
    odds = rng.normal(0, 1, (len(columns), len(ALPHABET) + 1)).astype(np.float32)
    odds[np.arange(len(columns)), columns] += 7
    logs = odds - np.log(np.exp(odds).sum(axis=1, keepdims=True))
    return Hypothesis(engine, text, 0.9, strip, logs.astype(np.float32), ALPHABET)


def read(one):
    if one.log_probs is None:
        return list(find_all(one))
    found = automaton.score(one.log_probs, one.alphabet)
    return [replace(marking, hypothesis=one) for marking in found]


def test_thin_markings_resolve_the_same_and_are_small():
    lines = [
        hypothesis("28-622 700x28C"),
        hypothesis("28-622 700x28C", seed=1),
        hypothesis("35-590", y=200, seed=2),
        hypothesis("28-622 700x28C", frames=False, engine="scene"),
    ]
    markings = [marking for line in lines for marking in read(line)]
    kept = thin(markings)
    full, again = (resolve(some, "tyre", TABLES) for some in (markings, kept))
    assert full.candidates == again.candidates and full.verdict == again.verdict
    assert evidence_features(markings, "unknown", TABLES) == evidence_features(
        kept, "unknown", TABLES
    )
    assert [len(p.looks) for p in gather(markings)] == [len(p.looks) for p in gather(kept)]
    assert len(pickle.dumps(kept)) < 200_000 < len(pickle.dumps(markings))
    assert kept[0].hypothesis.strip.region.photo is kept[-1].hypothesis.strip.region.photo


@settings(max_examples=50)
@given(st.lists(st.integers(0, 4), max_size=30))
def test_letters_keep_their_places(best):
    logs = np.full((len(best), 5), -9.0, np.float32)
    logs[np.arange(len(best)), best] = -0.1
    kept = where(logs).argmax(axis=1) if best else np.zeros(0, int)
    for t, letter in enumerate(best):
        assert (kept[t] == 0) == (letter == 0)
        if t and letter:
            assert (kept[t] == kept[t - 1]) == (letter == best[t - 1])


def test_typed_markings_stay_as_they_are():
    markings = parse_text("47-507")
    assert [m.numbers for m in thin(markings)] == [m.numbers for m in markings]
