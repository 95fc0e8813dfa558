"""What a visitor is told when the server won't: a status, what is wrong, what to do next."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response


class Refusal(Exception):
    """A request that is turned down.

    `status` is the HTTP status; `message` and `remedy` are for the visitor's eyes.
    """

    def __init__(self, status: int, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.status, self.message, self.remedy = status, message, remedy


Refuse = Callable[[Request, Refusal], Response]
