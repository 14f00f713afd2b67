"""The plan of a run, and new ones that are offered: figures worked out by hand for each case."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argentry.bench.hands import hands_next, next_planned
from argentry.book.runs.fold import fold
from argentry.records.event import Event
from argentry.records.run_plan import PlannedTime

CASES = Path(__file__).parents[2] / "fixtures" / "fold"
START = datetime(2026, 6, 21, 8, 0, tzinfo=UTC)


def at(seconds):
    return START + timedelta(seconds=seconds)


def state_of(name, later_s=0.0, leave=0):
    """Fold a case, some seconds later and without its last events."""
    case = json.loads((CASES / f"{name}.json").read_text("utf-8"))
    told = case["events"][: len(case["events"]) - leave]
    events = [Event(**{**e, "at": datetime.fromisoformat(e["at"])}) for e in told]
    return fold(events, now=datetime.fromisoformat(case["now"]) + timedelta(seconds=later_s))


def plan_of(state, order, key):
    return state.plates[order].step(key).plan


def why(state):
    return [one.why for one in state.odd]


def test_every_step_of_the_opening_has_its_planned_time():
    state = state_of("planned")
    assert plan_of(state, 1, "iodise") == PlannedTime(at(900), at(1200), at(1020), "")
    fix = plan_of(state, 0, "fix")
    assert (fix.latest, fix.limit) == (None, "within 15 min of ripe")
    assert plan_of(state, 2, "fix") is None


def test_the_float_is_the_latest_start_less_now_until_it_is_begun():
    assert state_of("planned").plates[1].step("buff").float_s == 20.0
    assert state_of("planned", 720.0).plates[1].step("buff").float_s == -700.0
    one = state_of("planned").plates[0]
    assert [one.step(key).float_s for key in ("buff", "iodise", "fix")] == [None, None, None]
    assert one.step("expose").float_s == 20.0


def test_the_next_step_for_hands_is_the_one_planned_first():
    found = next_planned(state_of("planned"))
    # One is over iodine; of what is not begun its exposure (600) and Two's buff (600) come first
    assert (found.label, found.step, found.in_s) == ("One", "expose", -100.0)
    assert next_planned(state_of("running")) is None


def test_plates_that_may_begin_come_in_the_plans_order():
    state = state_of("planned")
    assert [hand.label for hand in hands_next(state)] == ["One", "Two", "Three"]
    turned = state_of("plan_taken")  # One waits for 700, Two for 1400
    hands = hands_next(turned)
    assert [(hand.label, hand.want) for hand in hands] == [
        ("One", "keep"), ("Two", "begin"), ("Three", "left_out"),
    ]  # fmt: skip
    assert [hand.planned_in_s for hand in hands] == [50.0, 750.0, None]


def test_a_run_opened_before_plans_were_kept_whole_stays_readable():
    state = state_of("planned_of_old")
    assert plan_of(state, 0, "buff") == PlannedTime(at(60), None, None, "")
    assert plan_of(state, 0, "iodise") is None
    assert all(step.plan is None for step in state.plates[1].steps)
    assert all(step.float_s is None for plate in state.plates for step in plate.steps)


def test_a_plan_offered_changes_nothing_until_it_is_taken():
    state = state_of("plan_taken", leave=3)
    assert plan_of(state, 1, "buff") == PlannedTime(at(600), at(900), at(720), "")
    offer = state.offer
    assert (offer.lines, offer.share, offer.kept_share) == (("Three no longer fits",), 0.75, 0.5)
    assert offer.moved == (("plate-a", "iodise"), ("plate-b", "buff"))
    assert (offer.left_out, offer.why) == (("plate-c",), "buff takes longer")


def test_a_plan_taken_stands_for_what_is_not_over():
    state = state_of("plan_taken")
    assert state.offer is None
    assert state.standing
    # begun: it began by the old plan and ends by the new one
    assert plan_of(state, 0, "buff") == PlannedTime(at(0), at(500), at(120), "")
    assert plan_of(state, 1, "buff") == PlannedTime(at(1400), at(1700), at(1500), "")
    assert plan_of(state, 1, "fix").start == at(2100), "what it does not name stays as it was"
    assert state.plates[2].left_out
    assert all(step.plan is None for step in state.plates[2].steps)
    assert why(state) == ["the plan was taken already"]


def test_a_plan_turned_down_is_remembered_and_an_overtaken_one_cannot_be_taken():
    state = state_of("plan_turned_down")
    assert len(state.turned_down) == 1
    assert state.offer is None
    assert state.standing == ""
    assert plan_of(state, 0, "buff").start == at(0)
    assert why(state) == [
        "a newer plan was offered since",
        "the plan was turned down already",
        "no such plan was offered in this run",
        "no such plan was offered in this run",
    ]


def test_taking_a_plan_can_be_undone():
    state = state_of("plan_undone_and_waiting")
    assert state.offer is not None
    assert not state.plates[1].left_out
    assert plan_of(state, 1, "buff").start == at(600)
    assert state_of("plan_undone_and_waiting", leave=1).plates[1].left_out


def test_nothing_is_offered_in_a_run_that_is_over():
    state = state_of("plan_after_the_end")
    assert state.offer is None
    assert why(state) == ["the run was over", "the run was over"]


def test_an_answer_that_comes_late_counts_at_its_own_time():
    """A phone without a network took the first plan before the second was offered."""
    case = json.loads((CASES / "plan_turned_down.json").read_text("utf-8"))
    events = [Event(**{**e, "at": datetime.fromisoformat(e["at"])}) for e in case["events"]]
    first, second = (e for e in events if e.kind == "plan_offered")
    kept = [e for e in events if e.kind not in ("plan_taken", "plan_declined")]
    late = Event(
        "0197900a-0002-7000-8000-000000000001", events[0].run, "plan_taken",
        first.at + timedelta(seconds=2), body={"offer": first.id}, device="phone", seq=99,
    )  # fmt: skip
    state = fold([*kept, late], now=at(700))
    assert plan_of(state, 0, "buff").start == at(900)
    assert state.offer.event == second.id, "the newer one still waits"
    assert state.odd == ()
