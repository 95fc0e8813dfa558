"""The same line found more than once, at several sizes of the photo or from several seeds."""

from __future__ import annotations

import numpy as np

from reader.records import Floats, Region

Followed = tuple[Region, float]  # and the agreement between walk and told reading direction


def without_doubles(found: list[Followed]) -> list[Followed]:
    """Drop lines that another, longer or surer one covers."""

    def worth(item: Followed) -> float:
        region = item[0]
        steps = np.diff(region.centreline, axis=0)
        length = float(np.hypot(steps[:, 0], steps[:, 1]).sum()) / region.height
        return region.score * min(length, 12.0)  # a size line is no longer; more proves no more

    kept: list[Followed] = []
    for region, agreement in sorted(found, key=worth, reverse=True):
        if not any(covers(other, region) for other, _ in kept):
            kept.append((region, agreement))
    return kept


def covers(one: Region, two: Region, share: float = 0.6) -> bool:  # most of it
    """Whether more than this share of `two` lies on `one`, at a like height."""
    if not 0.55 < one.height / two.height < 1.8:  # else it is another line
        return False
    low, high = one.centreline.min(0) - one.height, one.centreline.max(0) + one.height
    if (two.centreline.max(0) < low).any() or (two.centreline.min(0) > high).any():
        return False
    gaps = np.hypot(*(_dense(two)[:, None] - _dense(one)[None]).transpose(2, 0, 1)).min(1)
    return bool((gaps < 0.6 * one.height).mean() > share)  # lines of text lie further apart


def _dense(region: Region) -> Floats:
    """The centre line with points a quarter of the height apart, so that none lies between two."""
    line = region.centreline
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    # a quarter of the height
    spots = np.linspace(0, run[-1], max(2, int(4 * run[-1] / region.height)))
    return np.stack([np.interp(spots, run, line[:, axis]) for axis in (0, 1)], 1)
