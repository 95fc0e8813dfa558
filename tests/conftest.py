"""What all tests share: helpers, and marks for the tests that need another program."""

import sys
from pathlib import Path

import pytest
from hypothesis import settings

from reader.markings import find_all

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")
sys.path.insert(0, str(Path(__file__).parent))  # worker processes import `seen` by name

import seen  # noqa: E402

MARKS = {"chromium": pytest.mark.chromium, "postgres_server": pytest.mark.postgres}


def pytest_collection_modifyitems(items):
    """Mark what talks to another program, so that it can be left out where that is missing."""
    for item in items:
        for fixture in MARKS.keys() & set(getattr(item, "fixturenames", ())):
            item.add_marker(MARKS[fixture])


@pytest.fixture(scope="session")
def line():
    """One line of text as an engine would see it."""
    return seen.line


@pytest.fixture(scope="session")
def found():
    """All markings of some lines."""
    return lambda *lines: [marking for one in lines for marking in find_all(one)]
