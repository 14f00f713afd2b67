"""Plans for the first page: kept while they hold, made once for all, the days ahead one by one."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from argentry.desk.pages.today import DAYS_AHEAD
from argentry.keeping.clock import steady_clock
from argentry.out.day.ahead import day_ahead
from argentry.out.day.page import day_view
from argentry.records.plain import plain
from argentry.web import days as module
from argentry.web.days import Asked, Days
from argentry.web.limits import Refused

_spec = spec_from_file_location("day_fixture", Path(__file__).parents[1] / "out/day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)
DAY = date(2026, 6, 21)
MORNING = datetime(2026, 6, 21, 7, 0, tzinfo=UTC)
ASKED = Asked(DAY, 2, {"start": "09:00"})
PLAN = fixture.make_plan(2)
WHOLE, FIRST, LITTLE = day_view(PLAN), day_view(PLAN, by_rule=True), day_ahead(PLAN)


class Process:
    """Stands for the process that plans: answers what it is told to, and counts."""

    awake = True

    def __init__(self):
        self.asked, self.at_once, self.most = [], 0, 0
        self.gate = asyncio.Event()
        self.gate.set()
        self.answer = None
        self.closed = False

    async def close(self):
        self.closed = True

    async def ask(self, question):
        self.asked.append(question)
        self.at_once += 1
        self.most = max(self.most, self.at_once)
        await self.gate.wait()
        await asyncio.sleep(0)
        self.at_once -= 1
        if self.answer is not None:
            return self.answer
        if "ahead" in question:
            return plain(replace(LITTLE, date=question["ahead"]))
        return plain(FIRST if question["by_rule"] else WHOLE)


async def here():
    return False


@pytest.fixture
def house(app):
    clock = steady_clock(wall=lambda: MORNING, passed=lambda: 0.0)
    return replace(app.state.house, clock=clock)


def days_of(house):
    days = Days(house, Process())
    days.helper = Process()
    return days


def test_a_first_plan_is_quick_and_the_whole_one_takes_its_place(house):
    async def go():
        days = days_of(house)
        first = await days.get(ASKED, here, by_rule=True)
        assert first.view == FIRST
        assert await days.kept(ASKED) is None
        assert days.last(ASKED) == first
        assert await days.get(ASKED, here, by_rule=True) == first  # it is kept as well
        whole = await days.get(ASKED, here)
        assert whole.view == WHOLE
        assert await days.kept(ASKED) == days.last(ASKED) == whole
        assert await days.get(ASKED, here, by_rule=True) == whole
        [asked] = days._quick.asked
        assert datetime.fromisoformat(asked.pop("now")).replace(microsecond=0) == MORNING
        assert asked == {
            "day": "2026-06-21", "plates": 2, "wished": {"start": "09:00"}, "by_rule": True,
        }  # fmt: skip
        assert [one["by_rule"] for one in days.helper.asked] == [False]

    asyncio.run(go())


def test_one_plan_answers_all_who_ask_the_same(house):
    async def go():
        days = days_of(house)
        found = await asyncio.gather(*[days.get(ASKED, here) for _ in range(20)])
        assert {one.view.headline for one in found} == {WHOLE.headline}
        await days.get(replace(ASKED, plates=3), here)
        await days.get(replace(ASKED, wished={}), here)
        assert len(days.helper.asked) == 3

    asyncio.run(go())


def test_a_plan_is_made_again_when_what_it_rests_on_changed(house, monkeypatch):
    mark = ["a"]
    monkeypatch.setattr(module, "inputs_mark", lambda *_: mark[0])

    async def go():
        days = days_of(house)
        await days.get(ASKED, here)
        await days.get(ASKED, here)
        assert len(days.helper.asked) == 1
        mark[0] = "b"
        assert await days.kept(ASKED) is None
        assert days.last(ASKED).view == WHOLE  # shown meanwhile, and said to be old
        await days.get(ASKED, here)
        assert len(days.helper.asked) == 2

    asyncio.run(go())


def test_a_day_that_cannot_be_planned_is_a_sentence(house):
    async def go():
        days = days_of(house)
        days.helper.answer = {"refused": "--lamp: 'x' is not a lamp; write its power."}
        found = await days.get(ASKED, here)
        assert (found.view, found.refused) == (None, "--lamp: 'x' is not a lamp; write its power.")
        days.helper.answer = {}  # its process is gone
        with pytest.raises(Refused) as refusal:
            await days.get(replace(ASKED, plates=1), here)
        assert refusal.value.status == 503

    asyncio.run(go())


def test_whoever_leaves_does_not_stop_a_plan_that_was_begun(house, monkeypatch):
    monkeypatch.setattr("argentry.web.sheet.LOOK_SECONDS", 0.01)

    async def go():
        days = days_of(house)
        days.helper.gate.clear()

        async def away():
            return days.helper.at_once > 0

        with pytest.raises(Refused) as refusal:
            await days.get(ASKED, away)
        assert refusal.value.status == 499
        assert days.helper.at_once == 1  # it goes on: to begin a process again takes longer
        days.helper.gate.set()
        await asyncio.gather(*days._begun)
        assert (await days.kept(ASKED)).view == WHOLE
        assert len(days.helper.asked) == 1

    asyncio.run(go())


def test_closing_leaves_off_what_was_begun(house):
    async def go():
        days = days_of(house)
        days.helper.gate.clear()
        asking = asyncio.create_task(days.get(ASKED, here))
        async with asyncio.timeout(90):
            while not days.helper.at_once:  # noqa: ASYNC110 - it says nothing by itself
                await asyncio.sleep(0.01)
        [begun] = days._begun
        await days.close()
        assert begun.cancelled()
        assert days.helper.closed
        asking.cancel()
        await asyncio.gather(asking, return_exceptions=True)

    asyncio.run(go())


def test_the_days_ahead_come_one_by_one_and_stay_over_a_restart(house):
    async def go():
        days = days_of(house)
        assert days.ahead() == ([], DAYS_AHEAD)
        await days.look()
        little = [one["ahead"] for one in days.helper.asked if "ahead" in one]
        dates = [(DAY + timedelta(days=n)).isoformat() for n in range(1, DAYS_AHEAD + 1)]
        assert little == dates
        assert days.helper.most == 1
        there, left = days.ahead()
        assert ([one.date for one in there], left) == (dates, 0)
        asked = len(days.helper.asked)
        await days.look()
        assert len(days.helper.asked) == asked  # nothing changed
        again = days_of(house)
        assert again.ahead() == (there, 0)
        assert (await again.kept(Asked(DAY, None, {}))).view == WHOLE
        await again.look()
        assert again.helper.asked == []

    asyncio.run(go())


def test_a_day_ahead_has_the_figures_of_its_whole_plan(house, monkeypatch):
    mark = ["a"]
    monkeypatch.setattr(module, "inputs_mark", lambda *_: mark[0])
    day = DAY + timedelta(days=1)
    whole = replace(LITTLE, date=day.isoformat(), good_words="9 (9\u20139)")

    async def go():
        days = days_of(house)
        days.helper.answer = plain(replace(WHOLE, little=whole))
        await days.get(Asked(day, None, {}), here)
        assert days.ahead() == ([whole], DAYS_AHEAD - 1)
        await days.get(replace(ASKED, day=day), here)  # with wishes it is another question
        days.helper.answer = None
        await days.look()
        assert days.ahead()[0][0] == whole
        mark[0] = "b"
        days.helper.answer = None
        await days.look()
        assert days.ahead()[0][0] == replace(LITTLE, date=day.isoformat())  # newer than the whole

    asyncio.run(go())


def test_a_day_ahead_that_cannot_be_planned_says_why(house):
    async def go():
        days = days_of(house)
        days.helper.answer = {"refused": "The hours are over."}
        await days.look()
        there, left = days.ahead()
        assert left == 0
        assert {one.note for one in there} == {"The hours are over."}
        assert there[0].day == "Mon 22 Jun"

    asyncio.run(go())


def test_nothing_is_worked_out_before_somebody_looks(house, monkeypatch):
    monkeypatch.setattr(module, "LOOK_SECONDS", 0.005)

    async def go():
        days = days_of(house)
        task = asyncio.create_task(days.keep_ahead())
        await asyncio.sleep(0.03)
        assert days.helper.asked == []
        days.looked_at()
        while days.ahead()[1]:  # noqa: ASYNC110 - what it waits for knows no event
            await asyncio.sleep(0.005)
        task.cancel()

    asyncio.run(go())


def test_views_are_kept_up_to_a_bound(house, monkeypatch):
    monkeypatch.setattr(module, "MOST_KEPT", 3)

    async def go():
        days = days_of(house)
        for plates in range(1, 6):
            await days.get(replace(ASKED, plates=plates), here)
        assert days.last(replace(ASKED, plates=2)) is None
        assert days.last(replace(ASKED, plates=3)) is not None

    asyncio.run(go())
