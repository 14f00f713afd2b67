"""Sheets: one for each question, dropped when nobody waits, and only so many at once."""

from __future__ import annotations

import asyncio

import pytest

from argentry.web import sheet
from argentry.web.limits import Refused
from argentry.web.sheet import MOST_WAITING, Sheets


async def here():
    return False


def test_one_sheet_answers_all_who_ask_the_same():
    async def go():
        made = []

        async def make():
            made.append(1)
            await asyncio.sleep(0.01)
            return b"pdf"

        sheets = Sheets(asyncio.Lock())
        asked = [sheets.get("a day", make, here) for _ in range(20)]
        assert await asyncio.gather(*asked) == [b"pdf"] * 20
        assert len(made) == 1
        assert await sheets.get("a day", make, here) == b"pdf"  # asked again later: made again
        assert len(made) == 2

    asyncio.run(go())


def test_a_sheet_that_nobody_waits_for_is_dropped(monkeypatch):
    monkeypatch.setattr(sheet, "LOOK_SECONDS", 0.01)

    async def go():
        dropped = []

        async def make():
            try:
                await asyncio.Event().wait()
            finally:
                dropped.append(1)

        async def away():
            return True

        lock = asyncio.Lock()
        with pytest.raises(Refused):
            await Sheets(lock).get("a day", make, away)
        async with asyncio.timeout(90):
            while not dropped:  # noqa: ASYNC110 - it says nothing by itself
                await asyncio.sleep(0.01)
        assert dropped == [1]
        assert not lock.locked()  # the bench can be planned

    asyncio.run(go())


def test_whoever_asks_right_after_another_left_gets_a_sheet(monkeypatch):
    monkeypatch.setattr(sheet, "LOOK_SECONDS", 0.01)

    async def go():
        free = asyncio.Event()

        async def make():
            await free.wait()
            return b"pdf"

        async def away():
            return True

        sheets = Sheets(asyncio.Lock())
        with pytest.raises(Refused):
            await sheets.get("a day", make, away)
        free.set()
        assert await sheets.get("a day", make, here) == b"pdf"

    asyncio.run(go())


def test_the_queue_is_bounded():
    async def go():
        free = asyncio.Event()

        async def make():
            await free.wait()
            return b"pdf"

        sheets = Sheets(asyncio.Lock())
        asked = [asyncio.create_task(sheets.get(n, make, here)) for n in range(MOST_WAITING)]
        await asyncio.sleep(0)
        with pytest.raises(Refused) as refusal:
            await sheets.get("one more", make, here)
        assert refusal.value.status == 503
        free.set()
        assert await asyncio.gather(*asked) == [b"pdf"] * MOST_WAITING

    asyncio.run(go())
