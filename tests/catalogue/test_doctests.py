import doctest
import importlib
import pkgutil

import pytest

import reader.catalogue

NAMES = [module.name for module in pkgutil.iter_modules(reader.catalogue.__path__)]


@pytest.mark.parametrize("name", [name for name in NAMES if name != "migrations"])
def test_examples_in_docstrings(name) -> None:
    module = importlib.import_module(f"reader.catalogue.{name}")
    assert doctest.testmod(module).failed == 0
