"""A sweep stops by itself only after enough looks, and is never surer than its looks are."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from reader.pipeline import Settings
from reader.records import Verdict
from reader.sweep import Clip
from reader.sweep.sweep import Sweep
from reader.sweep.trust import FEWEST_LOOKS, MOST_UNSURE, SHORTEST, assured, held, is_done

SAMPLE = Path(__file__).parents[2] / "samples" / "sweeps" / "sweep-worn-505.mp4"


@pytest.fixture(scope="module")
def swept():
    """The sweep of a clip that is sure, and its states after each frame."""
    sweep, states = Sweep(Settings(engines=("moulded",))), []
    for frame in Clip(SAMPLE):
        states.append((frame.seconds, sweep.add(frame.pixels, frame.seconds)))
        if states[-1][1].done:
            break
    return sweep, states


def test_it_stops_by_itself_but_not_at_the_first_looks(swept):
    _, states = swept
    assert [state.done for _, state in states].index(True) == len(states) - 1
    seconds, last = states[-1]
    assert last.looks >= FEWEST_LOOKS and seconds - states[0][0] >= SHORTEST
    assert last.reading.verdict is Verdict.SURE


def test_sure_stays_sure_where_the_looks_read_it_by_themselves(swept):
    sweep, states = swept
    reading = states[-1][1].reading
    assert assured(reading, sweep.fused()) is reading


def test_sure_is_held_where_no_look_reads_it_by_itself(swept):
    sweep, states = swept
    fused = sweep.fused()
    for one in fused:
        for name in ("looks", "turned"):
            unclear = [_unclear(look) for look in getattr(one.track, name)]
            setattr(one.track, name, unclear)
    reading = assured(states[-1][1].reading, fused)
    assert reading.verdict is reading.diameter.verdict is reading.width.verdict is Verdict.LIKELY
    assert reading.best.probability <= MOST_UNSURE and reading.bsd_probability <= MOST_UNSURE
    assert not is_done(reading, fused)


def _unclear(look):
    logs = look.hypothesis.log_probs
    flat = np.full_like(logs, -np.log(logs.shape[1]))
    return replace(look, hypothesis=replace(look.hypothesis, log_probs=flat), costs={})


def test_what_is_not_sure_is_held_as_it_is(swept):
    reading = replace(swept[1][0][1].reading, verdict=Verdict.CANT_TELL)
    assert held(reading).verdict is Verdict.CANT_TELL
