"""Words of the bench: spans of time, and what a plate wants of the hands."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from argentry.bench.words import (
    _with_frame,
    clock_face,
    hands_words,
    offer_lines,
    past_words,
    planned_words,
    span,
)
from argentry.records.run_plan import PlannedTime, PlanOffer
from argentry.records.run_step import StepState


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 s"), (0.4, "0 s"), (-0.4, "0 s"), (-1, "-1 s"), (119.4, "119 s"), (119.6, "2 min"),
        (120, "2 min"), (121, "2 min 01 s"), (-250, "-4 min 10 s"), (3599, "59 min 59 s"),
        (3599.6, "1 h 00 min"), (3600, "1 h 00 min"), (3629, "1 h 00 min"), (3631, "1 h 01 min"),
        (-7500, "-2 h 05 min"),
    ],
)  # fmt: skip
def test_spans(seconds, words):
    assert span(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "face"),
    [
        (0, "0:00"), (-0.4, "0:00"), (59.6, "1:00"), (60, "1:00"), (3599, "59:59"),
        (3600, "1:00:00"), (-3661, "-1:01:01"), (-0.6, "-0:01"),
    ],
)  # fmt: skip
def test_clock_faces(seconds, face):
    assert clock_face(seconds) == face


STATE = SimpleNamespace(
    step=lambda _: SimpleNamespace(title="Over iodine", resource="box"),
    plate=lambda _: SimpleNamespace(label="B 2"),
)


def said(want, left=None, keep=None, waits=None, in_s=None):
    hands = SimpleNamespace(
        step="iodise", want=want, left_s=left, keep_left_s=keep, waits_for=waits, in_s=in_s
    )
    return hands_words(STATE, hands).removeprefix("Over iodine: ")


def test_what_a_plate_wants_of_the_hands():
    assert said("paused") == "clock stopped"
    assert said("ripe", left=-82.0) == "82 s over time"
    assert said("busy", left=50.0) == said("wait", left=50.0) == "50 s left"
    assert said("begin", keep=10.0) == "may begin"
    assert said("must", keep=600.0) == "begin within 10 min"
    assert said("must") == said("must", keep=0.0) == said("must", keep=-0.9) == "at once"
    assert said("must", keep=-1.0) == "at once, late by 1 s"
    assert said("must", keep=-70.0) == "at once, late by 70 s"
    assert "B 2" in said("wait", left=9.0, waits="id", in_s=30.0)
    assert said("wait", waits="id", in_s=30.0).endswith("30 s")


NINE = datetime(2026, 6, 21, 9, 0, tzinfo=UTC)
LATER = NINE + timedelta(minutes=20)


@pytest.mark.parametrize(
    ("plan", "state", "float_s", "words"),
    [
        (None, "ready", None, ""),
        (PlannedTime(NINE, None, None, ""), "ready", None, "planned 09:00"),
        (PlannedTime(NINE, LATER, LATER, ""), "ready", 700.0,
         "planned 09:00, latest 09:20: 12 min to spare"),
        (PlannedTime(NINE, LATER, LATER, ""), "waiting", -7200.0,
         "planned 09:00, latest 09:20: late by 2 h 00"),
        (PlannedTime(NINE, LATER, None, "within 15 min of ripe"), "waiting", None,
         "within 15 min of ripe, about 09:00"),
        (PlannedTime(NINE, LATER, LATER, ""), "running", None, "planned until 09:20"),
        (PlannedTime(NINE, None, None, ""), "running", None, ""),
        (PlannedTime(NINE, LATER, LATER, ""), "done", None, ""),
    ],
)  # fmt: skip
def test_planned_times(plan, state, float_s, words):
    step = StepState("buff", state, 60.0, 30.0, 90.0, plan=plan, float_s=float_s)
    assert planned_words(step, UTC) == planned_words(step, UTC, NINE) == words
    if state == "running" and plan.end:  # past its plan: alone it would contradict the time left
        later = replace(step, left_s=300.0)
        assert planned_words(later, UTC, LATER) == f"{words}, now until 09:25"
        assert planned_words(later, UTC, NINE) == words
    day_before = planned_words(step, UTC, NINE - timedelta(hours=10))
    assert day_before == words.replace("09:", "2026-06-21 09:")


def test_another_day_is_named_by_the_clocks_of_the_place():
    """The same cases hold the bench's page in tests/pages/test_units_twin.py."""
    told = json.loads((Path(__file__).parents[1] / "fixtures/units/day_clock.json").read_text())
    zone = ZoneInfo(told["zone"])
    for at, now, said in told["cases"]:
        plan = PlannedTime(datetime.fromisoformat(at), LATER, None, "")
        step = StepState("buff", "ready", 60.0, 30.0, 90.0, plan=plan)
        assert planned_words(step, zone, datetime.fromisoformat(now)) == f"planned {said}"


@pytest.mark.parametrize(
    ("keep_s", "words"),
    [
        (-1268.0, "planned 09:00"),
        (599.0, "planned 09:00"),
        (9000.0, "planned 09:00, latest 09:20: 44 min to spare"),
    ],
)
def test_no_time_is_to_spare_where_a_limit_runs_out_sooner(keep_s, words):
    plan = PlannedTime(NINE, LATER, LATER, "")
    step = StepState(
        "develop", "ready", 60.0, 30.0, 90.0, plan=plan, float_s=2640.0, keep_left_s=keep_s
    )
    assert planned_words(step, UTC) == words


@pytest.mark.parametrize(
    ("kept", "words"),
    [
        (0.7462, "All finished by either on 75 % of such days."),
        (0.7438, "All finished by it on 75 % of such days, by the old order on 74 %."),
    ],
)
def test_the_same_odds_are_told_once(kept, words):
    new = PlanOffer("e", NINE, "", ("Later.",), (), (), kept, 0.7541)
    assert offer_lines(new) == ["New plan: Later.", words]


def test_what_changes_nothing_is_not_called_a_new_plan():
    """“New plan: No other plate today” beside a plan that stands."""
    why = PlanOffer("e", NINE, "", ("No other plate today.",), (), (), 0.75, 0.75)
    assert offer_lines(why)[0] == "No other plate today."
    for changed in ({"moved": (("a", "seal"),)}, {"left_out": ("a",)}, {"kept_share": 0.7}):
        assert offer_lines(replace(why, **changed))[0] == "New plan: No other plate today."


@pytest.mark.parametrize(
    ("key", "state", "gone", "high", "told"),
    [
        ("iodise", "running", 91.0, 90.0, True), ("iodise", "running", 89.0, 90.0, False),
        ("iodise", "done", 91.0, 90.0, False), ("iodise", "running", 61.0, 60.0, False),
        ("final_buff", "running", 91.0, 90.0, False), ("none", "running", 91.0, 90.0, False),
    ],
)  # fmt: skip
def test_a_coat_past_its_range_says_what_to_do_about_it(key, state, gone, high, told):
    words = past_words(StepState(key, state, 60.0, 45.0, high, elapsed_s=gone))
    assert ("off the iodine now" in words and "polish back" in words) is told
    assert bool(words) is told


@pytest.mark.parametrize(("current", "words"), [("buff", "08:00"), ("develop", "08:00; in Lamp")])
def test_the_frame_is_named_at_the_steps_that_are_planned_in_it(current, words):
    steps = {
        "buff": SimpleNamespace(key="buff", law="fixed", plan=SimpleNamespace(held="")),
        "develop": SimpleNamespace(
            key="develop", law="development", plan=SimpleNamespace(held="Lamp")
        ),
    }
    plate = SimpleNamespace(steps=[*steps.values()], current=current, step=steps.__getitem__)
    state = SimpleNamespace(step=steps.__getitem__)
    assert _with_frame(state, plate, "08:00") == words
    undeveloped = SimpleNamespace(**{**vars(plate), "steps": [steps["buff"]], "current": "buff"})
    assert _with_frame(state, undeveloped, "08:00") == "08:00"
