"""A making's band in characters: plan above, what was done below, readings last."""

from dataclasses import replace

import pytest
from tests.out.plates.test_band import making

from argentry.out.plates.band_text import GUTTER, MARKS, making_band_text


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
