"""The chance of enough good plates."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.plan.batch_odds import (
    BetaChance,
    DrawnChance,
    at_least,
    chance_range,
    fewest,
    tails_of,
    with_outward,
)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.05, 0.95), st.integers(1, 8), st.floats(0.5, 0.97))
def test_more_certainty_never_takes_fewer_plates(p, good, certainty):
    chance = DrawnChance([p])
    few, more = fewest(good, certainty, chance), fewest(good, certainty + 0.02, chance)
    assert few is not None
    assert more is None or good <= few <= more
    assert at_least(good, few, chance) >= certainty - 1e-9
    assert at_least(good, few - 1, chance) < certainty


def test_certain_and_hopeless_plates():
    assert fewest(4, 0.9, DrawnChance([1.0])) == 4
    assert fewest(1, 0.9, DrawnChance([0.0])) is None
    assert fewest(0, 0.9, DrawnChance([0.3])) == 0
    assert at_least(0, 0, BetaChance(1, 1)) == 1.0
    assert at_least(2, 1, BetaChance(1, 1)) == 0.0


def test_plates_of_differing_odds_count_each():
    each = DrawnChance(np.array([[0.9, 0.5, 0.1]]))
    assert at_least(3, 3, each) == pytest.approx(0.045)
    assert at_least(1, 3, each) == pytest.approx(1 - 0.1 * 0.5 * 0.9)
    assert at_least(2, 5, each) < at_least(2, 5, DrawnChance([0.5]))


def test_doubt_of_the_yield_asks_for_more_plates():
    assert fewest(6, 0.9, BetaChance(3, 3)) > fewest(6, 0.9, BetaChance(50, 50))


def test_plates_given_up_outward_ask_for_more_to_be_begun():
    """Of 10 begun 2 were given up: with so many draws the mean falls by that fifth."""
    drawn = DrawnChance(np.full(4000, 0.5), 8)
    begun = with_outward(drawn, 2, 8)
    assert chance_range(begun)[0] == pytest.approx(0.5 * 0.8, abs=0.01)
    by_plate = with_outward(DrawnChance(np.full((4000, 3), 0.5), 8), 2, 8)
    assert np.asarray(by_plate.draws).shape == (4000, 3)
    assert fewest(3, 0.9, begun) > fewest(3, 0.9, drawn)
    counted = BetaChance(8.0, 4.0, 10)
    assert chance_range(with_outward(counted, 3, 10))[0] == pytest.approx(8.0 / 15.0)
    assert with_outward(counted, 0, 10) is counted


def test_draws_hold_for_every_plate_or_plate_by_plate():
    same = DrawnChance([0.2, 0.6]).by_plate(3)
    np.testing.assert_array_equal(same, [[0.2] * 3, [0.6] * 3])
    rising = DrawnChance([[0.1, 0.2, 0.3], [0.4, 0.5, 0.6]]).by_plate(5)
    np.testing.assert_array_equal(rising, [[0.1, 0.2, 0.3, 0.3, 0.3], [0.4, 0.5, 0.6, 0.6, 0.6]])
    assert DrawnChance([[0.1, 0.2, 0.3]]).by_plate(2).tolist() == [[0.1, 0.2]]


def test_the_range_of_a_chance_is_of_its_first_plate():
    mean, low, high = chance_range(DrawnChance(np.linspace(0.0, 1.0, 101)))
    assert (mean, low, high) == pytest.approx((0.5, 0.1, 0.9))
    mean, low, high = chance_range(BetaChance(3.0, 1.0))
    assert mean == 0.75
    assert low == pytest.approx(0.1 ** (1 / 3), rel=1e-6)  # the law of Beta(3, 1) is x cubed
    assert high == pytest.approx(0.9 ** (1 / 3), rel=1e-6)
    skew = chance_range(DrawnChance([0.0] * 95 + [1.0] * 5))
    assert skew[1] <= skew[0] <= skew[2]


def test_certainty_within_the_rounding_of_numbers_is_reached():
    # of one plate, good with 0.9: the certainty of 0.9 is reached by one
    assert fewest(1, 0.9, DrawnChance([0.9])) == 1
    assert fewest(1, 0.91, DrawnChance([0.9])) == 2
    assert fewest(0, 0.5, BetaChance(1.0, 1.0)) == 0
    assert fewest(70, 0.5, DrawnChance([0.5])) == 139  # found beyond the first look at 64
    assert fewest(2, 0.999, BetaChance(0.01, 5.0)) is None


def test_the_chance_of_so_many_by_so_many_plates_is_summed_over_all_ways():
    """P(at least 2 good of 0 ... 3) by hand, of even chances and of unlike ones."""
    assert tails_of(2, 3, DrawnChance([0.5])) == pytest.approx([0.0, 0.0, 0.25, 0.5])
    unlike = DrawnChance(np.array([[0.9, 0.5, 0.1]]))
    # all three 0.045; two of them 0.9 * 0.5 * 0.9 + 0.9 * 0.5 * 0.1 + 0.1 * 0.5 * 0.1
    assert tails_of(2, 3, unlike) == pytest.approx([0.0, 0.0, 0.45, 0.5])
    # a uniform belief: every count of good plates among n is as likely (Laplace's rule)
    assert tails_of(2, 4, BetaChance(1, 1)) == pytest.approx([0, 0, 1 / 3, 2 / 4, 3 / 5])
    assert list(tails_of(0, 2, BetaChance(1, 1))) == [1.0, 1.0, 1.0]
