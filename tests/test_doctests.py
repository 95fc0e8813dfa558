"""Every example in a docstring runs, wherever it stands."""

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FILES = [
    path
    for path in sorted((ROOT / "reader").rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_examples_in_docstrings(path):
    name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    if ".train." in name:
        pytest.importorskip("torch")  # comes with the extra "train" only
    told = doctest.testmod(importlib.import_module(name), optionflags=doctest.ELLIPSIS)
    assert told.attempted > 0
    assert told.failed == 0
