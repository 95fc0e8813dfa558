"""ISO 5775 designations as people type them: strict, with an example in every error.

Tyre: width-diameter, '47-507' (source W). Rim: diameter x width and kind, '622x19C', 'SS 400x20'
(source I2), or '19-622' where the caller knows that it is a rim.
"""

from __future__ import annotations

import re

from reader.errors import InputError
from reader.fit.parts import EXAMPLES, Edge, Rim, RimKind, Tyre, check
from reader.records import Size
from reader.tables import Tables

_DASHES = "-\u2010\u2011\u2012\u2013\u2014\u2212/"
_PAIR = re.compile(rf"\s*(\d{{1,4}}(?:[.,]\d)?)\s*[{_DASHES}]\s*(\d{{1,4}})\s*")
_RIM = re.compile(
    r"\s*(SS|TSS|TC|HB|C)?\s*(\d{3})\s*[xX×*]\s*(\d{2,3}(?:[.,]\d)?)\s*(TSS|SS|TC|HB|C)?\s*",
    re.IGNORECASE,
)


def parse_size(text: str, tables: Tables) -> Size:
    """The size that an ISO pair names, diameter last.

    Raises:
        InputError: not a pair, impossible numbers, or a diameter that no table knows.

    >>> from reader.tables import load_tables
    >>> parse_size('47-507', load_tables())
    Size(bsd=507, width=47.0)
    """
    match = _PAIR.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no ISO size", EXAMPLES)
    first, second = float(match[1].replace(",", ".")), float(match[2])
    if first >= 137 > second:
        raise InputError(f"'{text}' has the diameter first", f"write '{second:g}-{first:g}'")
    return known(check(Size(int(second), first)), tables)


def known(size: Size, tables: Tables) -> Size:
    """The size itself if a table knows its bead seat diameter.

    Raises:
        InputError: no table knows it; the remedy names the nearest that exist.
    """
    if size.bsd not in tables.seat:
        near = sorted(tables.bsds, key=lambda bsd: abs(bsd - size.bsd))[:3]
        listed = ", ".join(str(bsd) for bsd in sorted(near))
        raise InputError(
            f"no table knows bead seat diameter {size.bsd} mm",
            f"read the three figures again; near it exist {listed}, and none of them is a stand-in",
        )
    return size


def parse_tyre(text: str, tables: Tables) -> Tyre:
    """A tyre from its ISO pair; beaded-edge diameters make it a beaded-edge tyre.

    >>> from reader.tables import load_tables
    >>> parse_tyre('28-270', load_tables()).edge.value
    'beaded edge'
    """
    size = parse_size(text, tables)
    beaded = tables.seat[size.bsd].kind == "beaded"
    return Tyre(size, Edge.BEADED if beaded else Edge.WIRED)


def parse_rim(text: str, tables: Tables) -> Rim:
    """A rim from '622x19C', 'SS 400x20', '622x23TSS', or from a pair '19-622'.

    Raises:
        InputError: not a rim, impossible numbers, or a diameter that no table knows.

    >>> from reader.tables import load_tables
    >>> rim = parse_rim('622x19c', load_tables())
    >>> rim.size, rim.kind.value
    (Size(bsd=622, width=19.0), 'C')
    """
    match = _RIM.fullmatch(text)
    if not match:
        return _rim(parse_size(text, tables), RimKind.UNKNOWN, tables)
    before, after = (match[1] or "").upper(), (match[4] or "").upper()
    if before and after and before != after:
        raise InputError(f"'{text}' names two kinds of rim", EXAMPLES)
    size = known(check(Size(int(match[2]), float(match[3].replace(",", ".")))), tables)
    return _rim(size, RimKind(before or after), tables)


def _rim(size: Size, kind: RimKind, tables: Tables) -> Rim:
    if kind is RimKind.UNKNOWN and tables.seat[size.bsd].kind == "beaded":
        kind = RimKind.BEADED
    return Rim(size, kind)
