"""The freest reading of frames: the best class of each, repeats collapsed, blanks dropped.

The rule follows Graves et al., 'Connectionist temporal classification', ICML 2006, section 3.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def starts(best: NDArray[np.integer]) -> NDArray[np.intp]:
    """The frames where a letter of the freest reading begins.

    Args:
        best: T, the best class of each frame; 0 is the blank.

    >>> starts(np.array([0, 3, 3, 0, 3, 5]))
    array([1, 4, 5])
    """
    if not len(best):
        return np.zeros(0, np.intp)
    return np.flatnonzero((best > 0) & np.insert(best[1:] != best[:-1], 0, True))


def runs(best: NDArray[np.integer]) -> list[tuple[int, int, int]]:
    """Class, first frame and last frame of each letter of the freest reading.

    >>> runs(np.array([0, 3, 3, 0, 3, 5]))
    [(3, 1, 2), (3, 4, 4), (5, 5, 5)]
    """
    changes = np.append(np.flatnonzero(np.diff(best)) + 1, len(best))
    begins = starts(best)
    ends = changes[np.searchsorted(changes, begins, side="right")] - 1
    return [(int(best[a]), int(a), int(b)) for a, b in zip(begins, ends, strict=True)]
