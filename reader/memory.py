"""Memory: handed back to the system after a large photo, and left alone while a program starts."""

from __future__ import annotations

import ctypes
import gc
from collections.abc import Iterator
from contextlib import contextmanager, suppress


def give_back() -> None:
    """Hand back what is free in this process; the C library keeps most of it otherwise.

    Takes some milliseconds. Does nothing where the C library is not glibc.
    """
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Import modules in here: no search for garbage, which a program's own parts never become.

    That takes an eighth of the time of a short command.
    """
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if searching:
            gc.enable()
