"""What the rest of a day is worth."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from tests.edges import is_taken_within

from argentry.errors import BadInput
from argentry.learn.deciding.day_worth import solve_day
from argentry.learn.deciding.stage_work import Check, StageWork
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


def test_the_day_is_the_best_of_all_ways_to_spend_it():
    """Two stages, no check: brute force over every sequence of begin, go on and stop."""
    a, b = StageWork("a", 3, 0.6, reveals=True), StageWork("b", 2, 0.9)

    def best(left):
        if left < 3:
            return 0.0
        seen = left - 3
        after_good = max(best(seen), 0.9 + best(seen - 2)) if seen >= 2 else best(seen)
        return max(0.6 * after_good + 0.4 * best(seen), best(left - 1))

    worth = solve_day((a, b), 20)
    assert worth == pytest.approx([best(t) for t in range(21)], abs=1e-9)


def test_redoing_against_brute_force():
    """One stage with a perfect look and a repair: a geometric series until the day ends."""
    stage = StageWork("a", 4, 0.5, redo_minutes=3, checks=(PERFECT,))
    end = StageWork("b", 1, 1.0)

    def best(left, fresh=True):
        need = 4 if fresh else 3
        if left < need:
            return 0.0
        rest = left - need
        good = max(1.0 + best(rest - 1), best(rest)) if rest >= 1 else best(rest)
        bad = max(best(rest), best(rest, fresh=False))
        return max(0.5 * good + 0.5 * bad, best(left - 1) if fresh else 0.0)

    worth = solve_day((stage, end), 20)
    assert worth == pytest.approx([best(t) for t in range(21)], abs=1e-9)


def test_what_steps_took_is_known_when_the_next_is_decided():
    """Lengths are normal: closed forms of one plate and of two."""
    sure = (
        StageWork("a", 60, 1.0, scatter=6.0, reveals=True),
        StageWork("b", 40, 1.0, scatter=8.0),
    )
    worth = solve_day(sure, 240)
    assert worth[99] == 0.0, "a plate is not begun that by plan would not be over"
    spare = np.arange(0, 60)
    assert worth[100:160] == pytest.approx(norm.cdf(spare / 10.0), abs=0.02)
    # begun with 105 minutes, one more plate of which 100 must be left: where the first took less
    first = np.linspace(-40.0, 40.0, 8001)
    left = 105.0 - first
    second = np.where(left >= 100.0, norm.cdf((left - 100.0) / 10.0), 0.0) * norm.pdf(first / 10.0)
    two = norm.cdf(10.5) + np.sum(second) / 10.0 * (first[1] - first[0])
    assert worth[205] == pytest.approx(two, abs=0.02)


def test_a_long_day_nears_the_steady_rate():
    small = tuple(replace(s, minutes=s.minutes / 20) for s in WORK)  # about 12 min a plate
    rounded = tuple(replace(s, minutes=np.ceil(s.minutes)) for s in small)
    day = solve_day(rounded, 1920)
    assert day[1920] / 1920 == pytest.approx(solve_rate(rounded).per_minute, rel=0.02)
    assert np.all(np.diff(day) >= 0)


def test_no_stages():
    with pytest.raises(BadInput, match="no stage is given"):
        solve_rate(())
    with pytest.raises(BadInput, match="no stage is given"):
        solve_day((), 10)


def test_a_day_has_so_many_minutes():
    def in_parallel(minutes):
        return solve_day(WORK, minutes, overlap=True)

    is_taken_within(in_parallel, 0, 2000, step=1)
    assert in_parallel(0).tolist() == [0.0]
    assert in_parallel(2000).size == 2001
