"""The catalogue of parts: one file or database, safe for several processes at once.

Open it with `open_catalogue`; every other function takes what that returns.
"""

from reader.catalogue.adding import add_part
from reader.catalogue.bringing import Brought, read_list
from reader.catalogue.exchange import write_list
from reader.catalogue.gaps import Gap, Wish, ask_for, done_with, for_wheels, gaps
from reader.catalogue.labels import labels_pdf
from reader.catalogue.parts import change_part, get_part, history
from reader.catalogue.plot import plot_tally
from reader.catalogue.queue import ReviewItem, review_item, review_queue, waiting
from reader.catalogue.records import Findings, Part, PhotoRef, Place, Share
from reader.catalogue.review import accept, correct, photograph_again, reopen, skip
from reader.catalogue.search import Found, FoundTube, fits, search, tubes_for
from reader.catalogue.seen_label import find_by_photo
from reader.catalogue.sheets import STOCK, Sheet, sheet_named
from reader.catalogue.store import Catalogue, open_catalogue
from reader.catalogue.tally import Line, tally
from reader.catalogue.training import export_training
from reader.catalogue.wheels import Lone, Pair, pairs

__all__ = [
    "STOCK",
    "Brought",
    "Catalogue",
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
    "change_part",
    "correct",
    "done_with",
    "export_training",
    "find_by_photo",
    "fits",
    "for_wheels",
    "gaps",
    "get_part",
    "history",
    "labels_pdf",
    "open_catalogue",
    "pairs",
    "photograph_again",
    "plot_tally",
    "read_list",
    "reopen",
    "review_item",
    "review_queue",
    "search",
    "sheet_named",
    "skip",
    "tally",
    "tubes_for",
    "waiting",
    "write_list",
]
