import os

import pytest

from reader.threads import VARIABLE, cores


def test_the_environment_tells_how_many(monkeypatch):
    monkeypatch.setenv(VARIABLE, "3")
    assert cores() == 3


@pytest.mark.parametrize("told", ["", "0", "many", "-2", "1.5"])
def test_anything_else_means_all_that_may_be_used(monkeypatch, told):
    monkeypatch.setenv(VARIABLE, told)
    assert 1 <= cores() <= (os.cpu_count() or 1)
