from __future__ import annotations

import math
from dataclasses import replace

import pytest

from argentry.out.day.blocks import (
    block_of,
    blocks,
    from_to,
    is_exposure,
    latest_words,
    names,
    ripe,
)
from argentry.out.wording import minutes_between
from argentry.records.day import Range


@pytest.mark.parametrize("plates", [1, 3, 6])
def test_every_step_is_in_exactly_one_block(make_plan, plates):
    plan = make_plan(plates)
    inside = [step for block in blocks(plan) for step in block.steps]
    assert sorted(map(id, inside)) == sorted(map(id, plan.steps))


def test_the_camera_begins_a_block_and_only_the_last_step_waits(make_plan):
    for block in blocks(make_plan(3)):
        assert not any(is_exposure(step) for step in block.steps[1:])
        assert all(step.attended for step in block.steps[:-1])


def test_blocks_are_in_order_of_start(make_plan):
    starts = [block.start.timestamp() for block in blocks(make_plan(6))]
    assert starts == sorted(starts)


def test_a_block_begins_by_the_latest_start_of_its_first_step(make_plan):
    for block in blocks(make_plan(3)):
        if block.steps[0].event in ("ripe", "the end of look"):
            assert block.begin_by.startswith("within ")
            continue
        assert block.begin_by == f"{block.steps[0].latest_start:%H:%M}"
        assert block.float_minutes == block.steps[0].float_minutes


def test_a_block_that_an_event_binds_says_so(make_plan):
    step = replace(make_plan(1).steps[1], event="ripe", within_minutes=15.0)
    assert block_of((step,)).begin_by == "within 15 min of ripe"
    assert block_of((step,)).float_minutes == 0.0
    assert latest_words(step) == "Begin within 15 min of ripe."
    long = replace(step, event="the end of load", within_minutes=180.0)
    assert latest_words(long).startswith("Begin within 180 min of the end of load. Begin at")


def test_lengths_add_up_and_their_spread_grows_less_than_the_sum(make_plan):
    block = max(blocks(make_plan(1)), key=lambda one: len(one.hands))
    assert block.minutes.middle == sum(step.minutes.middle for step in block.hands)
    plain = sum(step.minutes.high - step.minutes.middle for step in block.hands)
    assert 0 < block.minutes.high - block.minutes.middle < plain


def test_a_gap_ends_a_block(make_plan):
    plan = make_plan(1)
    first, second = plan.steps[1], plan.steps[2]
    apart = replace(plan, steps=(first, replace(second, start=second.end)))
    assert len(blocks(apart)) == 2
    assert len(blocks(replace(plan, steps=(first, second)))) == 1


def test_names(make_plan):
    block = blocks(make_plan(1))[1]
    assert names(block.hands).startswith("scour, rouge buff")
    assert from_to(block.hands) == f"scour to {block.hands[-1].step}"
    assert from_to(block.hands[:2]) == "scour, rouge buff"


def test_a_plate_that_is_never_ripe_has_no_late_end(make_plan):
    step = next(step for step in make_plan(1).steps if not step.attended)
    early, middle, late = ripe(replace(step, minutes=Range(90, 120, math.inf)))
    assert minutes_between(step.start, early) == 90
    assert minutes_between(step.start, middle) == 120
    assert late is None
