"""What a plate in hand is worth at each point."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.learn.deciding.day_worth import solve_day
from argentry.learn.deciding.plate_value import GRID, at, least_needed, plate_value, rounded_up
from argentry.learn.deciding.stage_work import StageWork, usual_work

# Minutes and shares as the design notes took them for their measurements.
WORK = (
    StageWork("polish", 75, 0.80),
    StageWork("coat", 12, 0.88),
    StageWork("exposure", 20, 0.85),
    StageWork("development", 90, 0.92, reveals=True),
    StageWork("finish", 50, 0.94),
)


def test_values_grow_with_p_and_needed_is_their_root():
    value = plate_value(WORK, solve_day(WORK, 480)).ahead[0][0, :, 400]
    assert np.all(np.diff(value) >= -1e-12)
    assert least_needed(np.full(GRID.size, -1.0)) == np.inf
    assert least_needed(np.zeros(GRID.size)) == 0.0
    assert least_needed(GRID - 0.37) == pytest.approx(0.37)


def test_a_coat_done_again_is_laid_on_a_polish_done_again():
    """Nothing is left of the polish before, good or bad; polish alone keeps what was before it.

    Where a coat done once more begins: `trade.decide.ways_back`, common practice.
    """
    usual = usual_work(89.1, {"polish": 0.7})
    value = plate_value(usual, solve_day(usual, 480))
    coat = value.redo[1][0, :, 450]
    assert coat == pytest.approx(coat[0])
    polish_sound = plate_value((replace(usual[0], ok=1.0), *usual[1:]), solve_day(usual, 480))
    assert coat[0] < polish_sound.redo[1][0, 0, 450], "a sound polish is worth more"
    assert [stage.redo_from_first for stage in usual] == [False, True, False, False, False]


def test_interpolation_by_rows_is_that_of_numpy():
    rng = np.random.default_rng(1)
    values, p = rng.random((3, GRID.size)), rng.random((3, 7))
    want = [np.interp(p[i], GRID, values[i]) for i in range(3)]
    assert at(values[..., None], p)[..., 0] == pytest.approx(np.array(want))
    assert at(values[..., None], np.ones((1, 1)))[..., 0] == pytest.approx(values[:, -1:])


def test_minutes_are_rounded_up_but_for_the_dust_of_adding():
    assert [rounded_up(m) for m in (0.0, 0.1 + 0.2, 3.0, 3.0 + 1e-12, 3.001)] == [0, 1, 3, 3, 4]
