"""Strips in, letter evidence out. One module per engine; each follows `engine.Engine`."""

from __future__ import annotations

from reader.errors import EngineError
from reader.ocr.engine import Engine
from reader.ocr.moulded import Moulded
from reader.ocr.scene import Scene
from reader.ocr.tesseract import Tesseract

ENGINES: list[type[Engine]] = [Moulded, Scene, Tesseract]
"""All engines, the most trusted first."""


def engine(name: str) -> Engine:
    """The engine of that name, not yet opened.

    Raises:
        EngineError: there is no such engine.
    """
    for kind in ENGINES:
        if kind.name == name:
            return kind()
    known = ", ".join(kind.name for kind in ENGINES)
    raise EngineError(f"there is no engine '{name}'", f"choose from: {known}")
