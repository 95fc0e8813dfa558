"""What the page's server is told once, when it starts."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from reader.web.worker import Work, read_part

LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # none that are mistaken for another on a screen


def fresh_code(letters: int = 10) -> str:
    """A pairing code of about 49 bits, in capital letters and digits."""
    return "".join(secrets.choice(LETTERS) for _ in range(letters))


@dataclass(frozen=True)
class Limits:
    """How much one visitor, and all together, may ask for. Bytes, seconds and counts."""

    file_bytes: int = 40_000_000
    clip_bytes: int = 300_000_000
    form_bytes: int = 160_000_000
    text_bytes: int = 65_536  # a form without files
    held_bytes: int = 640_000_000  # uploads in memory, everyone's together
    photos: int = 12  # of one part
    silence: float = 20.0  # seconds without a byte until an upload is cut off
    upload_seconds: float = 300.0
    reading_seconds: float = 120.0
    parts: int = 300  # kept in mind; the oldest goes first
    part_seconds: float = 8 * 3600.0
    requests: tuple[float, float] = (100.0, 500.0)  # refill a second, burst; each for one address
    uploads: tuple[float, float] = (2.0, 60.0)
    codes: tuple[float, float] = (0.1, 8.0)
    connections: int = 48  # open at once, from one address
    head_seconds: float = 10.0  # from the first byte of a request, or a connection, to its head
    tries: int = 3  # starts of the server after which a part that never ended is given up


@dataclass(frozen=True)
class PageSettings:
    """One server.

    `hosts` are the names, without port, by which a browser may call it. With `pairing` every
    visitor must give one of the codes first, which tells what he may do (see `rights`).
    `catalogue` is a file path or a database URL; `photos` is the folder for the photos of parts
    that are put into a bin; `folder` is private to the page and holds the bench. `address` is what
    other phones open, '' where only this computer may. `unpair` makes every phone pair again.
    """

    catalogue: str
    photos: Path
    folder: Path
    hosts: tuple[str, ...] = ("localhost", "127.0.0.1", "::1")
    code: str = field(default_factory=fresh_code)  # a keeper's
    helper_code: str = field(default_factory=fresh_code)
    reader_code: str = field(default_factory=fresh_code)
    pairing: bool = False
    unpair: bool = False
    secure: bool = False  # over HTTPS
    fingerprint: str = ""  # of the certificate, SHA-256 in hex
    address: str = ""
    market: str = "world"
    workers: int = 1
    waiting: int = 24  # parts in the queue before newcomers are asked to wait
    work: Work = read_part
    limits: Limits = Limits()
    now: Callable[[], float] | None = None  # a clock for tests
