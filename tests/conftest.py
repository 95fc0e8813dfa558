"""What all tests share: helpers, and marks for the tests that need another program."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

from reader.markings import find_all
from reader.threads import VARIABLE, cores

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")
sys.path.insert(0, str(Path(__file__).parent))  # worker processes import `seen` by name

import seen  # noqa: E402

MOST_WORKERS = 8  # each takes up to a GB with torch, the models and a browser
MARKS = {"chromium": pytest.mark.chromium, "postgres_server": pytest.mark.postgres}


def pytest_collection_modifyitems(items):
    """Mark what talks to another program, so that it can be left out where that is missing."""
    for item in items:
        for fixture in MARKS.keys() & set(getattr(item, "fixturenames", ())):
            item.add_marker(MARKS[fixture])


@pytest.hookimpl(optionalhook=True)  # not every run has xdist
def pytest_xdist_auto_num_workers(config):
    """A run of all tests is spread over the cores; named files and tests start faster in one."""
    if config.args_source is not pytest.Config.ArgsSource.TESTPATHS:
        return 0
    here = cores()
    workers = min(here, MOST_WORKERS)
    os.environ.setdefault(VARIABLE, str(here // workers))  # each reader's own threads come on top
    return workers if workers > 1 else 0


@pytest.fixture(scope="session", autouse=True)
def screen():
    """Lists are as wide as the screen; here as on a wide one, whoever runs the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "100")
        yield


@pytest.fixture(scope="session")
def line():
    """One line of text as an engine would see it."""
    return seen.line


@pytest.fixture(scope="session")
def found():
    """All markings of some lines."""
    return lambda *lines: [marking for one in lines for marking in find_all(one)]
