"""Connections with patience: so many for each address, and a deadline for a request's head.

A phone that opens connections and stays silent, or sends its head letter by letter, uses up what
its own address may have and nothing of the others'.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from reader.web.settings import Limits


def patient(limits: Limits) -> type[H11Protocol]:
    """A protocol class for one server that keeps to the limits."""
    opened: Counter[str] = Counter()

    class Patient(H11Protocol):
        """uvicorn's protocol, with a count for each address and a clock for each head."""

        def __init__(self, *given: Any, **named: Any) -> None:
            super().__init__(*given, **named)
            self._late: asyncio.TimerHandle | None = None
            self._address = ""

        def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
            super().connection_made(transport)
            self._address = self.client[0] if self.client else ""
            opened[self._address] += 1
            if opened[self._address] > limits.connections:
                transport.abort()
                return
            self._late = self.loop.call_later(limits.head_seconds, transport.abort)

        def data_received(self, data: bytes) -> None:
            super().data_received(data)
            if self.conn.their_state is not h11.IDLE:
                self._on_time()
            elif self._late is None:
                self._late = self.loop.call_later(limits.head_seconds, self.transport.abort)

        def connection_lost(self, exc: Exception | None) -> None:
            opened[self._address] -= 1
            if opened[self._address] <= 0:
                del opened[self._address]
            self._on_time()
            super().connection_lost(exc)

        def _on_time(self) -> None:
            if self._late is not None:
                self._late.cancel()
                self._late = None

    return Patient
