"""Freest readings of frames, against a plain collapse by itertools.groupby."""

from itertools import groupby

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reader.text.ctc import runs, starts

FRAMES = st.lists(st.integers(0, 3), max_size=40)


def plain(frames):
    """Class, first and last frame of each letter, by Graves' rule (ICML 2006, section 3)."""
    place, found = 0, []
    for sign, group in groupby(frames):
        count = len(list(group))
        if sign:
            found.append((sign, place, place + count - 1))
        place += count
    return found


@given(FRAMES)
def test_letters_are_runs_of_one_class_without_blanks(frames):
    wanted = plain(frames)
    best = np.array(frames, np.intp)
    assert runs(best) == wanted
    assert starts(best).tolist() == [first for _, first, _ in wanted]


def test_no_frames_hold_no_letter():
    nothing = starts(np.zeros(0, np.intp))
    assert nothing.tolist() == [] and nothing.dtype == np.intp
