from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

from argentry.out.day.blocks import blocks
from argentry.out.day.rows import rows, wait_rules
from argentry.out.wording import clock
from argentry.plan import dispatch, shop

WORKSHOP = {"workers": 4, "pace": 0.7, "begin": "05:30", "end": "22:00"}


def plates_of(row):
    found = set()
    for part in row.plate.split(", "):
        ends = [int(one) for one in part.split("–")] if part else [0]
        found |= set(range(ends[0], ends[-1] + 1))
    return found


def test_every_piece_of_work_is_in_one_row(make_plan):
    for plan in (make_plan(3), make_plan(12, **WORKSHOP)):
        told = [(row.start, plate) for row in rows(plan) for plate in plates_of(row)]
        pieces = blocks(plan)
        assert len(told) == len(pieces)
        assert {plate for _, plate in told} == {block.plate for block in pieces}
        starts = [row.start for row in rows(plan)]
        assert starts == sorted(starts)


def test_what_several_hands_begin_together_is_one_row(make_plan):
    plan = make_plan(12, **WORKSHOP)
    first = rows(plan)[1]
    assert (first.plate, first.what) == ("1–4", "scour to load")
    latest = {block.begin_by for block in blocks(plan)[1:5]}
    assert first.latest == f"the first by {min(latest)}"
    same = replace(
        plan,
        steps=tuple(
            replace(step, latest_start=step.start + timedelta(minutes=5)) for step in plan.steps
        ),
    )
    assert re.fullmatch(r"\d\d:\d\d", rows(same)[1].latest)
    assert len(rows(make_plan(3))) == len(blocks(make_plan(3)))  # one pair of hands


def test_the_camera_has_a_row_of_its_own_for_each_plate(make_plan):
    plan = make_plan(12, **WORKSHOP)
    shots = [row for row in rows(plan) if row.what.startswith("camera ")]
    assert sorted(int(row.plate) for row in shots) == list(range(1, 13))
    assert all(re.search(r"\d \(?[\d.]*|s$", row.what) and row.wait for row in shots)


def test_the_frame_is_named_where_the_day_uses_several_kinds(make_plan):
    plan = make_plan(2)
    assert not any(" in " in row.wait for row in rows(plan))
    steps = tuple(
        replace(step, resource="Lamp frame") if (step.plate, step.step) == (2, "develop") else step
        for step in plan.steps
    )
    told = {row.plate: row.wait for row in rows(replace(plan, steps=steps)) if row.wait}
    usual = next(step.resource for step in plan.steps if step.step == "develop")
    assert told["2"].endswith(" in Lamp frame")
    assert told["1"].endswith(f" in {usual}")


def test_each_step_of_one_plate_has_a_row(make_plan):
    plan = make_plan(1)
    assert len(rows(plan, each_step=True)) == len(plan.steps)


def test_the_rules_of_waiting_are_told_once_each_in_order(make_plan):
    assert wait_rules(make_plan(3)) == (
        "expose within 180 min of load", "to frame within 110 min of expose",
        "fix within 15 min of ripe", "gild within 60 min of look",
        "of two plates that wait, one with under 30 min left goes first",
    )  # fmt: skip
    assert not any("two plates" in rule for rule in wait_rules(make_plan(1)))
    assert dispatch.URGENT_MINUTES == 30.0  # as the simulated days take it


def test_work_that_may_be_begun_before_a_break_has_its_rule(make_plan):
    """As the simulated days take it; where what is planned behind the break may come sooner."""
    plan = make_plan(1)
    pause = plan.breaks[0]
    ten = timedelta(minutes=shop.BREAK_GRACE)
    rule = f"before the break at {clock(pause.start)} begin what ends by {clock(pause.start + ten)}"
    step = replace(plan.steps[-1], start=pause.end, start_low=pause.start - ten)
    assert wait_rules(replace(plan, steps=(step,))) == (rule,)
    for other in (
        replace(step, start_low=pause.start),
        replace(step, attended=False),
        replace(step, start=pause.start - ten),
    ):
        assert wait_rules(replace(plan, steps=(other,))) == ()


def test_the_veil_of_each_plate_stands_last(make_plan):
    plan = make_plan(2)
    assert not any("veil" in rule for rule in wait_rules(plan))
    veiled = [
        replace(step, veiled=step.end) if step.step == "develop" else step for step in plan.steps
    ]
    told = wait_rules(replace(plan, steps=tuple(veiled)))
    ends = {step.plate: clock(step.end) for step in plan.steps if step.step == "develop"}
    each = ", ".join(f"{plate} at {end}" for plate, end in ends.items())
    assert told[-1] == f"out of the frame before the veil (plate {each})"


def test_what_cannot_be_begun_any_more_on_some_days_never_begins(make_plan):
    """Such a day counts it as begun when the hands leave: that is not a time to be told."""
    plan = make_plan(1)
    step = plan.steps[-1]
    for low, words in ((step.start, f"{clock(step.start)}–never"), (plan.end, "never")):
        late = replace(step, start_low=low, start_high=plan.end)
        row = rows(replace(plan, steps=(late,)))[0]
        assert row.range == words
    sure = replace(step, start_low=step.start, start_high=plan.end - timedelta(minutes=1))
    assert rows(replace(plan, steps=(sure,)))[0].range.endswith(clock(sure.start_high))
