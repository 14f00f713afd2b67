"""How far plates are off their plan, and what asks for a new one."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from argentry.bench.off_plan import OffPlan, known_of, off_plan, told_of, what_changed
from argentry.book.runs.fold import fold
from argentry.records.event import Event

CASES = Path(__file__).parents[1] / "fixtures" / "fold"
A, B, C = "plate-a", "plate-b", "plate-c"


def state_of(name, later_s=0.0, more=()):
    case = json.loads((CASES / f"{name}.json").read_text("utf-8"))
    events = [Event(**{**e, "at": datetime.fromisoformat(e["at"])}) for e in case["events"]]
    now = datetime.fromisoformat(case["now"])
    for number, (kind, plate, step, body) in enumerate(more):
        own = f"0197900a-0003-7000-8000-{number:012d}"
        at = now + timedelta(seconds=min(later_s, 0.0))
        events.append(Event(own, events[0].run, kind, at, plate, step, body, "me", seq=99 + number))
    return fold(events, now=now + timedelta(seconds=later_s))


def test_a_running_step_is_late_by_its_expected_end_and_a_waiting_one_by_its_start():
    # at 700 s: One iodises since 400 for 90 s, over time, and was to end at 600; its exposure is
    # planned 300 s and takes 240, its development 300 s and takes 7200; so it is with the others.
    # Two was to begin at 600; Three at 1200.
    light = (240 - 300) + (7200 - 300)
    off = off_plan(state_of("planned"))
    assert off.late_s == {A: 100.0 + light, B: 100.0 + light, C: 0.0 + light}


def test_a_run_without_ends_or_that_is_paused_or_closed_asks_for_nothing():
    assert off_plan(state_of("running")) is None
    assert off_plan(state_of("planned_of_old")) is None
    assert off_plan(state_of("plan_after_the_end")) is None
    assert off_plan(state_of("planned", more=[("paused", None, None, {})])) is None


def test_only_what_moved_by_more_than_a_few_minutes_asks():
    state = state_of("planned")
    off = off_plan(state)
    assert what_changed(state, off, off) == ()
    later = state_of("planned", 290.0)
    assert what_changed(later, off_plan(later), off) == ()
    later = state_of("planned", 310.0)
    assert what_changed(later, off_plan(later), off) == (
        "One is 2 h 01 late", "Two is 2 h 01 late",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ([("plate_abandoned", B, None, {"why": "scratched"})], ("Two is given up",)),
        ([("step_ended", A, "iodise", {}), ("step_redone", A, "iodise", {})],
         ("One goes back a step",)),
        ([("reading_taken", None, None, {"what": "light_lx", "value": 9000.0, "unit": "lx"})],
         ("the light was read",)),
        ([("reading_taken", None, None, {"what": "room_c", "value": 19.0, "unit": "°C"})], ()),
        ([("remark_made", None, None, {"words": "dusty"})], ()),
    ],
)  # fmt: skip
def test_what_asks_for_a_new_plan(more, words):
    known = off_plan(state_of("planned"))
    state = state_of("planned", more=more)
    found = what_changed(state, off_plan(state), known)
    assert found[:1] == words  # a plate gone back is late as well


def test_by_another_plan_nothing_is_late_yet():
    state = state_of("planned")
    known = OffPlan({A: 900.0}, standing="before")
    assert what_changed(state, OffPlan({A: 10.0}, standing="now"), known) == ()
    assert what_changed(state, OffPlan({A: 900.0}, standing="now"), known) == (
        "One is 15 min late",
    )


def test_a_new_forecast_asks():
    state = state_of("planned")
    old, new = off_plan(state, "a.csv 1 9"), off_plan(state, "a.csv 2 9")
    assert what_changed(state, new, old) == ("the forecast is new",)


def test_a_frame_that_is_free_asks_once_no_plate_waits_to_be_begun():
    """When all went well no new plan was asked for, and an empty frame was never offered."""
    state = state_of("planned")
    first, *others = state.plates
    done = [replace(s, state="done") if s.key == "develop" else s for s in first.steps]
    first = replace(first, steps=tuple(done))
    waits = replace(state, plates=(first, *others))
    assert off_plan(waits).freed == ()
    known = off_plan(state)
    begun = tuple(replace(plate, begun=True) for plate in (first, *others))
    off = off_plan(replace(state, plates=begun))
    assert off.freed == (A,)
    assert what_changed(state, replace(off, late_s=known.late_s), known) == ("a frame is free",)
    assert what_changed(state, off, off) == ()


def test_a_plate_that_has_caught_up_says_so():
    state = state_of("planned")
    words = what_changed(state, OffPlan({A: 10.0}), OffPlan({A: 700.0}))
    assert words == ("One is back on its plan",)
    assert what_changed(state, OffPlan({A: -700.0}), OffPlan()) == ("One is 12 min early",)


def test_it_survives_the_log():
    off = OffPlan({A: 12.5}, {A: 2}, (B,), (A,), "light_lx now", "a.csv 1 9", "it", (C,))
    assert known_of(json.loads(json.dumps(told_of(off)))) == off
    assert known_of({}) == OffPlan()


def test_a_plate_that_is_ahead_stays_so_while_it_waits():
    # One iodised until 500, planned until 600; its exposure is planned for 600
    light = (240 - 300) + (7200 - 300)
    ended = ("step_ended", A, "iodise", {})
    assert off_plan(state_of("planned", -200.0, [ended])).late_s[A] == -100.0 + light
    case = state_of("planned", -199.0, [ended])
    assert case.plates[0].step("expose").plan.start > case.now
    assert off_plan(case).late_s[A] == -99.0 + light
    assert off_plan(state_of("planned", 50.0, [ended])).late_s[A] == 150.0 + light


def test_with_every_plate_given_up_another_may_be_begun_until_the_run_is_closed():
    gone = [("plate_abandoned", plate, None, {"why": "scratched"}) for plate in (A, B, C)]
    off = off_plan(state_of("planned", more=gone))
    assert (set(off.lost), off.late_s) == ({A, B, C}, {})
    assert off_plan(state_of("planned", more=[*gone, ("run_closed", None, None, {})])) is None


def test_a_plate_whose_clock_is_stopped_is_later_and_later():
    stopped = [("paused", B, None, {}), ("paused", A, None, {})]
    for later_s in (0.0, 600.0):
        state = state_of("planned", later_s, stopped)
        light = (240 - 300) + (7200 - 300)
        assert off_plan(state).late_s[B] == 100.0 + later_s + light
