"""How many processor cores the engines may use: set by whoever runs many readers side by side."""

from __future__ import annotations

import os

VARIABLE = "TYREMARK_THREADS"


def cores() -> int:
    """Cores for one reader: TYREMARK_THREADS, else all that this process may use."""
    told = os.environ.get(VARIABLE, "")
    if told.isdigit() and int(told) > 0:
        return int(told)
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
