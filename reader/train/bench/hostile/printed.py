"""Sizes and labels as they are printed, from the tables."""

from __future__ import annotations

from reader.tables import Tables


def sizes(tables: Tables) -> list[str]:
    """Names of tyres, ISO sizes of tyres, marks of rims: as many of each."""
    names = [name.text for name in tables.names if ".." not in name.text]
    beads = [bsd for bsd in tables.bsds if bsd > 200]
    pairs = [f"{width}-{bsd}" for bsd in beads for width in (28, 37, 47, 57)]
    rims = [f"{bsd}x{inner}C" for bsd in beads for inner in (13, 19, 25)]
    most = max(len(names), len(pairs), len(rims))
    return [one for part in (names, pairs, rims) for one in (part * 20)[:most]]


def labels(tables: Tables) -> list[str]:
    """Labels of tubes."""
    return [row.text for row in tables.tube_labels]
