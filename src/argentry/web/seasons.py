"""Seasons for their page: worked out beside the server, kept until what they rest on changes."""

from __future__ import annotations

import asyncio
import json
from collections import OrderedDict
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from argentry.desk.pages.season import keep_seasons, kept_seasons, season_mark
from argentry.records.answers.season import Season
from argentry.records.plain import from_plain
from argentry.web.limits import Refused
from argentry.web.sheet import Sheets

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable
    from datetime import date

    from argentry.desk.house import House
    from argentry.web.helper import Helper

MOST_KEPT = 4  # seasons, each some 120 kB a place
FAILED = "The season could not be worked out now; show the page again in a minute."


class Seasons:
    """Keeps seasons.

    Parameters
    ----------
    house : House
        Studio and book.
    helper : Helper
        The process that works them out.
    """

    def __init__(self, house: House, helper: Helper) -> None:
        self._house, self._helper = house, helper
        self._asked = Sheets(asyncio.Lock())
        self._kept = OrderedDict(kept_seasons(house.studio_dir))

    async def last(self, first: date, last: date, at: str) -> tuple[Season | None, bool]:
        """Return the season that is kept, None without one, and whether it still holds."""
        key = _key(first, last, at)
        mark, said = self._kept.get(key, ("", ""))
        if not said:
            return None, False
        try:
            found: Season = from_plain(Season, json.loads(said))
        except (ValueError, KeyError, TypeError, AttributeError):  # another version's, or damaged
            del self._kept[key]
            return None, False
        return found, mark == await run_in_threadpool(season_mark, self._house)

    async def get(
        self, first: date, last: date, at: str, gone: Callable[[], Awaitable[bool]]
    ) -> Season:
        """Return a season, worked out once for all who ask.

        Parameters
        ----------
        first, last : date
            Its days.
        at : str
            Another place beside the studio's; empty: none.
        gone : callable
            Says whether the one who asked has gone away.

        Raises
        ------
        Refused
            422 with the reason when there is no such season, 503 when it cannot be had now.
        """
        found, holds = await self.last(first, last, at)
        if found is not None and holds:
            return found
        made: Season = await self._asked.get(
            _key(first, last, at), lambda: self._make(first, last, at), gone
        )
        return made

    async def _make(self, first: date, last: date, at: str) -> Season:
        mark = await run_in_threadpool(season_mark, self._house)
        said = await self._helper.ask({"season": [first.isoformat(), last.isoformat(), at]})
        if "refused" in said:
            raise Refused(422, str(said["refused"]))
        if not said:
            raise Refused(503, FAILED)
        key = _key(first, last, at)
        self._kept[key] = mark, json.dumps(said)
        self._kept.move_to_end(key)
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        await run_in_threadpool(keep_seasons, self._house.studio_dir, self._kept)
        made: Season = from_plain(Season, said)
        return made


def _key(first: date, last: date, at: str) -> str:
    return f"{first.isoformat()} {last.isoformat()} {at}"
