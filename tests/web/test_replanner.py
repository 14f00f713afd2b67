"""The server makes new plans beside itself: one for several changes, and on after a restart."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests import bench_studio as made

from argentry.bench.off_plan import off_plan, told_of
from argentry.book.log import append, events
from argentry.book.runs.fold import fold
from argentry.day.plan import make_day
from argentry.desk.bench.run import open_run
from argentry.keeping.clock import steady_clock
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.web import replanner as module
from argentry.web.replanner import Replanner

START = datetime(2026, 6, 21, 7, 0, tzinfo=UTC)


class Bell:
    """Counts how often a plan was offered."""

    rung = 0

    def ring(self):
        self.rung += 1


@pytest.fixture
def house(app):
    """The open studio, on a June morning that the test moves."""
    passed = {"s": 0.0}
    clock = steady_clock(wall=lambda: START, passed=lambda: passed["s"])
    clock.let_pass = lambda seconds: passed.update(s=passed["s"] + seconds)
    return replace(app.state.house, clock=clock)


@pytest.fixture(scope="module")
def plan():
    return make_day(made.studio(), date(2026, 6, 21), plates=2, now=START)


@pytest.fixture
def run(house, plan):
    return open_run(house.book, house.studio, clock=house.clock, plan=plan)


def state_of(house, run):
    return fold(events(house.book, run), now=house.clock.now())


def offers(house, run):
    return [event.body for event in events(house.book, run) if event.kind == "plan_offered"]


def later(house, minutes):
    house.clock.let_pass(60.0 * minutes)


class Planner:
    """Answers as the process would, at once, and may be told to do something first."""

    def __init__(self, house, *lines, first=lambda: None):
        self.house, self.lines, self.first, self.asked = house, lines, first, 0

    async def ask(self, asked):
        self.asked += 1
        if self.lines is None:
            return {}
        off = off_plan(state_of(self.house, asked["replan"]))
        body = {
            "plan": {}, "lines": list(self.lines), "moved": [], "left_out": [],
            "kept_share": 0.5, "share": 0.6, "why": "", "knows": dict(told_of(off)),
        }  # fmt: skip
        self.first()
        return body

    async def close(self):
        pass


def looked(house, planner, times=1, bell=None):
    """Let a server that has just come up look at its runs, some times; return what it offered."""

    async def go():
        replanner = Replanner(house, bell or Bell())
        replanner.helper = planner
        return [await replanner.look() for _ in range(times)]

    return asyncio.run(go())


def test_while_the_plates_keep_to_their_plan_nothing_is_asked(house, run):
    planner = Planner(house, "late")
    assert looked(house, planner) == [0]
    assert planner.asked == 0
    assert offers(house, run) == []


def test_late_plates_get_one_new_plan(house, run):
    later(house, 40)
    planner, bell = Planner(house, "late"), Bell()
    assert looked(house, planner, times=3, bell=bell) == [1, 0, 0]
    assert (planner.asked, bell.rung) == (1, 1)
    assert [body["lines"] for body in offers(house, run)] == [["late"]]


def test_after_a_restart_what_was_offered_is_known(house, run):
    later(house, 40)
    assert looked(house, Planner(house, "late")) == [1]
    planner = Planner(house, "late")
    assert looked(house, planner) == [0]
    assert planner.asked == 0
    later(house, 10)
    assert looked(house, Planner(house, "later still")) == [1]


def test_what_is_not_worth_a_word_is_asked_once(house, run):
    later(house, 40)
    planner, bell = Planner(house), Bell()
    assert looked(house, planner, times=2, bell=bell) == [0, 0]
    assert (planner.asked, bell.rung) == (1, 0)


def test_a_plan_that_the_hands_overtook_is_made_again_and_once(house, run):
    later(house, 40)
    planner = Planner(house, "late", first=lambda: later(house, 15 if planner.asked == 1 else 0))

    async def go():
        replanner = Replanner(house, Bell())
        replanner.helper = planner
        first = await replanner.look()
        return first, replanner._heard.is_set(), await replanner.look()

    assert asyncio.run(go()) == (0, True, 1)
    assert planner.asked == 2


def test_many_presses_make_one_plan(house, run, monkeypatch):
    monkeypatch.setattr(module, "SETTLE_SECONDS", 0.5)
    later(house, 40)
    planner = Planner(house, "late")

    async def go():
        replanner = Replanner(house, Bell())
        replanner.helper = planner
        rung = asyncio.Event()
        replanner._broadcast.ring = rung.set
        task = asyncio.create_task(replanner.keep_planned())
        for _ in range(20):
            replanner.heard()
            await asyncio.sleep(0)
        await rung.wait()
        task.cancel()
        await asyncio.wait([task])

    asyncio.run(go())
    assert planner.asked == 1
    assert len(offers(house, run)) == 1


def test_a_run_that_cannot_be_planned_is_not_tried_at_every_press(house, run):
    later(house, 40)
    planner = Planner(house)
    planner.lines = None
    assert looked(house, planner, times=3) == [0, 0, 0]
    assert planner.asked == 1


def test_a_loss_is_planned_for_though_no_plan_could_be_made_just_before(house, run):
    """It waited five minutes, as for a plan that cannot be made."""
    later(house, 40)
    plates = [plate.id for plate in state_of(house, run).plates]

    class Down(Planner):
        async def ask(self, asked):
            if self.asked < 2:
                lost, now = plates[self.asked], self.house.clock.now()
                append(self.house.book, [Event(new_id(), run, "plate_abandoned", now, lost)])
            return await super().ask(asked)

    planner = Down(house)
    planner.lines = None
    assert looked(house, planner, times=5) == [0] * 5
    assert planner.asked == 3, "late; one lost; the other lost"


def test_the_real_planner_in_its_own_process(house, run):
    later(house, 360)

    async def go():
        replanner = Replanner(house, Bell())
        try:
            return await replanner.look(), await replanner.look()
        finally:
            await replanner.helper.close()

    assert asyncio.run(go()) == (1, 0)
    [body] = offers(house, run)
    assert "no longer fits" in body["lines"][0]
    assert body["kept_share"] is None, "the plan that stood held one plate more"
    assert body["share"] > 0.0
    state = state_of(house, run)
    assert state.offer.lines == tuple(body["lines"])
    begin = min(row["start"] for own in body["plan"].values() for row in own.values())
    assert datetime.fromisoformat(begin) >= state.now - timedelta(minutes=1)


def test_a_press_is_heard(host, app, monkeypatch):
    heard = []
    monkeypatch.setattr(app.state.replanner, "heard", lambda: heard.append(1))
    opened = host.post("/api/runs", {"plates": ["Q-7"]}).json()["run"]
    assert heard == []
    event = {"id": "0197900a-0000-7000-8000-0000000000aa", "kind": "remark_made",
             "body": {"words": "x"}, "age_s": 0.0}  # fmt: skip
    assert host.post(f"/api/runs/{opened}/events", {"events": [event]}).status_code == 200
    assert heard == [1]
