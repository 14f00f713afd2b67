"""Connections that say nothing are closed after seconds, and no address may hold too many."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

from argentry.web.settings import is_loopback

SILENT_SECONDS = 10.0  # for a whole request head to arrive
MOST_FROM_ONE = 40  # connections of one address; a tablet holds some seven


class Patient(H11Protocol):  # type: ignore[misc]
    """HTTP/1.1 with an end to waiting."""

    silent_seconds = SILENT_SECONDS
    most_from_one = MOST_FROM_ONE
    _ends: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for a request; refuse an address that holds too many connections."""
        super().connection_made(transport)
        host = self.client[0] if self.client else ""
        mine = sum(1 for one in self.connections if one.client and one.client[0] == host)
        if mine > self.most_from_one and not is_loopback(host):
            transport.abort()
            return
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._rest()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Go on waiting until a whole request head is there, however slowly it drips."""
        super().data_received(data)
        if self.cycle is not None and not self.cycle.response_complete:
            self._rest()
        elif self._ends is None and self.timeout_keep_alive_task is None:
            self._wait()

    def on_response_complete(self) -> None:
        """Leave the wait for the next request to the library, which counts it from now."""
        self._rest()
        super().on_response_complete()

    def _wait(self) -> None:
        self._ends = self.loop.call_later(self.silent_seconds, self.transport.abort)

    def _rest(self) -> None:
        if self._ends is not None:
            self._ends.cancel()
            self._ends = None
