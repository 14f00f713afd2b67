"""What plate, damp and worked silver add to the seconds over iodine."""

import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.coat.film_growth import slowing


def test_a_usual_plate_is_not_moved_and_its_silver_stays_in_doubt():
    log, sd = slowing(20.0)
    assert log == 0.0
    assert sd == pytest.approx(trade.value("fuming", "worked_spread"))
    same = slowing(20.0, 20.0, trade.value("fuming", "usual_humidity"))
    assert [float(one) for one in same] == [0.0, float(sd)]


def test_signs_are_those_of_the_abstract():
    # Metall. Trans., doi 10.1007/BF02644494, abstract: quicker when warm, slower in moist air.
    assert slowing(20.0, 30.0)[0] < 0 < slowing(20.0, 10.0)[0]
    assert slowing(20.0, None, 20.0)[0] < 0 < slowing(20.0, None, 90.0)[0]


def test_the_activation_energy_is_the_published_one():
    # 6.3 +- 1.5 kcal/mol of 4.184 kJ; its whole effect would come with a part of 1.
    fact = trade.facts("fuming")["film_activation"]
    assert fact.value == pytest.approx(6.3 * 4.184, abs=0.05)
    assert (fact.low, fact.high) == pytest.approx((4.8 * 4.184, 7.8 * 4.184), abs=0.05)
    whole = float(slowing(20.0, 10.0)[0]) / trade.value("fuming", "film_part")
    per_k = 26.4e3 / 8.314462618 * (1 / 283.15 - 1 / 293.15)
    assert whole == pytest.approx(per_k)


def test_a_weak_prior_moves_little_and_widens():
    log, sd = slowing(20.0, 10.0, 90.0)
    usual = slowing(20.0)[1]
    assert 0.02 < log < 0.15
    assert usual < sd < 0.15
    assert sd > log / 2, "so weak that no effect at all stays likely"


def test_what_was_not_read_changes_nothing():
    log, sd = slowing([20.0, 20.0], [np.nan, 10.0], [90.0, np.nan])
    assert log == pytest.approx(
        [float(slowing(20.0, None, 90.0)[0]), float(slowing(20.0, 10.0)[0])]
    )
    assert sd.shape == (2,)


@pytest.mark.parametrize("given", [(20.0, 101.0), (20.0, None, -1.0), (20.0, None, 101.0)])
def test_what_cannot_be_is_refused(given):
    with pytest.raises(BadInput, match="out of range"):
        slowing(*given)
