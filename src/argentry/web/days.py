"""Plans of days for the first page: made beside the server, kept until what they rest on changes.

A first plan by rules answers a press within a second or two; the whole one, the same as the command
prints, follows. The days ahead are worked out one at a time when nobody waits, by rules.
"""

from __future__ import annotations

import asyncio
import json
import logging
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from starlette.concurrency import run_in_threadpool

from argentry.desk.house import House
from argentry.desk.pages.today import (
    DAYS_AHEAD,
    day_to_plan,
    inputs_mark,
    keep_days,
    kept_days,
    local_now,
)
from argentry.desk.runs import time_text
from argentry.errors import ArgentryError
from argentry.out.day.ahead import DayAhead
from argentry.out.day.page import DayView
from argentry.records.plain import from_plain, plain
from argentry.web.helper import Helper
from argentry.web.limits import Refused
from argentry.web.sheet import Sheets

LOG = logging.getLogger("argentry.web")
MOST_KEPT = 40  # views, each some 40 kB
LOOK_SECONDS = 30.0
WATCHED_SECONDS = 3600.0  # the days ahead follow their weather this long after a page was opened
FAILED = "The day could not be planned now; show the page again in a minute."


@dataclass(frozen=True)
class Asked:
    """What is asked of one day.

    Attributes
    ----------
    day : date
        In the studio's zone.
    plates : int or None
        How many; None: as many as the command plans.
    wished : Mapping
        What is asked of this day alone.
    """

    day: date
    plates: int | None
    wished: Mapping[str, str]

    @property
    def key(self) -> tuple[str, int | None, str]:
        """The same word for the same question."""
        return self.day.isoformat(), self.plates, json.dumps(self.wished, sort_keys=True)


@dataclass(frozen=True)
class Answer:
    """A day as the page shows it, or why it cannot be planned.

    Attributes
    ----------
    view : DayView or None
        The plan.
    refused : str
        One sentence; empty with a plan.
    """

    view: DayView | None
    refused: str = ""


class Days:
    """Keeps the plans of days.

    Parameters
    ----------
    house : House
        Studio and book.
    quick : Helper
        Answers first plans: the process that also makes the bench's new plans.
    """

    def __init__(self, house: House, quick: Helper) -> None:
        self._house, self._quick = house, quick
        self.helper = Helper(house)
        self._sheets = Sheets(asyncio.Lock())
        self._first = Sheets(asyncio.Lock())
        self._kept: OrderedDict[Any, tuple[str, Answer]] = OrderedDict()
        self._ahead: dict[str, tuple[str, DayAhead]] = {}
        self._begun: set[asyncio.Task[Answer]] = set()
        self._looked: float | None = None
        self._heard = asyncio.Event()
        self._recall()

    async def kept(self, asked: Asked) -> Answer | None:
        """Return the whole plan of a day as far as it is kept and nothing has changed since."""
        return await self._known((*asked.key, False), asked)

    async def _known(self, key: Any, asked: Asked) -> Answer | None:
        found = self._kept.get(key)
        if found is None:
            return None
        mark = await run_in_threadpool(inputs_mark, self._house, asked.day)
        return found[1] if found[0] == mark else None

    def last(self, asked: Asked) -> Answer | None:
        """Return the plan kept last, be it of inputs that have changed since."""
        found = self._kept.get((*asked.key, False)) or self._kept.get((*asked.key, True))
        return None if found is None else found[1]

    async def get(
        self, asked: Asked, gone: Callable[[], Awaitable[bool]], *, by_rule: bool = False
    ) -> Answer:
        """Return the plan of a day, made once for all who ask.

        Parameters
        ----------
        asked : Asked
            The question.
        gone : callable
            Says whether the one who asked has gone away.
        by_rule : bool
            True for a first plan; a whole one that is kept is as good.

        Raises
        ------
        Refused
            503 when too many others wait or it fails, 499 when the one who asked has gone.
        """
        whole = await self.kept(asked)
        if whole is not None:
            return whole
        key = (*asked.key, by_rule)
        if by_rule and (first := await self._known(key, asked)) is not None:
            return first
        queue = self._first if by_rule else self._sheets
        answer: Answer = await queue.get(key, lambda: self._make(asked, by_rule=by_rule), gone)
        return answer

    async def _make(self, asked: Asked, *, by_rule: bool) -> Answer:
        """Have a plan made to its end: a process that is stopped takes longer to come back."""
        task = asyncio.create_task(self._work(asked, by_rule=by_rule))
        self._begun.add(task)
        task.add_done_callback(self._begun.discard)
        return await asyncio.shield(task)

    async def _work(self, asked: Asked, *, by_rule: bool) -> Answer:
        mark = await run_in_threadpool(inputs_mark, self._house, asked.day)
        question = {
            "day": asked.day.isoformat(),
            "plates": asked.plates,
            "wished": dict(asked.wished),
            "by_rule": by_rule,
            "now": time_text(self._house),
        }
        said = await (self._quick if by_rule else self.helper).ask(question)
        if not said:
            raise Refused(503, FAILED)
        answer = _answer(said)
        self._keep((*asked.key, by_rule), mark, answer)
        return answer

    async def close(self) -> None:
        """Leave off what was begun and end the process beside the server."""
        for task in self._begun:
            task.cancel()
        await asyncio.gather(*self._begun, return_exceptions=True)
        await self.helper.close()

    def _keep(self, key: Any, mark: str, answer: Answer) -> None:
        self._kept[key] = mark, answer
        self._kept.move_to_end(key)
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)

    def looked_at(self) -> None:
        """Take note that the page was opened: the days ahead are worked out from now on."""
        self._looked = asyncio.get_running_loop().time()
        self._heard.set()

    def ahead(self) -> tuple[list[DayAhead], int]:
        """Return the days ahead as far as they are there, and how many are still to come."""
        days = _days(local_now(self._house).date())
        there = [row for day in days if (row := self._row(day)) is not None]
        return there, len(days) - len(there)

    def _row(self, day: date) -> DayAhead | None:
        """Return a day ahead; where its whole plan is kept, with the figures of that plan."""
        mark, row = self._ahead.get(day.isoformat(), (None, None))
        whole = self._kept.get((*Asked(day, None, {}).key, False))
        if whole is not None and whole[1].view is not None and mark in (None, whole[0]):
            return whole[1].view.little
        return row

    async def keep_ahead(self) -> None:
        """Work out the days ahead, and the one to plan, until it is cancelled."""
        while True:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._heard.wait(), LOOK_SECONDS)
            self._heard.clear()
            now = asyncio.get_running_loop().time()
            if self._looked is None or now - self._looked > WATCHED_SECONDS:
                continue
            try:
                await self.look()
            except (ArgentryError, Refused) as error:  # a busy book: next time
                LOG.warning("the days ahead stay as they were: %s", error)

    async def look(self) -> None:
        """Plan the day to plan, then each day ahead whose inputs have changed, one at a time."""

        async def here() -> bool:
            return False

        first = Asked(await run_in_threadpool(day_to_plan, self._house), None, {})
        if not self._quick.awake:  # begun and warm before the first wish
            await self._work(first, by_rule=True)
        await self.get(first, here)
        for day in _days(local_now(self._house).date()):
            mark = await run_in_threadpool(inputs_mark, self._house, day)
            if self._ahead.get(day.isoformat(), ("",))[0] == mark:
                continue
            found = await self._little(day)
            if found is not None:
                self._ahead[day.isoformat()] = mark, found
                await run_in_threadpool(self._remember, first)

    def _remember(self, first: Asked) -> None:
        """Keep beside the book what a server that is started again shows at once."""
        key = (*first.key, False)
        days = {day.isoformat() for day in _days(local_now(self._house).date())}
        self._ahead = {day: row for day, row in self._ahead.items() if day in days}
        whole = self._kept.get(key)
        keep_days(
            self._house.studio_dir,
            {
                "key": key,
                "first": None if whole is None or whole[1].view is None else plain(whole),
                "ahead": plain(self._ahead),
            },
        )

    def _recall(self) -> None:
        """Take back what was kept; of another version or damaged, nothing."""
        with suppress(ValueError, KeyError, TypeError, AttributeError):
            said = kept_days(self._house.studio_dir)
            for day, (mark, row) in said["ahead"].items():
                self._ahead[day] = mark, from_plain(DayAhead, row)
            if said["first"] is not None:
                mark, answer = said["first"]
                self._kept[tuple(said["key"])] = mark, from_plain(Answer, answer)

    async def _little(self, day: date) -> DayAhead | None:
        said = await self.helper.ask({"ahead": day.isoformat(), "now": time_text(self._house)})
        if "refused" in said:
            return replace(nothing_on(day), note=str(said["refused"]))
        return from_plain(DayAhead, said) if said else None


def nothing_on(day: date) -> DayAhead:
    """Return a day on which nothing can be planned."""
    name = f"{day:%a} {day.day} {day:%b}"
    return DayAhead(
        day.isoformat(), name, 0, (0.0, 0.0, 0.0), "–", "–", (), (), (), "", usual=False
    )


def _days(today: date) -> list[date]:
    return [today + timedelta(days=ahead) for ahead in range(1, DAYS_AHEAD + 1)]


def _answer(said: Mapping[str, Any]) -> Answer:
    if "refused" in said:
        return Answer(None, str(said["refused"]))
    return Answer(from_plain(DayView, said))
