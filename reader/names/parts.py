"""The tyre or rim that one meaning of a typed text is, for what fits what."""

from __future__ import annotations

from reader.fit.parts import Edge, Rim, RimKind, Tyre, check
from reader.names.meaning import Meaning
from reader.tables import Tables


def tyre_of(meaning: Meaning, tables: Tables) -> Tyre:
    """A tyre of this size; beaded-edge diameters make it a beaded-edge tyre.

    Raises:
        InputError: no bicycle part is as large or as wide.

    >>> from reader.names.typed import parse
    >>> from reader.tables import load_tables
    >>> tyre_of(parse("28-270", load_tables()).one("tyre"), load_tables()).edge.value
    'beaded edge'
    """
    return Tyre(check(meaning.size), Edge.BEADED if _beaded(meaning, tables) else Edge.WIRED)


def rim_of(meaning: Meaning, tables: Tables) -> Rim:
    """A rim of this size with the edge that its mark names.

    Raises:
        InputError: no bicycle part is as large or as wide.

    >>> from reader.names.typed import parse
    >>> from reader.tables import load_tables
    >>> str(rim_of(parse("622x19c", load_tables()).one("rim"), load_tables()))
    '622x19C'
    """
    kind = RimKind(meaning.edge)
    if kind is RimKind.UNKNOWN and _beaded(meaning, tables):
        kind = RimKind.BEADED
    return Rim(check(meaning.size), kind)


def _beaded(meaning: Meaning, tables: Tables) -> bool:
    return tables.seat[meaning.size.bsd].kind == "beaded"
