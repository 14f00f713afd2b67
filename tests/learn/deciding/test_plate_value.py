"""What a plate in hand is worth at each point."""

import numpy as np
import pytest

from argentry.learn.deciding.day_worth import solve_day
from argentry.learn.deciding.plate_value import GRID, at, least_needed, plate_value, rounded_up
from argentry.learn.deciding.stage_work import StageWork

# Minutes and shares as the design notes took them for their measurements.
WORK = (
    StageWork("polish", 75, 0.80),
    StageWork("coat", 12, 0.88),
    StageWork("exposure", 20, 0.85),
    StageWork("development", 90, 0.92, reveals=True),
    StageWork("finish", 50, 0.94),
)


def test_values_grow_with_p_and_needed_is_their_root():
    value = plate_value(WORK, solve_day(WORK, 600)).ahead(0, 500)[0]
    assert np.all(np.diff(value) >= -1e-12)
    assert least_needed(np.full(GRID.size, -1.0)) == np.inf
    assert least_needed(np.zeros(GRID.size)) == 0.0
    assert least_needed(GRID - 0.37) == pytest.approx(0.37)


def test_interpolation_by_rows_is_that_of_numpy():
    rng = np.random.default_rng(1)
    values, p = rng.random((3, GRID.size)), rng.random((3, 7))
    want = [np.interp(p[i], GRID, values[i]) for i in range(3)]
    assert at(values, p) == pytest.approx(np.array(want))
    assert at(values, np.ones((1, 1))) == pytest.approx(values[:, -1:])


def test_minutes_are_rounded_up_but_for_the_dust_of_adding():
    assert [rounded_up(m) for m in (0.0, 0.1 + 0.2, 3.0, 3.0 + 1e-12, 3.001)] == [0, 1, 3, 3, 4]
