"""Look a token up: in the book, with the answer kept for a second."""

from __future__ import annotations

import asyncio
import time
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from argentry.errors import ArgentryError
from argentry.web.guard import Caller

if TYPE_CHECKING:
    from argentry.desk.house import House

KEEP_SECONDS = 1.0  # a device revoked by the command line is out after this; by the page, at once
SEEN_SECONDS = 600.0
MOST_KEPT = 256


class DeviceBook:
    """Tokens looked up lately.

    Parameters
    ----------
    house : House
        Studio and book.
    """

    def __init__(self, house: House) -> None:
        self._house = house
        self._kept: dict[str, tuple[float, Caller | None]] = {}
        self._seen: dict[str, float] = {}
        self._tasks: set[asyncio.Task[None]] = set()

    async def find(self, token: str) -> Caller | None:
        """Return who has this token, None when nobody has it or it was revoked."""
        from argentry.keeping.sensors.devices import device_of_token, token_hash

        if not 20 <= len(token) <= 100 or not token.isascii():
            return None
        key = token_hash(token)
        now = time.monotonic()
        kept = self._kept.get(key)
        if kept is not None and now - kept[0] < KEEP_SECONDS:
            return kept[1]
        device = await run_in_threadpool(device_of_token, self._house.book, token)
        caller = None if device is None else Caller(device.name, device.scope, device.id)
        if len(self._kept) >= MOST_KEPT:
            self._kept.clear()
        self._kept[key] = (now, caller)
        if device is not None and now - self._seen.get(device.id, -SEEN_SECONDS) >= SEEN_SECONDS:
            self._seen[device.id] = now
            task = asyncio.create_task(self._note(device.id))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)
        return caller

    def forget(self) -> None:
        """Look every token up again: a device was revoked or made."""
        self._kept.clear()

    async def _note(self, device: str) -> None:
        """Write down that a device was seen; a book that cannot be written does not stop it."""
        from argentry.keeping.sensors.devices import note_seen

        try:
            await run_in_threadpool(note_seen, self._house.book, device)
        except ArgentryError:
            self._seen.pop(device, None)
