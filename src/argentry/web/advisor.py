"""Advice and own numbers, worked out in a process of its own: a press never waits for them.

The process is begun when advice is first wanted, keeps what it has learned in memory, and ends when
nobody wanted any for a while, or when the server that began it is gone.
"""

from __future__ import annotations

import asyncio
import json
import logging
import math
import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from argentry.desk.house import House
    from argentry.web.stream import Broadcast

LOG = logging.getLogger("argentry.web")
LONGEST_SECONDS = 120.0
SETTLE_SECONDS = 0.2  # presses come in twos and threes: all are answered before it begins
IDLE_SECONDS = 900.0
FRESH_SECONDS = 20.0  # a grade tells at the bench within a minute
LONGEST_ANSWER = 2**22  # bytes; a line of advice is some kB


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
        self._process: asyncio.subprocess.Process | None = None
        self._ending: asyncio.TimerHandle | None = None
        self._asking = asyncio.Lock()
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
        await self._stop()

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
        from argentry.desk.house import say_advice

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
        from argentry.desk.house import book_so_far, take_numbers

        book = await run_in_threadpool(book_so_far, self._house)
        if book == self._house.live.book:
            return False
        said = await self._question({"numbers": True})
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
        from argentry.desk.house import book_so_far, plates_to_keep, time_text

        book = await run_in_threadpool(book_so_far, self._house)
        new = book != self._kept and await run_in_threadpool(plates_to_keep, self._house)
        if not new and not self._labels:
            return
        before = math.inf
        while True:
            asked = list(self._labels)
            said = await self._question({"plates": asked, "now": time_text(self._house)})
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
            except ArgentryError as error:  # a busy book: next time
                LOG.warning("the studio's own numbers stay as they were: %s", error)

    async def _ask(self, run: str) -> dict[str, dict[str, Any]]:
        """Return what the process says of the plates of a run; nothing when it fails at that."""
        from argentry.desk.house import time_text

        return await self._question({"run": run, "now": time_text(self._house)})

    async def _question(self, asked: Mapping[str, Any]) -> dict[str, Any]:
        """Return the process's answer to a question, one at a time; nothing when it fails."""
        async with self._asking:
            return await self._answered(json.dumps(asked) + "\n")

    async def _answered(self, question: str) -> dict[str, Any]:
        if self._ending is not None:
            self._ending.cancel()
        try:
            async with asyncio.timeout(LONGEST_SECONDS):
                if self._process is None or self._process.returncode is not None:
                    self._process = await self._begin()
                assert self._process.stdin is not None
                assert self._process.stdout is not None
                self._process.stdin.write(question.encode())
                await self._process.stdin.drain()
                answer = json.loads(await self._process.stdout.readline())
        except (TimeoutError, OSError, ValueError) as error:  # gone or stuck: begun again next time
            LOG.warning("no answer to %s: its process is gone or stuck (%r)", question[:80], error)
            await self._stop()
            return {}
        except asyncio.CancelledError:  # an answer nobody waits for would be taken for the next
            await self._stop()
            raise
        self._ending = asyncio.get_running_loop().call_later(IDLE_SECONDS, self._end)
        return dict(answer)

    async def _begin(self) -> asyncio.subprocess.Process:
        from argentry.desk.house import book_address

        address = book_address(self._house)
        begun = asyncio.create_task(
            asyncio.create_subprocess_exec(
                sys.executable,
                "-m",
                "argentry.web.advising",
                str(self._house.studio_dir),
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                limit=LONGEST_ANSWER,
                env=os.environ if address is None else {**os.environ, "ARGENTRY_BOOK": address},
            )
        )
        try:
            return await asyncio.shield(begun)
        except asyncio.CancelledError:  # a process begun meanwhile must be known, to be ended
            self._process = await begun
            raise

    async def _stop(self) -> None:
        """End the process and wait until it is gone."""
        process = self._process
        self._end()
        if process is not None:
            await process.wait()

    def _end(self) -> None:
        if self._ending is not None:
            self._ending.cancel()
        if self._process is not None and self._process.returncode is None:
            with suppress(ProcessLookupError):
                self._process.kill()
        self._process = None
