"""The catalogue of parts: one file or database, safe for several processes at once.

Open it with `open_catalogue`; every other function takes what that returns. The modules behind
these names are loaded when one of them is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reader.catalogue.columns import Part
    from reader.catalogue.db.parts import change_part, get_part, history
    from reader.catalogue.db.records import Findings, PhotoRef, Place, Share
    from reader.catalogue.db.store import Catalogue, open_catalogue
    from reader.catalogue.intake.add import add_part
    from reader.catalogue.io.insert import Brought, read_list
    from reader.catalogue.io.labels import labels_pdf
    from reader.catalogue.io.lists import write_list
    from reader.catalogue.io.sheets import STOCK, Sheet, sheet_named
    from reader.catalogue.query.missing import Gap, Wish, ask_for, done_with, for_wheels, gaps
    from reader.catalogue.query.places import assure_known, names_of
    from reader.catalogue.query.plot import plot_tally
    from reader.catalogue.query.search import Found, FoundTube, fits, search, tubes_for
    from reader.catalogue.query.seen_label import find_by_photo
    from reader.catalogue.query.tally import Line, tally
    from reader.catalogue.query.wheels import Lone, Pair, pairs
    from reader.catalogue.review.doubles import Double, doubles, say, side_by_side, suggest
    from reader.catalogue.review.queue import ReviewItem, review_item, review_queue, waiting
    from reader.catalogue.review.settle import (
        accept,
        correct,
        photograph_again,
        reopen,
        set_aside,
        skip,
    )
    from reader.catalogue.review.training import export_training

_MODULES = (
    "columns",
    "db.parts",
    "db.records",
    "db.store",
    "intake.add",
    "io.insert",
    "io.labels",
    "io.lists",
    "io.sheets",
    "query.missing",
    "query.places",
    "query.plot",
    "query.search",
    "query.seen_label",
    "query.tally",
    "query.wheels",
    "review.doubles",
    "review.queue",
    "review.settle",
    "review.training",
)

__all__ = [
    "STOCK",
    "Brought",
    "Catalogue",
    "Double",
    "Findings",
    "Found",
    "FoundTube",
    "Gap",
    "Line",
    "Lone",
    "Pair",
    "Part",
    "PhotoRef",
    "Place",
    "ReviewItem",
    "Share",
    "Sheet",
    "Wish",
    "accept",
    "add_part",
    "ask_for",
    "assure_known",
    "change_part",
    "correct",
    "done_with",
    "doubles",
    "export_training",
    "find_by_photo",
    "fits",
    "for_wheels",
    "gaps",
    "get_part",
    "history",
    "labels_pdf",
    "names_of",
    "open_catalogue",
    "pairs",
    "photograph_again",
    "plot_tally",
    "read_list",
    "reopen",
    "review_item",
    "review_queue",
    "say",
    "search",
    "set_aside",
    "sheet_named",
    "side_by_side",
    "skip",
    "suggest",
    "tally",
    "tubes_for",
    "waiting",
    "write_list",
]


def __getattr__(name: str) -> Any:
    """Load what is behind a name of this package."""
    if name in __all__:
        for module in _MODULES:
            found = getattr(import_module(f"{__name__}.{module}"), name, None)
            if found is not None:
                globals()[name] = found
                return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
