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
