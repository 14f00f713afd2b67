"""How the readings of one run make each cause more or less likely."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm
from tests.learn.plates import good, lost

from argentry.learn.causes.run_readings import Uplift, _shown, _trades, _value, own_uplift, raised
from argentry.learn.causes.suspects import Side
from argentry.trade.conditions import conditions

DAMP = next(c for c in conditions() if c.key == "room_rh_pct")
DOUBLINGS = next(c for c in conditions() if c.scale == "doublings")


def up(matters, effect, badness):
    return Uplift(matters, effect, 0.1, badness, "")


def test_a_reading_raises_a_cause_as_far_as_its_condition_matters():
    base = np.array([0.2, 0.5])
    for effect, badness in ((0.8, 1.5), (0.8, -1.5)):
        moved = norm.cdf(norm.ppf(base) * np.sqrt(1 + effect**2) + effect * badness)
        effects = np.full((2, 1), effect)
        np.testing.assert_allclose(raised(base, [up(1.0, effect, badness)], effects), moved)
        half = raised(base, [up(0.5, effect, badness)], effects)
        np.testing.assert_allclose(half, 0.5 * (moved + base))
        nothing = raised(base, [up(0.0, effect, badness)], effects)
        np.testing.assert_allclose(nothing, base)


def test_over_usual_plates_a_cause_stays_as_common_as_it_was():
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    base, effect = 0.3, 0.7
    each = [raised(np.array([base]), [up(1.0, effect, z)], np.array([[effect]]))[0] for z in nodes]
    assert np.average(each, weights=weights) == pytest.approx(base, abs=0.005)


def test_readings_multiply_and_none_proves():
    base = np.array([0.3])
    one = raised(base, [up(1.0, 0.5, 1.0)], np.array([[0.5]]))[0]
    both = raised(base, [up(1.0, 0.5, 1.0)] * 2, np.array([[0.5, 0.5]]))[0]
    assert both == pytest.approx(one**2 / 0.3)
    sure = raised(np.array([1.0]), [up(1.0, 3.0, 3.0)], np.array([[3.0]]))[0]
    assert sure == pytest.approx(0.97)
    assert raised(np.array([0.0]), [], np.zeros((1, 0)))[0] == pytest.approx(1e-4)


def view(values, ok, weights, effects, variance=0.04):
    """A stage with one suspect, of three sets: none, it, it again."""
    x = np.array(values, dtype=float)[:, None]
    members = np.array([[0.0], [1.0], [1.0]])
    condition = DAMP
    return SimpleNamespace(
        table=SimpleNamespace(x=x, ok=np.array(ok), conditions=(condition,), row=np.arange(len(x))),
        data=SimpleNamespace(x=x),
        sides=[Side("room_rh_pct", DAMP.title, "high", ("damp_air",), 0, len(x))],
        weights=np.array([weights]),
        weighed=SimpleNamespace(
            members=members, effect=np.array(effects)[:, None], variance=np.full((3, 1), variance)
        ),
    )


def test_what_the_studio_has_learned_of_a_condition():
    from argentry import trade

    one = view([0, 1, -1, 0.5, -0.5, 2.5], [True] * 5 + [False], [0.7, 0.2, 0.1], [0.0, 0.6, 0.9])
    got = own_uplift(one, 0, 5)
    share = trade.value("causes", "inclusion_share")
    odds = 0.3 / 0.7 / share
    assert got.matters == pytest.approx(min(odds / (1 + odds), 0.95))
    effect = (0.2 * 0.6 + 0.1 * 0.9) / 0.3
    assert got.effect == pytest.approx(effect)
    spread = 0.04 + (0.2 * (0.6 - effect) ** 2 + 0.1 * (0.9 - effect) ** 2) / 0.3
    assert got.doubt == pytest.approx(spread**0.5)
    assert got.badness == pytest.approx(2.5)  # from the middle of the good plates
    assert "your good plates had" in got.words
    assert own_uplift(one, 0, 3).words == ""  # within what good plates had


def test_with_few_good_plates_all_read_ones_are_the_middle_and_nothing_stands_out():
    one = view([0, 1, 2, 3, 4], [True] * 2 + [False] * 3, [0.5, 0.5, 0.0], [0.0, 0.6, 0.0])
    got = own_uplift(one, 0, 4)
    assert got.badness == pytest.approx(2.0)
    assert got.words == ""
    assert (
        own_uplift(view([0] * 4 + [9], [True] * 4 + [False], [0, 1, 0], [0, 1, 0]), 0, 4).words
        == ""
    )


def test_values_are_told_as_the_maker_wrote_them():
    assert _value(DAMP, 1.0) == DAMP.centre + DAMP.width
    assert _value(DOUBLINGS, 1.0) == pytest.approx(DOUBLINGS.centre * 2.0**DOUBLINGS.width)
    assert _shown(DAMP, 0.0) == f"{DAMP.centre:g}"
    near = DAMP.centre + 0.01
    assert _shown(DAMP, 0.01 / DAMP.width) == f"{round(near, 1 if DAMP.width < 20 else 0):g}"
    assert len(_shown(DOUBLINGS, 0.123).replace(".", "").lstrip("0")) <= 3


def test_the_trades_word_where_the_studio_has_read_it_too_rarely():
    wet = lost(1, conditions={"room_rh_pct": DAMP.centre + 2.0 * DAMP.width})
    got = _trades(DAMP, "high", wet)
    assert got.badness == pytest.approx(2.0)
    assert got.effect == abs(DAMP.effect_middle)
    assert got.matters == DAMP.inclusion
    assert got.doubt == pytest.approx((DAMP.effect_high - DAMP.effect_low) / (2 * 1.2815515655))
    assert "usual in the trade" in got.words
    assert _trades(DAMP, "low", wet).badness == pytest.approx(-2.0)
    dry = good(2, conditions={"room_rh_pct": DAMP.centre + DAMP.width})
    assert _trades(DAMP, "high", dry).words == ""
    assert _trades(DAMP, "high", good(3)) is None
