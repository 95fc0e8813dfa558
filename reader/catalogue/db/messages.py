"""A database's own error messages, turned into what a person can do about them."""

from __future__ import annotations

from sqlalchemy.exc import DBAPIError

from reader.errors import CatalogueError

# part of the driver's message -> what is wrong, what to do
_KNOWN = (
    ("readonly database", "can't be written: it is read-only", "copy it to a disk you may write"),
    ("read-only", "can't be written: it is read-only", "ask for the right to write"),
    (
        "disk is full",
        "can't be written: the disk is full",
        "make room and run the same command again",
    ),
    (
        "no space left",
        "can't be written: the disk is full",
        "make room and run the same command again",
    ),
    ("disk i/o error", "can't be read or written: the disk fails", "check the disk and its space"),
    (
        "unable to open database",
        "can't be opened",
        "check that the folder exists and that you may write there",
    ),
    ("not a database", "is not a catalogue", "name the right file with --catalogue"),
    ("malformed", "is damaged", "bring back a copy, or read the photos into a new catalogue"),
    (
        "database is locked",
        "is being written by another process",
        "wait until it is done, then run the same command again",
    ),
    ("password authentication", "does not accept the password", "check the user and password"),
    ("no password supplied", "wants a password", "put it in the URL or in ~/.pgpass"),
    ("does not exist", "does not exist on the server", "make it first with: createdb NAME"),
    ("connection refused", "can't be reached", "check that the server runs and its address"),
    ("failed to resolve", "can't be reached", "check the server's name in the URL"),
    ("timeout", "can't be reached", "check that the server runs and its address"),
    ("terminating connection", "was shut down", "start the server, then run the command again"),
    ("server closed", "was shut down", "start the server, then run the command again"),
)


def explain(error: DBAPIError, name: str) -> CatalogueError:
    """The error for the user: which catalogue, what is wrong, what to do."""
    text = str(error.orig).strip()
    lower = text.lower()
    for part, what, remedy in _KNOWN:
        if part in lower:
            return CatalogueError(f"the catalogue {name} {what}", remedy)
    first = text.splitlines()[0] if text else type(error.orig).__name__
    remedy = "nothing half done was kept; run the same command again once it is mended"
    return CatalogueError(f"the catalogue {name} gave an error ({first})", remedy)
