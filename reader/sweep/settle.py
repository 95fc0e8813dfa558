"""The end of a sweep: strips laid together, further engines on what is still open, the answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reader.pipeline import Settings
from reader.records import Reading

if TYPE_CHECKING:
    from reader.sweep.sweep import Sweep


def settle(sweep: Sweep, settings: Settings) -> Reading:
    """The answer of all frames together."""
    from reader.resolve.resolve import resolve
    from reader.tables import load_tables

    fused = sweep.fused()
    markings = [m for one in fused for m in one.markings]
    return resolve(markings, sweep._part, load_tables(), settings.market)
