"""What every reading engine offers, so that the stages after it need not know which one it was."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from reader.records import Hypothesis, Strip


class Engine(Protocol):
    """Turns strips into letter evidence. Making one is cheap; models load on the first `read`."""

    name: str
    late: bool  # costs so much, or adds so little, that it is asked last
    finds: bool  # its detector is asked for lines too (see `cascade`)

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """Read every strip; the result has one hypothesis per strip, in the same order.

        Raises:
            EngineError: the engine is missing or failed; other engines can still go on.
        """
        ...

    def describe(self) -> str:
        """One line for people: which program or model, which version, where from.

        Raises:
            EngineError: it is missing or damaged, and can't read.
        """
        ...

    def fingerprint(self) -> str:
        """Short text that differs where two installations may read differently.

        Raises:
            EngineError: it is missing or damaged.
        """
        ...
