"""A making's band in characters: plan above, what was done below, readings last."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from tests.out.plates.test_band import making

from argentry.out.plates.band_text import GUTTER, MARKS, making_band_text, seen_until
from argentry.out.plates.words import steps_done


@pytest.mark.parametrize("width", [40, 80, 200])
@pytest.mark.parametrize("plain", [False, True])
def test_no_line_is_longer_than_the_terminal(width, plain):
    lines = making_band_text(making(), width, plain=plain)
    assert max(map(len, lines[:-1])) <= width
    assert plain == all(line.isascii() for line in lines)


def test_each_stage_has_its_plan_and_below_it_what_was_done():
    planned, hands, waits, read = MARKS
    lines = making_band_text(making(), 100)
    row = next(place for place, line in enumerate(lines) if "development" in line)
    plan, done = lines[row], lines[row + 1]
    assert set(plan[GUTTER:]) == {" ", planned}
    assert set(done) == {" ", waits}
    # planned from the 25th to the 150th minute, done from the 45th to the 190th of 240
    assert plan.index(planned) < done.index(waits)
    assert len(plan) < len(done)
    assert {hands, " "} == set(lines[row - 1])  # the exposure, by hand
    assert lines[-2].split() == ["read", read]


def test_a_step_that_goes_on_is_drawn_as_far_as_it_has_lasted():
    whole = making()
    going = replace(next(s for s in whole.steps if not s.attended), ended=None, elapsed_s=1800.0)
    steps = tuple(going if s.key == going.key else s for s in whole.steps)
    lines = making_band_text(replace(whole, steps=steps), 100)
    row = next(place for place, line in enumerate(lines) if "development" in line)
    plan, done = lines[row], lines[row + 1]
    assert 0 < done.count(MARKS[2]) < plan.count(MARKS[0])


def test_a_making_without_timed_steps_has_no_band():
    assert making_band_text(making(steps=()), 80) == []


def test_on_the_night_the_clocks_go_back_steps_stand_in_the_order_they_were_done():
    """Of one zone two times compare by the wall clock: 02:05 after the change came before 02:55."""
    madrid, first = ZoneInfo("Europe/Madrid"), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    begun = {
        key: (first + timedelta(minutes=minutes)).astimezone(madrid)
        for key, minutes in (("scour", 0), ("iodise", 25), ("expose", 35), ("develop", 40))
    }
    steps = tuple(
        replace(one, begun=begun.get(one.key), ended=None, elapsed_s=1800.0)
        for one in making().steps
    )
    there = steps_done(making(steps=steps))
    assert [one.key for one in there] == ["scour", "iodise", "expose", "develop"]
    assert [f"{one.begun:%H:%M}" for one in there] == ["02:30", "02:55", "02:05", "02:10"]
    assert f"{seen_until(there[1]):%H:%M %z}" == "02:25 +0100", "half an hour after 02:55 +0200"
