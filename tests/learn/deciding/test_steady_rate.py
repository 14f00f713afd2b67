"""What an hour is worth in the long run."""

from dataclasses import replace
from math import prod

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.learn.deciding.stage_work import Check, StageWork, graded_check
from argentry.learn.deciding.steady_rate import solve_rate

# Minutes and shares as the design notes took them for their measurements.
WORK = (
    StageWork("polish", 75, 0.80),
    StageWork("coat", 12, 0.88),
    StageWork("exposure", 20, 0.85),
    StageWork("development", 90, 0.92, reveals=True),
    StageWork("finish", 50, 0.94),
)


PERFECT = Check("sure", 0.0, (1.0, 0.0), (0.0, 1.0))


def first_fault_rate(stages):
    """Good plates by minute when every fault is seen at once: P(good) / E(minutes to a fault)."""
    reached, minutes = 1.0, 0.0
    for stage in stages:
        minutes += reached * stage.minutes
        reached *= stage.ok
    return reached / minutes


def test_perfect_free_checks_meet_the_closed_form():
    stages = tuple(replace(stage, checks=(PERFECT,)) for stage in WORK)
    assert solve_rate(stages).per_minute == pytest.approx(first_fault_rate(stages), rel=1e-9)
    assert 540 * first_fault_rate(stages) == pytest.approx(1.552, abs=5e-4)


def test_without_checks_only_the_developed_image_stops_a_plate():
    before, good = prod(s.ok for s in WORK[:4]), prod(s.ok for s in WORK)
    minutes = sum(s.minutes for s in WORK[:4]) + before * WORK[4].minutes
    assert solve_rate(WORK).per_minute == pytest.approx(good / minutes, rel=1e-9)
    assert 540 * good / minutes == pytest.approx(1.24, abs=0.005)


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.floats(0.2, 0.99), min_size=2, max_size=4),
    st.lists(st.floats(5.0, 120.0), min_size=4, max_size=4),
)
def test_perfect_checks_for_any_work(shares, minutes):
    stages = tuple(
        StageWork(str(i), m, p, checks=(PERFECT,))
        for i, (p, m) in enumerate(zip(shares, minutes, strict=False))
    )
    # with faults common at the very end it may pay better to stop before it: never below
    assert solve_rate(stages).per_minute >= first_fault_rate(stages) * (1 - 1e-9)
    assert solve_rate(stages).per_minute == pytest.approx(first_fault_rate(stages), rel=1e-6)


def test_a_useless_check_is_worth_nothing_and_a_better_one_more():
    rates = [
        solve_rate(
            (replace(WORK[0], redo_minutes=25, checks=(graded_check("b", 3, q),)), *WORK[1:])
        ).per_minute
        for q in (0.0, 1.0, 2.0, 3.0)
    ]
    assert rates[0] == pytest.approx(solve_rate(WORK).per_minute, rel=1e-9)
    assert rates == sorted(rates)
    assert rates[2] > 1.08 * rates[0]


def test_thresholds_fall_the_nearer_the_end():
    stages = (
        replace(WORK[0], redo_minutes=25, checks=(graded_check("breath", 3, 2.0),)),
        replace(WORK[1], checks=(graded_check("photograph", 2, 1.0),)),
        *WORK[2:],
    )
    rate = solve_rate(stages)
    assert rate.needed == pytest.approx((0.35, 0.32, 0.26, 0.13), abs=0.01)
    assert 60 * rate.per_minute == pytest.approx(0.150, abs=0.002)
