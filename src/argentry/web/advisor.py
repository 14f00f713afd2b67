"""Advice at checkpoints, worked out beside the requests: a press is answered before it begins."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from argentry.desk.house import House
    from argentry.web.stream import Broadcast


class Advisor:
    """Works out advice for a run after something happened on it, one run at a time.

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

    def heard(self, run: str, events: Iterable[Mapping[str, Any]]) -> None:
        """Take note that these were added to a run; from the server's own loop."""
        from argentry.desk.learning_bench import TELLS

        if not any(event["kind"] in TELLS for event in events):
            return
        self._wanted[run] = None
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._work())

    def close(self) -> None:
        """Stop: the server stops."""
        self._wanted.clear()
        if self._task is not None:
            self._task.cancel()

    async def _work(self) -> None:
        from argentry.desk.house import advise_run

        while self._wanted:
            run = next(iter(self._wanted))
            del self._wanted[run]
            try:
                said = await run_in_threadpool(advise_run, self._house, run)
            except ArgentryError:  # a busy book: the next press asks again
                continue
            if said:
                self._broadcast.ring()
