"""What a running server looks after by itself: that the house's clock is right."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from argentry.desk.house_clock import compare

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.desk.house import House

LOOK_SECONDS = 60.0


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

    def compare_clocks(self) -> str:
        """Return what is to be said of the clocks: once when they are found apart, else nothing."""
        found = compare(self._house.clock, self._house.zone)
        was, self._apart = self._apart, not found.agree
        return "" if was else found.words

    async def keep(self) -> None:
        """Look every minute until it is cancelled."""
        while True:
            await asyncio.sleep(LOOK_SECONDS)
            words = self.compare_clocks()
            if words:
                self._say(words)
