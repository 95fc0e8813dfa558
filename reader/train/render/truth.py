"""What a drawn text says of the size, by a plain pattern and not by the reader's own grammar."""

from __future__ import annotations

import re

from reader.tables import load_tables

_PAIR = re.compile(r"(?<![\d.])(\d{2,3})[Cc]? ?- ?(\d{2,3})(?!\d)")
_RIM = re.compile(r"(?<![\d.])(\d{2,3}) ?[xX×] ?(\d{2})(?!\d)")

Truth = frozenset[tuple[int, float]]  # (bead seat diameter, width), mm


def settles(text: str, rim: bool) -> Truth:
    """The one size that a text names outright, or nothing.

    >>> [sorted(settles(text, rim=True)) for text in ("559x21C ERD 530", "26 x 1.75 (47-559)")]
    [[(559, 21.0)], [(559, 47.0)]]
    """
    known = load_tables().bsds
    found = {(int(bsd), float(width)) for width, bsd in _PAIR.findall(text)}
    if rim:
        found |= {(int(bsd), float(width)) for bsd, width in _RIM.findall(text)}
    sizes = frozenset((bsd, width) for bsd, width in found if bsd in known)
    return sizes if len(sizes) == 1 else frozenset()
