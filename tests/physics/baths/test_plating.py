"""Silver by current, by weighing and by wear."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.baths.plating import (
    Doubtful,
    layer_g,
    layer_um,
    minutes_for,
    passes_left,
    silver_g,
    silver_left_um,
    takes_um,
    weighed_um,
    worn_chance,
)
from argentry.trade.chemistry.substances import molar_mass_g_mol


@given(st.floats(0.01, 100.0), st.floats(1.0, 1e3), st.floats(0.1, 100.0), st.floats(0.8, 1.0))
def test_current_time_and_layer_agree(um, area, amperes, share):
    minutes = minutes_for(um, area, amperes, share)
    assert silver_g(amperes, minutes, share) == pytest.approx(float(layer_g(um, area)), rel=1e-9)
    assert layer_um(layer_g(um, area), area) == pytest.approx(um)


def test_an_ampere_hour_puts_on_what_faraday_says():
    """The charge of a mole is N_A e, both exact (SI Brochure, 9th ed., 2.2)."""
    moles = 3600.0 / (6.02214076e23 * 1.602176634e-19)
    grams = moles * molar_mass_g_mol("Ag")
    assert float(silver_g(1.0, 60.0, 1.0)) == pytest.approx(grams, rel=1e-9)


def test_efficiency_is_the_trades_when_none_is_given():
    assert silver_g(1.0, 60.0) == pytest.approx(4.0247, rel=1e-4)
    assert silver_g(1.0, 60.0, 0.9) == pytest.approx(4.0247 * 0.9, rel=1e-4)
    assert minutes_for(10.0, 100.0, 1.0, 0.9) == pytest.approx(15.64 / 0.9, rel=1e-3)


def test_arrays_broadcast():
    assert silver_g(np.array([1.0, 2.0]), 60.0).shape == (2,)


def test_weighing_has_the_doubt_of_two_weighings_and_of_the_area():
    found = weighed_um(80.0, 81.0, 100.0, 0.01)
    assert found.value == pytest.approx(1e4 / 10.49 / 100.0)
    of_balance = 0.01 * sqrt(2.0) * 1e4 / 10.49 / 100.0
    assert found.sd == pytest.approx(sqrt(of_balance**2 + (0.01 * found.value) ** 2))
    lost = weighed_um(81.0, 80.0, 100.0, 0.01)
    assert lost.value == pytest.approx(-found.value)
    assert weighed_um(80.0, 81.0, 100.0).sd < found.sd  # the trade's balance is finer


def test_the_seed_stands_until_something_is_weighed_and_then_gives_way():
    seed = takes_um("repolish_takes")
    assert seed.value == pytest.approx(0.385, abs=0.04)  # mean of a log-normal about 0.3
    assert 0.15 < seed.sd < 0.4
    once = takes_um("repolish_takes", [(Doubtful(6.0, 0.2), 10)])
    assert once.value == pytest.approx(0.6, abs=0.02)
    assert once.sd < 0.03
    thin = takes_um("repolish_takes", [(Doubtful(6.0, 20.0), 10)])
    assert thin.value == pytest.approx(seed.value, rel=0.1)


def test_buffings_and_repolishes_add_up_with_their_doubt():
    left = silver_left_um(Doubtful(10.0, 0.5), 3, 10, Doubtful(0.4, 0.1), Doubtful(0.02, 0.01))
    assert left.value == pytest.approx(10.0 - 1.2 - 0.2)
    assert left.sd == pytest.approx(sqrt(0.25 + 0.09 + 0.01))
    assert silver_left_um(Doubtful(1.0, 0.1), 9, 0, Doubtful(0.4, 0.1), left).value == 0.0


def test_the_chance_of_wearing_through():
    sure = Doubtful(5.0, 0.0)
    assert worn_chance(sure, Doubtful(1.0, 0.0)) == 0.0
    assert worn_chance(sure, Doubtful(2.5, 0.0)) == 0.0
    assert worn_chance(sure, Doubtful(4.0, 0.0)) == 1.0
    assert worn_chance(sure, Doubtful(3.0, 0.5)) == pytest.approx(0.5)
    # one standard deviation of both together above the least: the normal's tail
    assert worn_chance(Doubtful(6.0, 0.6), Doubtful(3.0, 0.8)) == pytest.approx(0.1587, abs=1e-4)
    assert worn_chance(Doubtful(4.0, 0.6), Doubtful(3.0, 0.8)) == pytest.approx(0.8413, abs=1e-4)


def test_passes_left_have_a_range_about_the_middle():
    low, middle, high = passes_left(Doubtful(8.0, 0.5), Doubtful(0.4, 0.1))
    assert middle == pytest.approx(15.0)
    assert 0.0 < low < middle < high
    assert low == pytest.approx((6.0 - 1.2816 * 0.5) / 0.4 / 1.371, rel=0.01)
    assert high == pytest.approx((6.0 + 1.2816 * 0.5) / 0.4 * 1.371, rel=0.01)
    assert passes_left(Doubtful(1.0, 0.1), Doubtful(0.4, 0.1)) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: silver_g(-1.0, 60.0),
        lambda: silver_g(1.0, float("nan")),
        lambda: silver_g(1.0, 60.0, 1.2),
        lambda: minutes_for(10.0, 100.0, 0.0),
        lambda: minutes_for(-1.0, 100.0, 1.0),
        lambda: layer_g(10.0, 0.0),
        lambda: weighed_um(-1.0, 80.0, 100.0),
        lambda: weighed_um(80.0, float("inf"), 100.0),
        lambda: weighed_um(80.0, 81.0, 100.0, 0.0),
    ],
)
def test_bad_input(call):
    with pytest.raises(BadInput, match="out of range"):
        call()


@pytest.mark.parametrize(
    ("call", "low", "high"),
    [
        (lambda x: silver_g(x, 60.0), 0.0, 1000.0),
        (lambda x: silver_g(1.0, x), 0.0, 1e5),
        (lambda x: silver_g(1.0, 60.0, x), 0.8, 1.0),
        (lambda x: minutes_for(10.0, 100.0, x), 1e-4, 1000.0),
        (lambda x: layer_g(x, 100.0), 0.0, 5000.0),
        (lambda x: layer_g(10.0, x), 0.01, 1e6),
        (lambda x: layer_um(1.0, x), 0.01, 1e6),
        (lambda x: weighed_um(x, 80.0, 100.0), 0.0, 1e5),
        (lambda x: weighed_um(80.0, x, 100.0), 0.0, 1e5),
        (lambda x: weighed_um(80.0, 81.0, 100.0, x), 1e-5, 1.0),
    ],
)
def test_ranges_hold_to_their_ends(call, low, high):
    for end in (low, high):
        call(end)
    for beyond in (low - 1e-3 * (high - low), high * 1.001):
        with pytest.raises(BadInput, match="out of range"):
            call(beyond)
