"""Searching the catalogue from a form: by size, place and words, or by what fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reader import catalogue as store
from reader.catalogue import Found, FoundTube, fits, search, tubes_for
from reader.errors import InputError
from reader.fit.mount import CAUTIONS
from reader.names.meaning import Meaning
from reader.names.typed import parse
from reader.tables import load_tables
from reader.web.sides import Side, rim_of, tyre_of

A_PAGE = 50


@dataclass(frozen=True)
class Result:
    """What was found. `options` are the sizes that the text may mean, if it is not clear."""

    parts: tuple[store.Part, ...] = ()
    fitting: tuple[Found, ...] = ()
    tubes: tuple[FoundTube, ...] = ()
    options: tuple[Meaning, ...] = ()
    field: str = ""  # the field that the options are for
    more: bool = False

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind and to look at before anything found is mounted, each once."""
        fits = [fit for found in self.fitting for fit, _ in found.fit.outcomes]
        return tuple(dict.fromkeys((*CAUTIONS, *(line for fit in fits for line in fit.checks))))


def find(
    catalogue: store.Catalogue, query: Mapping[str, str], market: str, given: Side | None = None
) -> Result:
    """Do the search that the address asks for; `given` is a part in hand that was read.

    Raises:
        InputError: a size that makes no sense.
    """
    if given is not None:
        if given.meant is None:
            raise InputError(
                "this part was not read surely enough", "photograph it again, or say its size"
            )
        return _fitting(catalogue, query, given.meant, given.kind)
    text = query.get("fits", "").strip() or query.get("size", "").strip()
    field = "fits" if query.get("fits", "").strip() else "size"
    if not text:
        return _listed(catalogue, query, None)
    kind = query.get("kind", "") if query.get("kind") in ("tyre", "rim") else ""
    part = kind or ("tyre" if field == "fits" and "x" not in text else "unknown")
    found = parse(text, load_tables(), market).likely(part)
    if len({one.size.bsd for one in found}) > 1:
        return Result(options=found[:4], field=field)
    if field == "size":
        return _listed(catalogue, query, found[0])
    return _fitting(catalogue, query, found[0], kind)


def _listed(catalogue: store.Catalogue, query: Mapping[str, str], meant: Meaning | None) -> Result:
    width = meant.size.width if meant else None
    start = query.get("from", "")
    found = search(
        catalogue,
        kind=query.get("kind", "") if query.get("kind") in ("tyre", "rim", "tube") else "",
        bsd=meant.size.bsd if meant else None,
        width=(width, width) if width is not None else None,
        bin=query.get("bin", ""),
        text=query.get("text", "").strip(),
        limit=A_PAGE + 1,
        offset=int(start) if start.isascii() and start.isdigit() and len(start) < 8 else 0,
    )
    return Result(parts=tuple(found[:A_PAGE]), more=len(found) > A_PAGE)


def _fitting(
    catalogue: store.Catalogue, query: Mapping[str, str], meant: Meaning, kind: str
) -> Result:
    tables, place = load_tables(), query.get("bin", "")
    every, hub = bool(query.get("any_condition")), holes_of(query.get("hub", ""))
    if (kind or meant.part) == "rim":
        found = fits(catalogue, rim_of(meant, {}), tables, place, all_conditions=every)
        return Result(fitting=tuple(found))
    if meant.part == "tube":
        raise InputError("a tube was named", "name the tyre or the rim that it goes with")
    found = fits(catalogue, tyre_of(meant, {}), tables, place, all_conditions=every, hub=hub)
    tubes = tubes_for(catalogue, meant.size, place, all_conditions=every)
    return Result(fitting=tuple(found), tubes=tuple(tubes))


def holes_of(text: str) -> int | None:
    """The spoke holes of a hub that somebody typed; None if nothing was.

    Raises:
        InputError: no number that a hub has.
    """
    if not text.strip():
        return None
    if not (text.strip().isascii() and text.strip().isdigit() and 8 <= int(text) <= 144):
        raise InputError(f"a hub of {text.strip()[:20]} holes", "give their number, such as 36")
    return int(text)
