"""What a running server looks after by itself: the house's clock, and a backup a day."""

from __future__ import annotations

import asyncio
import logging
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError
from argentry.keeping.house_clock import compare

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.desk.house import House

LOG = logging.getLogger("argentry.web")
LOOK_SECONDS = 60.0
AGAIN_SECONDS = 3600.0  # a backup that failed is tried again after this
NO_BACKUP = "No backup could be made today: {why}"


class Keeper:
    """Looks after a studio while its server runs.

    Parameters
    ----------
    house : House
        Studio and book.
    say : callable
        Says a sentence on the host's own screen.
    """

    def __init__(self, house: House, say: Callable[[str], None]) -> None:
        self._house, self._say = house, say
        self._apart = False
        self._rests_until = 0.0
        self._no_backup = self._no_room = ""

    @property
    def trouble(self) -> str:
        """What stands against keeping new events; shown on every page."""
        return " ".join(one for one in (self._no_room, self._no_backup) if one)

    def look_at_disk(self) -> str:
        """Return what is to be said of the disk: once when it is found wanting, else nothing."""
        from argentry.keeping.book import store_trouble

        was, self._no_room = self._no_room, store_trouble(self._house.studio_dir)
        return "" if was else self._no_room

    def compare_clocks(self) -> str:
        """Return what is to be said of the clocks: once when they are found apart, else nothing."""
        found = compare(self._house.clock, self._house.zone)
        was, self._apart = self._apart, not found.agree
        return "" if was else found.words

    def back_up(self) -> None:
        """Make the backup of the day when it is due; say and remember when it cannot be made."""
        from argentry.keeping.book import daily_backup

        try:
            made = daily_backup(self._house.book, self._house.studio, datetime.now(UTC))
        except ArgentryError as error:
            self._no_backup = NO_BACKUP.format(why=error)
            self._say(self._no_backup)
            LOG.warning("%s", self._no_backup)
            return
        if made is not None:
            self._no_backup = ""

    async def keep(self) -> None:
        """Look every minute until it is cancelled."""
        while True:
            await asyncio.sleep(LOOK_SECONDS)
            for words in (self.compare_clocks(), await run_in_threadpool(self.look_at_disk)):
                if words:
                    self._say(words)
            now = asyncio.get_running_loop().time()
            if now >= self._rests_until:
                await run_in_threadpool(self.back_up)
                self._rests_until = now + (AGAIN_SECONDS if self._no_backup else 0.0)
