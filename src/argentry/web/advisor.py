"""Advice and own numbers, worked out in a process of its own: a press never waits for them."""

from __future__ import annotations

import asyncio
import logging
import math
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import Any

from starlette.concurrency import run_in_threadpool

from argentry.desk.house import House, book_so_far, plates_to_keep, take_numbers
from argentry.desk.runs import say_advice, time_text
from argentry.errors import ArgentryError
from argentry.web.helper import Helper
from argentry.web.kept import TAUGHT, Kept
from argentry.web.limits import Refused
from argentry.web.stream import Broadcast

LOG = logging.getLogger("argentry.web")
SETTLE_SECONDS = 0.2  # presses come in twos and threes: all are answered before it begins
FRESH_SECONDS = 20.0  # a grade tells at the bench within a minute


class Advisor:
    """Has advice for a run worked out after something happened on it, one run at a time.

    Parameters
    ----------
    house : House
        Studio and book.
    broadcast : Broadcast
        Rung when there is advice.
    """

    def __init__(self, house: House, broadcast: Broadcast) -> None:
        self._house, self._broadcast = house, broadcast
        self._wanted: dict[str, None] = {}
        self._task: asyncio.Task[None] | None = None
        self.helper = Helper(house)
        self.taught = Kept(house, self.helper, TAUGHT)
        self._labels: dict[str, None] = {}
        self._opened = asyncio.Event()
        self._kept: tuple[int, ...] | None = None

    def heard(self, run: str, events: Iterable[Mapping[str, Any]]) -> None:
        """Take note that these were added to a run; from the server's own loop."""
        from argentry.desk.bench.advice import TELLS

        if not any(event["kind"] in TELLS for event in events):
            return
        self._wanted[run] = None
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._work())

    async def close(self) -> None:
        """Stop: the server stops."""
        self._wanted.clear()
        if self._task is not None:
            self._task.cancel()
            await asyncio.wait([self._task])
        await self.helper.close()

    async def _work(self) -> None:
        while self._wanted:
            await asyncio.sleep(SETTLE_SECONDS)
            run = next(iter(self._wanted))
            del self._wanted[run]
            # what was not followed is noted at once, advice when it is there
            if await self._say(run, {}) and (bodies := await self._ask(run)):
                await self._say(run, bodies)

    async def _say(self, run: str, bodies: Mapping[str, Mapping[str, Any]]) -> bool:
        """Write down what is to be said; return whether a plate still waits for advice."""
        try:
            said, wanted = await run_in_threadpool(say_advice, self._house, run, bodies)
        except ArgentryError:  # a busy book: the next press asks again
            return False
        if said:
            self._broadcast.ring()
        return wanted

    async def freshen(self) -> bool:
        """Have the studio's own numbers worked out again when the book may teach something else.

        Returns
        -------
        bool
            True when the bench goes by other numbers now.
        """
        book = await run_in_threadpool(book_so_far, self._house)
        if book == self._house.live.book:
            return False
        said = await self.helper.ask({"numbers": True})
        if not said:
            return False
        moved = await run_in_threadpool(take_numbers, self._house, said)
        self._house.live.book = book
        if moved:
            self._broadcast.ring()
        return moved

    def want_plate(self, label: str) -> None:
        """Have causes and odds of a plate worked out soon: its page was opened."""
        self._labels[label] = None
        self._opened.set()

    async def keep_plates(self) -> None:
        """Have causes and odds of the newest plates, and of those looked at, worked out.

        One plate at a time, so that advice for the bench comes between.
        """
        book = await run_in_threadpool(book_so_far, self._house)
        new = book != self._kept and await run_in_threadpool(plates_to_keep, self._house)
        if not new and not self._labels:
            return
        before = math.inf
        while True:
            asked = list(self._labels)
            said = await self.helper.ask({"plates": asked, "now": time_text(self._house)})
            left = int(said.get("left", 0))
            if not 0 < left < before:  # a folder that cannot be written to ends it too
                break
            before = left
        for label in asked:  # a page that still lacks its plate asks again
            self._labels.pop(label, None)
        self._kept = book

    async def keep_fresh(self) -> None:
        """Freshen again and again until it is cancelled; at once when a plate's page was opened."""
        while True:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._opened.wait(), FRESH_SECONDS)
            self._opened.clear()
            try:
                await self.freshen()
                await self.keep_plates()
                await self.taught.freshen()
            except (ArgentryError, Refused) as error:  # a busy book or process: next time
                LOG.warning("the studio's own numbers stay as they were: %s", error)

    async def _ask(self, run: str) -> Mapping[str, Mapping[str, Any]]:
        """Return what the process says of the plates of a run; nothing when it fails at that."""
        return await self.helper.ask({"run": run, "now": time_text(self._house)})
