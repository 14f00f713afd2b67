"""Events of a run as they happen, over server-sent events (WHATWG HTML, section 9.2)."""

from __future__ import annotations

import asyncio
import contextlib
import json
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Mapping

    from argentry.desk.house import House

RETRY_MS = 1000
BATCH = 500


def message(event: Mapping[str, Any]) -> str:
    """Return one event as a message of the stream; its id is its place in the book's log."""
    data = json.dumps(event, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return f"id: {event['seq']}\nevent: event\ndata: {data}\n\n"


class Broadcast:
    """Wakes the streams of this server when the book has grown.

    An append by this server wakes them at once; what other programs wrote (a bench in a terminal,
    a second server on one PostgreSQL) is seen by asking for the last place in the log, twice a
    second, only while somebody listens.

    Parameters
    ----------
    house : House
        Studio and book.
    poll_seconds : float
        How often to ask. [s]
    """

    def __init__(self, house: House, poll_seconds: float) -> None:
        self._house, self._poll = house, poll_seconds
        self._bells: set[asyncio.Event] = set()
        self._asking: asyncio.Task[None] | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self.closing = False

    def ring(self) -> None:
        """Wake every stream."""
        for bell in self._bells:
            bell.set()

    def close(self) -> None:
        """End every stream: the server stops."""
        self.closing = True
        self.ring()
        if self._asking is not None:
            self._asking.cancel()

    def close_soon(self) -> None:
        """End every stream, from a signal handler or another thread."""
        self.closing = True
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.ring)

    def ring_soon(self) -> None:
        """Wake every stream, from another thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.ring)

    @contextlib.asynccontextmanager
    async def listen(self) -> AsyncIterator[asyncio.Event]:
        """Give a bell that rings while the book may hold something new."""
        bell = asyncio.Event()
        self._loop = asyncio.get_running_loop()
        self._bells.add(bell)
        if self._asking is None or self._asking.done():
            self._asking = asyncio.create_task(self._ask())
        try:
            yield bell
        finally:
            self._bells.discard(bell)

    async def _ask(self) -> None:
        from argentry.desk.house import last_seq

        last = -1
        while self._bells and not self.closing:
            try:
                now = await run_in_threadpool(last_seq, self._house)
            except ArgentryError:  # a busy book is asked again; it is told where it matters
                now = last
            if now != last:
                last = now
                self.ring()
            await asyncio.sleep(self._poll)


async def run_stream(
    house: House, broadcast: Broadcast, run: str, after: int, comment_seconds: float
) -> AsyncIterator[str]:
    """Yield the events of a run after place `after`, then each new one; a comment when idle.

    Parameters
    ----------
    house : House
        Studio and book.
    broadcast : Broadcast
        Rings when there may be more.
    run : str
        Id of the run.
    after : int
        Last place in the log that the listener has seen.
    comment_seconds : float
        Longest silence. [s]
    """
    from argentry.desk.house import events_after, time_text

    loop = asyncio.get_running_loop()
    yield f"retry: {RETRY_MS}\nevent: clock\ndata: {json.dumps(time_text(house))}\n\n"
    async with broadcast.listen() as bell:
        spoken = loop.time()
        while not broadcast.closing:
            bell.clear()
            found = await run_in_threadpool(events_after, house, run, after)
            for event in found:
                after = event["seq"]
                yield message(event)
                spoken = loop.time()
            try:
                async with asyncio.timeout(max(0.0, spoken + comment_seconds - loop.time())):
                    await bell.wait()
            except TimeoutError:
                yield f": alive {json.dumps(time_text(house))}\n\n"
                spoken = loop.time()
