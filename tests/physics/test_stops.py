"""Stops: ranges, rounding, step tests."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics import stops


def test_a_range_is_symmetric_in_stops_and_shrinks_with_its_spread():
    low, middle, high = stops.spread(100.0, 1.0)
    assert middle == pytest.approx(100.0)
    assert low * high == pytest.approx(middle**2)
    assert stops.spread(100.0, 0.0) == pytest.approx([100.0] * 3)


@given(st.floats(0.01, 1e5))
def test_third_stops_are_never_farther_than_a_sixth_of_a_stop(value):
    assert abs(np.log2(stops.third_stop(value) / value)) < 1 / 6 + 0.02


def test_even_draws_fill_the_range_and_are_the_same_every_time():
    draws = stops.even_draws(100.0, 1.0, 200)
    assert np.quantile(draws, [0.1, 0.5, 0.9]) == pytest.approx(stops.spread(100.0, 1.0), rel=0.02)
    np.testing.assert_array_equal(draws, stops.even_draws(100.0, 1.0, 200))


def test_strips_are_half_stops_around_the_middle():
    strips = stops.strip_stops()
    assert np.diff(strips) == pytest.approx(np.full(6, 0.5))
    assert strips.sum() == 0.0


def test_impossible_spreads_are_refused():
    with pytest.raises(BadInput, match="spread"):
        stops.spread(1.0, -0.1)


def test_the_order_of_even_draws_is_the_same_unless_another_is_asked_for():
    usual = stops.even_draws(1.0, 0.5, 40)
    assert (usual == stops.even_draws(1.0, 0.5, 40, seed=1)).all()
    assert (usual != stops.even_draws(1.0, 0.5, 40, seed=0)).any()


def test_a_range_holds_its_figure_and_four_draws_in_five():
    draws = np.arange(1001.0)
    assert stops.with_range(draws) == pytest.approx((500.0, 100.0, 900.0))
    skew = np.array([0.0] * 95 + [1.0] * 5)  # nine tenths stay under 0, the mean lies above
    assert stops.with_range(skew) == pytest.approx((0.05, 0.0, 0.05))
    assert stops.with_range(draws, 950.0) == pytest.approx((950.0, 100.0, 950.0))


def test_quantiles_are_those_of_numpy_to_the_digit() -> None:
    draw = np.random.default_rng(7)
    for shape in ((1,), (2,), (17,), (200,), (3, 60)):
        values = draw.normal(size=shape) * 100.0
        shares = (0.0, 0.05, 0.1, 0.37, 0.5, 0.9, 1.0)
        np.testing.assert_array_equal(
            stops.quantiles(values, shares), np.quantile(values, shares, axis=-1)
        )
