"""Seasons, and what the plates teach: worked out beside the server, kept while they hold."""

from __future__ import annotations

import asyncio
import json
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from starlette.concurrency import run_in_threadpool

from argentry.desk.pages import kept as beside_book
from argentry.records.plain import from_plain
from argentry.web.limits import Refused
from argentry.web.sheet import Sheets

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping
    from datetime import datetime

    from argentry.desk.house import House
    from argentry.desk.pages.learning import StudioPage
    from argentry.records.answers.season import Season
    from argentry.web.helper import Helper

MOST_KEPT = 4  # answers, each some 120 kB
FAILED = "This could not be worked out now; show the page again in a minute."
SINCE = "Asked for at {at:%H:%M:%S}; it appears here in seconds, on a busy machine in minutes."
MOST_ASKED = 100  # questions of which it is known when they were first asked
A = TypeVar("A")


@dataclass(frozen=True)
class Kind(Generic[A]):
    """A kind of answer.

    Attributes
    ----------
    record : callable
        Returns the type of an answer; not read in before one is there.
    file : str
        Where answers are kept, in the studio folder.
    mark : callable
        Returns another word for a studio whenever an answer may come out otherwise.
    """

    record: Callable[[], type[A]]
    file: str
    mark: Callable[[House], str]


def _season() -> type[Season]:
    from argentry.records.answers.season import Season

    return Season


def _taught() -> type[StudioPage]:
    from argentry.desk.pages.learning import StudioPage

    return StudioPage


SEASON = Kind(_season, beside_book.SEASONS_FILE, beside_book.season_mark)
TAUGHT = Kind(_taught, beside_book.TAUGHT_FILE, beside_book.taught_mark)


class Kept(Generic[A]):
    """Keeps answers of one kind.

    Parameters
    ----------
    house : House
        Studio and book.
    helper : Helper
        The process that works them out.
    kind : Kind
        Of which kind they are.
    """

    def __init__(self, house: House, helper: Helper, kind: Kind[A]) -> None:
        self._house, self._helper, self._kind = house, helper, kind
        self._asked = Sheets(asyncio.Lock())
        self._kept = OrderedDict(beside_book.kept(house.studio_dir, kind.file))
        self._since: dict[str, datetime] = {}

    async def last(self, question: Mapping[str, Any]) -> tuple[A | None, bool]:
        """Return the answer that is kept, None without one, and whether it still holds."""
        key = json.dumps(question)
        mark, said = self._kept.get(key, ("", ""))
        if not said:
            return None, False
        try:
            found: A = from_plain(self._kind.record(), json.loads(said))
        except (ValueError, KeyError, TypeError, AttributeError):  # another version's, or damaged
            del self._kept[key]
            return None, False
        return found, mark == await self._mark()

    async def shown(
        self, question: Mapping[str, Any], gone: Callable[[], Awaitable[bool]], *, fresh: bool
    ) -> tuple[A | None, bool]:
        """Return the answer that is kept as by `last`; a fresh one, made once for all who ask.

        Parameters
        ----------
        question : Mapping
            As the process beside the server is asked.
        gone : callable
            Says whether the one who asked has gone away.
        fresh : bool
            Whether to wait for a fresh one where what is kept no longer holds.

        Raises
        ------
        Refused
            422 with the reason when there is no such answer, 503 when it cannot be had now.
        """
        found, holds = await self.last(question)
        if not fresh or holds:
            return found, holds
        key = json.dumps(question)
        return await self._asked.get(key, lambda: self._make(question), gone), True

    def since(self, question: Mapping[str, Any]) -> str:
        """Return since when an answer is waited for, in words: a page that waits asks again."""
        key, now = json.dumps(question), self._house.clock.now()
        if len(self._since) >= MOST_ASKED:
            self._since.pop(next(iter(self._since)))
        return SINCE.format(at=self._since.setdefault(key, now).astimezone(self._house.zone))

    async def freshen(self) -> None:
        """Work out again what was shown before and no longer holds."""

        async def here() -> bool:
            return False

        for key in list(self._kept):
            await self.shown(json.loads(key), here, fresh=True)

    async def _mark(self) -> str:
        return await run_in_threadpool(self._kind.mark, self._house)

    async def _make(self, question: Mapping[str, Any]) -> A:
        mark, key = await self._mark(), json.dumps(question)
        said = await self._helper.ask(question)
        self._since.pop(key, None)
        if "refused" in said:
            raise Refused(422, str(said["refused"]))
        if not said:
            raise Refused(503, FAILED)
        self._kept[key] = mark, json.dumps(said)
        self._kept.move_to_end(key)
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        folder = self._house.studio_dir
        await run_in_threadpool(beside_book.keep, folder, self._kind.file, self._kept)
        made: A = from_plain(self._kind.record(), said)
        return made
