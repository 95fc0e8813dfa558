"""Room for large photos: one of 50 megapixels takes half a GB while it is read.

So only half of the workers of one machine (on two cores: one) read large photos at the same time;
the others go on with ordinary ones. Without this, memory would be a matter of luck.
"""

from __future__ import annotations

from contextlib import AbstractContextManager, ExitStack
from typing import Any

from reader.photo.load import size

LARGE = 24_000_000  # pixels; phones' usual photos have 12 million
_few: AbstractContextManager[Any] | None = None


def at_once(workers: int) -> int:
    """How many large photos may be in work at the same time."""
    return max(1, workers // 2)


def share(few: AbstractContextManager[Any]) -> None:
    """Begin a worker: `few`, which all workers share, lets in `at_once` of them."""
    global _few
    _few = few


def wait(held: ExitStack, data: bytes, name: str) -> None:
    """Wait until there is room for a photo; `held` keeps it until the part has been read.

    Raises:
        PhotoError: no usable photo.
    """
    global _few
    if _few is None:
        return
    wide, high = size(data, name)
    if wide * high > LARGE:
        few, _few = _few, None  # a part's second large photo needs no more
        held.callback(share, few)
        held.enter_context(few)
