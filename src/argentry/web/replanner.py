"""Makes a new plan when the plates of a run are off theirs, in a process of its own.

Whatever happens meanwhile is one change: a plan is made from how the plates stand when it is made,
and made again when they stand otherwise by the time it is to be said.
"""

from __future__ import annotations

import asyncio
import logging
import re
from contextlib import suppress
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError
from argentry.web.helper import Helper

if TYPE_CHECKING:
    from argentry.desk.bench.replan import Considered
    from argentry.desk.house import House
    from argentry.web.stream import Broadcast

LOG = logging.getLogger("argentry.web")
LOOK_SECONDS = 20.0  # nobody presses a key when a step does not begin
SETTLE_SECONDS = 1.0  # presses come in twos and threes: all are answered before it begins
FAILED_SECONDS = 300.0  # a run that cannot be planned is not tried at every press


class Replanner:
    """Keeps the plans of open runs true.

    Parameters
    ----------
    house : House
        Studio and book.
    broadcast : Broadcast
        Rung when a plan is offered.
    """

    def __init__(self, house: House, broadcast: Broadcast) -> None:
        self._house, self._broadcast = house, broadcast
        self.helper = Helper(house)
        self._heard = asyncio.Event()
        self._considered: dict[str, Considered] = {}
        self._failed: dict[tuple[str, str], float] = {}  # by run and why, without its minutes

    def heard(self) -> None:
        """Take note that something happened on a run; from the server's own loop."""
        self._heard.set()

    async def keep_planned(self) -> None:
        """Look again and again until it is cancelled; soon when something was heard."""
        while True:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._heard.wait(), LOOK_SECONDS)
            await asyncio.sleep(SETTLE_SECONDS)
            try:
                await self.look()
            except ArgentryError as error:  # a busy book: next time
                LOG.warning("no new plan was made: %s", error)

    async def look(self) -> int:
        """Make a new plan for each run that wants one; return how many were offered."""
        from argentry.desk.runs import runs_to_plan

        self._heard.clear()
        wanted = await run_in_threadpool(runs_to_plan, self._house, self._considered)
        now = asyncio.get_running_loop().time()
        due = {r: why for r, why in wanted.items() if now >= self._failed.get((r, _kind(why)), now)}
        return sum([await self._plan(run, why) for run, why in due.items()])

    async def _plan(self, run: str, why: str) -> bool:
        from argentry.desk.runs import say_plan, time_text

        asked = {"replan": run, "why": why, "now": time_text(self._house)}
        body = await self.helper.ask(asked)
        if not body:
            until = asyncio.get_running_loop().time() + FAILED_SECONDS
            self._failed[run, _kind(why)] = until
            return False
        said, considered = await run_in_threadpool(say_plan, self._house, run, body)
        if considered is not None:
            self._considered[run] = considered
        if said == "overtaken":
            self._heard.set()
        elif said != "nothing":
            self._broadcast.ring()
        return said == "offered"


def _kind(why: str) -> str:
    """Return why a plan is wanted without its minutes: one more is no new reason."""
    return re.sub(r"\d+ min\b", "", why)
