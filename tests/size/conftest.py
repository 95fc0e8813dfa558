"""Engine output for the tests, and the markings in it."""

from __future__ import annotations

import pytest
import seen

from reader.markings import find_all
from reader.records import Hypothesis, Marking


def _found(*hypotheses: Hypothesis) -> list[Marking]:
    """All markings of all lines."""
    return [marking for one in hypotheses for marking in find_all(one)]


@pytest.fixture(scope="session")
def line():
    return seen.line


@pytest.fixture(scope="session")
def found():
    return _found
