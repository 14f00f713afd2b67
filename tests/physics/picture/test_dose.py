"""Doses of light: running sums, ends and latest starts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from argentry.errors import BadInput
from argentry.physics.picture.dose import (
    LightSums,
    cumulative_j_m2,
    end_index,
    end_table,
    ends_in,
    ends_of_days,
    latest_start_index,
)

LIGHTS = arrays(np.float64, st.integers(1, 40), elements=st.sampled_from([0.0, 0.5, 2.0, 100.0]))


def test_constant_light_adds_up_and_ends_where_the_rule_of_three_says():
    total = cumulative_j_m2(np.full(60, 10.0), 60.0)
    assert total[-1] == pytest.approx(36000.0)
    assert end_index(total, 5.0, 6000.0) == pytest.approx(15.0)
    assert end_index(total, 5.5, 6300.0) == pytest.approx(16.0)
    assert latest_start_index(total, 6000.0, 60.0) == pytest.approx(50.0)
    assert latest_start_index(total, 6000.0, 1e9) == pytest.approx(50.0)


def test_a_dose_that_the_light_cannot_give_has_no_end():
    total = cumulative_j_m2(np.ones(10), 1.0)
    assert np.isnan(end_index(total, 1.0, 9.5))
    assert np.isnan(latest_start_index(total, 9.5, 9.0))
    assert np.isnan(latest_start_index(total, 0.5, -1.0))
    assert end_index(total, 0.0, 10.0) == pytest.approx(10.0)


def test_the_dark_is_waited_through_at_the_start_and_not_at_the_end():
    total = cumulative_j_m2(np.array([0.0, 0.0, 1.0, 1.0, 0.0, 0.0]), 1.0)
    assert end_index(total, 0.0, 2.0) == pytest.approx(4.0)
    assert latest_start_index(total, 2.0, 6.0) == pytest.approx(2.0)


@given(LIGHTS, st.floats(0.01, 5000.0), st.integers(0, 40))
def test_the_end_brings_exactly_the_dose_and_agrees_with_its_table(light, dose, start):
    total = cumulative_j_m2(light, 60.0)
    start = min(start, len(light))
    edges = np.arange(len(total))
    end = end_index(total, float(start), dose)
    assert end_table(total, dose)[start] == pytest.approx(end, nan_ok=True)
    if np.isnan(end):
        assert total[-1] - total[start] < dose * (1 + 1e-9)
    else:
        assert np.interp(end, edges, total) - total[start] == pytest.approx(dose)
        latest = latest_start_index(total, dose * (1 - 1e-9), end)
        assert latest >= start - 1e-6


@given(arrays(np.float64, (3, 12), elements=st.floats(0.0, 50.0)), st.floats(0.1, 9000.0))
def test_an_ensemble_is_the_same_row_by_row(light, dose):
    total = cumulative_j_m2(light, 60.0)
    doses = np.array([dose, 2 * dose, 3 * dose])
    both = end_table(total, doses)
    for row in range(3):
        np.testing.assert_array_equal(both[row], end_table(total[row], doses[row]))
    np.testing.assert_array_equal(end_table(total, dose)[1], end_table(total[1], dose))
    np.testing.assert_array_equal(end_table(total[0], doses)[2], end_table(total[0], doses[2]))


@pytest.mark.parametrize("dose", [-1.0, float("nan"), float("inf")])
def test_impossible_doses_are_refused(dose):
    total = cumulative_j_m2(np.ones(3), 1.0)
    for ask in (
        lambda: end_index(total, 0.0, dose),
        lambda: end_table(total, dose),
        lambda: latest_start_index(total, dose, 1.0),
    ):
        with pytest.raises(BadInput, match="dose"):
            ask()


def test_impossible_steps_and_starts_are_refused():
    with pytest.raises(BadInput, match="step"):
        cumulative_j_m2(np.ones(3), 0.0)
    with pytest.raises(BadInput, match="start"):
        end_index(np.arange(4.0), 3.5, 1.0)


def test_many_doses_at_once_end_where_each_ends_alone():
    """One search over all lights against one light after the other."""
    rng = np.random.default_rng(3)
    total = cumulative_j_m2(rng.choice([0.0, 1.0, 30.0], size=(5, 80)), 60.0)
    which = rng.integers(0, 5, 400)
    start, dose = rng.uniform(0.0, 79.9, 400), rng.uniform(1.0, 9e4, 400)
    alone = [end_index(total[w], s, d) for w, s, d in zip(which, start, dose, strict=True)]
    got = ends_in(total, which, start, dose)
    assert 50 < np.isnan(got).sum() < 350
    np.testing.assert_allclose(got, alone, rtol=1e-9)


def test_a_dose_that_is_reached_in_the_first_step_is_reached_within_it():
    sums = LightSums.of(np.array([[0.0, 10.0, 20.0]]))
    first = np.zeros(1, dtype=np.int64)
    assert sums.ends(first, np.array([0.0]), np.array([5.0])) == pytest.approx([0.5])


def test_lights_laid_one_above_the_other_stay_in_order_however_weak():
    sums = LightSums.of(np.array([[0.0, 0.1, 0.2], [0.0, 0.05, 0.3]]))
    assert (np.diff(sums.flat) > 0.0).all()


def test_nothing_is_reached_at_once_while_it_is_dark():
    assert end_table(np.array([0.0, 0.0, 1.0]), [0.0])[0].tolist() == [0.0, 1.0, 2.0]


def test_a_light_of_nothing_and_no_light_at_all():
    sums = LightSums.of(np.array([[0.0, 0.0, 10.0]]))
    first, nothing = np.zeros(1, dtype=np.int64), np.zeros(1)
    assert sums.ends(first, nothing, nothing).tolist() == [0.0]
    assert LightSums.of(np.zeros((0, 5))).flat.size == 0
    # no light reaches into the next: each is lifted by more than the strongest brings
    assert LightSums.of(np.array([[0.0, 0.1], [0.0, 0.3]])).lift == pytest.approx(1.6)


def test_every_dose_of_many_is_looked_at():
    total = cumulative_j_m2(np.ones((2, 3)), 1.0)
    for wrong in ([1.0, np.inf], [np.inf, 1.0], [-1.0, 1.0], [1.0, -1.0]):
        with pytest.raises(BadInput, match="dose"):
            end_table(total, wrong)
    with pytest.raises(ValueError, match="zip"):
        ends_of_days(total, 0.0, np.ones(3))
    assert ends_of_days(total, 0.5, np.array([2.0, 9.0])).tolist() == [2.5, np.inf]


@pytest.mark.parametrize(
    ("dose", "deadline", "start"),
    [(0.5, 10.0, 9.5), (0.5, 9.75, 9.25), (0.0, 0.0, 0.0), (0.0, 10.0, 10.0), (3.0, 3.0, 0.0)],
)
def test_the_latest_start_in_even_light_is_the_deadline_less_the_dose(dose, deadline, start):
    total = cumulative_j_m2(np.ones(10), 1.0)
    assert latest_start_index(total, dose, deadline) == pytest.approx(start)


@pytest.mark.parametrize("dose", [0.25, 1.0, 2.0])
def test_a_dose_of_any_size_takes_its_time_and_none_takes_no_time_in_the_dark(dose):
    total = cumulative_j_m2(np.array([0.0, 0.0, 1.0, 1.0, 1.0]), 1.0)
    assert end_index(total, 0.5, dose) == pytest.approx(2.0 + dose)
    assert end_index(total, 0.5, 0.0) == 0.5
