"""Events of a run as they happen, over server-sent events (WHATWG HTML, section 9.2)."""

from __future__ import annotations

import asyncio
import contextlib
import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Mapping

    from argentry.desk.house import House

RETRY_MS = 1000
REVOKED_SECONDS = (
    1.0  # a device revoked by the command line is out after this; by the page, at once
)
MOST_WAITING = 5000  # events; a listener so far behind begins again from the book


def message(event: Mapping[str, Any]) -> str:
    """Return one event as a message of the stream; its id is its place in the book's log."""
    data = json.dumps(event, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return f"id: {event['seq']}\nevent: event\ndata: {data}\n\n"


@dataclass(eq=False)
class Listener:
    """One open stream.

    Attributes
    ----------
    run : str
        Run it follows.
    device : str or None
        Paired device that listens; None for the host.
    waiting : asyncio.Queue
        Places and messages to be sent; None ends it.
    """

    run: str
    device: str | None
    waiting: asyncio.Queue[tuple[int, str] | None] = field(
        default_factory=lambda: asyncio.Queue(MOST_WAITING)
    )

    def tell(self, one: tuple[int, str] | None) -> None:
        """Give it a message; one that does not take them is ended."""
        try:
            self.waiting.put_nowait(one)
        except asyncio.QueueFull:
            self.waiting.get_nowait()
            self.waiting.put_nowait(None)


class Broadcast:
    """Reads what is new in the book, once for all streams of this server.

    An append by this server is read at once; what other programs wrote (a bench in a terminal, a
    second server on one PostgreSQL) is seen by asking for the last place in the log, twice a
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
        self._listeners: set[Listener] = set()
        self._asking: asyncio.Task[None] | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._bell, self._starting = asyncio.Event(), asyncio.Lock()
        self._look_at_devices = 0.0
        self.closing = False

    def ring(self) -> None:
        """Say that the book may hold something new."""
        self._bell.set()

    def revoked(self) -> None:
        """Say that a device was revoked: its streams end at once."""
        self._look_at_devices = 0.0
        self.ring()

    def close(self) -> None:
        """End every stream: the server stops."""
        self.closing = True
        for one in self._listeners:
            one.tell(None)
        if self._asking is not None:
            self._asking.cancel()

    def close_soon(self) -> None:
        """End every stream, from a signal handler or another thread."""
        self.closing = True
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.close)

    def ring_soon(self) -> None:
        """Say that the book may hold something new, from another thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.ring)

    @contextlib.asynccontextmanager
    async def listen(self, run: str, device: str | None) -> AsyncIterator[Listener]:
        """Give a listener that is told each new event of a run."""
        own = Listener(run, device)
        self._loop = asyncio.get_running_loop()
        self._listeners.add(own)
        async with self._starting:  # what comes after this is told, what was before is read
            if self._asking is None or self._asking.done():
                self._asking = asyncio.create_task(self._ask(await self._last()))
        try:
            yield own
        finally:
            self._listeners.discard(own)

    async def _last(self) -> int:
        from argentry.desk.runs import last_seq

        return await run_in_threadpool(last_seq, self._house)

    async def _ask(self, last: int) -> None:
        """Read on from a place in the log while somebody listens."""
        while self._listeners and not self.closing:
            self._bell.clear()
            with contextlib.suppress(ArgentryError):  # a busy book is asked again
                await self._end_revoked()
                last = await self._tell(last)
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._bell.wait(), self._poll)

    async def _tell(self, last: int) -> int:
        from argentry.desk.runs import events_since

        while await self._last() > last:
            found = await run_in_threadpool(events_since, self._house, last)
            if not found:
                break
            followed = {one.run for one in self._listeners}
            for event in found:
                last = event["seq"]
                if event["run"] not in followed:
                    continue
                told = (last, message(event))
                for one in self._listeners:
                    if one.run == event["run"]:
                        one.tell(told)
        return last

    async def _end_revoked(self) -> None:
        from argentry.keeping.sensors.devices import live_devices

        now = asyncio.get_running_loop().time()
        paired = [one for one in self._listeners if one.device is not None]
        if not paired or now < self._look_at_devices:
            return
        self._look_at_devices = now + REVOKED_SECONDS
        live = await run_in_threadpool(live_devices, self._house.book)
        for one in paired:
            if one.device not in live:
                one.tell(None)


async def run_stream(
    house: House,
    broadcast: Broadcast,
    run: str,
    after: int,
    comment_seconds: float,
    device: str | None = None,
) -> AsyncIterator[str]:
    """Yield the events of a run after place `after`, then each new one; a comment when idle.

    Parameters
    ----------
    house : House
        Studio and book.
    broadcast : Broadcast
        Tells what is new.
    run : str
        Id of the run.
    after : int
        Last place in the log that the listener has seen.
    comment_seconds : float
        Longest silence. [s]
    device : str, optional
        Paired device that listens: revoked, it hears no more.
    """
    from argentry.desk.runs import events_after, time_text

    yield f"retry: {RETRY_MS}\nevent: clock\ndata: {json.dumps(time_text(house))}\n\n"
    async with broadcast.listen(run, device) as own:
        for event in await run_in_threadpool(events_after, house, run, after):
            after = event["seq"]
            yield message(event)
        while not broadcast.closing:
            try:
                told = await asyncio.wait_for(own.waiting.get(), comment_seconds)
            except TimeoutError:
                yield f": alive {json.dumps(time_text(house))}\n\n"
                continue
            if told is None:
                return
            if told[0] > after:
                after = told[0]
                yield told[1]
