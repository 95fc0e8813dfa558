"""With what a reading was made: engines, models, tables, libraries; tells two readers apart."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version

from reader import checksums
from reader.errors import EngineError
from reader.ocr import ENGINES, engine

# Whatever can change a reading by another version of itself.
LIBRARIES = (
    "tyremark", "numpy", "onnxruntime", "opencv-python-headless", "pi-heif", "pillow", "rapidocr",
)  # fmt: skip
SHORT = 16  # hexadecimal digits of a checksum that are kept
NEEDED = "moulded"  # our own recogniser; without it everything is read worse


def assure_ready(names: Sequence[str]) -> None:
    """Make sure before the first photo that these engines exist and reading is of use.

    Raises:
        EngineError: no such engine; our own model or a table is missing or damaged; or none of
            them works.
    """
    assure_own(names)
    lacking = wanting(names)
    if len(lacking) == len(names):
        engine(lacking[0]).describe()  # raises its reason


def assure_own(names: Sequence[str]) -> None:
    """The part of `assure_ready` that takes no time: the engines' names, our models, our tables.

    Raises:
        EngineError: no such engine; our own model or a table is missing or damaged.
    """
    for name in names:
        engine(name)
    checksums.assure(checksums.DATA / "finder.onnx")
    checksums.digest_of_tables()
    if NEEDED in names:
        engine(NEEDED).describe()


def working(names: Sequence[str]) -> tuple[str, ...]:
    """Those of the engines that can read here."""
    lacking = wanting(names)
    return tuple(name for name in names if name not in lacking)


@lru_cache(maxsize=8)
def _wanting(names: tuple[str, ...]) -> tuple[str, ...]:
    lacking = []
    for name in names:
        try:
            engine(name).describe()
        except EngineError:
            lacking.append(name)
    return tuple(lacking)


def wanting(names: Sequence[str]) -> tuple[str, ...]:
    """Those of the engines that can't read here; found out once a process."""
    return _wanting(tuple(names))


@lru_cache(maxsize=8)
def _stamp(names: tuple[str, ...]) -> dict[str, str]:
    made = {f"engine {kind.name}": _described(kind.name) for kind in ENGINES if kind.name in names}
    made["finder"] = checksums.assure(checksums.DATA / "finder.onnx")[:SHORT]
    made["tables"] = checksums.digest_of_tables()[:SHORT]
    for library in LIBRARIES:
        try:
            made[library] = version(library)
        except PackageNotFoundError:
            made[library] = "missing"
    return made


def stamp(names: Sequence[str]) -> Mapping[str, str]:
    """What reads here with these engines: part -> version or checksum.

    Raises:
        EngineError: our own finder or a table is missing or damaged.
    """
    return _stamp(tuple(names))


def as_json(made: Mapping[str, str]) -> str:
    """A stamp as it is kept with a reading."""
    return json.dumps(dict(made), sort_keys=True)


def difference(here: Mapping[str, str], there: Mapping[str, str]) -> str:
    """The first thing in which two readers differ, in words; '' if they read alike.

    >>> difference({"numpy": "2.1"}, {"numpy": "2.2"})
    'numpy 2.2 instead of 2.1'
    """
    for name in sorted({*here, *there}):
        if here.get(name) != there.get(name):
            return f"{name} {there.get(name, 'missing')} instead of {here.get(name, 'none')}"
    return ""


def _described(name: str) -> str:
    try:
        return engine(name).fingerprint()
    except EngineError:
        return "missing"
