"""The catalogue of parts: one file or database, safe for several processes at once.

Open it with `open_catalogue`; every other function takes what that returns.
"""

from reader.catalogue.adding import add_part
from reader.catalogue.parts import change_part, get_part, history
from reader.catalogue.records import Findings, Part, PhotoRef, Place, Share
from reader.catalogue.review import (
    ReviewItem,
    accept,
    correct,
    photograph_again,
    reopen,
    review_item,
    review_queue,
    skip,
    waiting,
)
from reader.catalogue.store import Catalogue, open_catalogue
from reader.catalogue.training import export_training

__all__ = [
    "Catalogue",
    "Findings",
    "Part",
    "PhotoRef",
    "Place",
    "ReviewItem",
    "Share",
    "accept",
    "add_part",
    "change_part",
    "correct",
    "export_training",
    "get_part",
    "history",
    "open_catalogue",
    "photograph_again",
    "reopen",
    "review_item",
    "review_queue",
    "skip",
    "waiting",
]
