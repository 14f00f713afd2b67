"""How far plates strayed from what was said of them before: learned from residuals held out."""

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest

from argentry import trade
from argentry.learn.numbers.exposure_belief import GradedExposure
from argentry.learn.numbers.held_out import (
    coat_scatter,
    end_scatter,
    exposure_scatter,
    scatter,
)

FIRST = dt.date(2026, 5, 2)
DAYS = [FIRST + dt.timedelta(days=number // 2) for number in range(200)]


def strayed(times, count=100, seed=3):
    """Return the scatter learned from residuals that stray so many times as far as foreseen."""
    off = np.random.default_rng(seed).normal(0.0, times, count)
    seen = [5.0 + 0.3 * one for one in off]
    return scatter("fuming", seen, [(5.0, 0.3)] * count, DAYS[:count])


@pytest.mark.parametrize("times", [0.5, 1.0, 1.8])
def test_the_spread_of_standardised_residuals_is_recovered(times):
    found = strayed(times)
    assert found.low < times < found.high
    assert found.value == pytest.approx(times, rel=0.15)
    assert (found.of, found.what, found.unit, found.plates) == ("fuming", "scatter", "1", 100)
    assert not found.mostly_prior


def test_a_few_plates_hardly_move_it():
    assert abs(np.log(strayed(0.5, count=2).value)) < 0.15
    assert strayed(0.5, count=2).mostly_prior
    none = scatter("fuming", [], [], [])
    assert (none.value, none.low, none.high) == pytest.approx(
        (none.believed, none.believed_low, none.believed_high)
    )
    assert none.value == pytest.approx(1.0)
    # 80 % of the normal of its logarithm
    sd = trade.value("decide", "scatter_log_sd")
    assert none.high == pytest.approx(np.exp(1.2816 * sd), rel=0.05)
    assert (none.plates, none.day, none.before) == (0, None, None)


def test_a_slip_of_the_pen_does_not_widen_every_range():
    off = np.random.default_rng(5).normal(0.0, 1.0, 60)
    plain, slipped = (
        scatter("fuming", values, [(0.0, 1.0)] * 60, DAYS[:60])
        for values in (off.tolist(), [12.0, *off[1:].tolist()])
    )
    assert slipped.value == pytest.approx(plain.value, rel=0.08)


def test_the_median_before_is_that_without_the_last_day():
    off = np.random.default_rng(6).normal(0.0, 0.6, 21).tolist()
    whole = scatter("fuming", off, [(0.0, 1.0)] * 21, DAYS[:21])
    without = scatter("fuming", off[:20], [(0.0, 1.0)] * 20, DAYS[:20])
    assert whole.day == DAYS[20]
    assert whole.before == pytest.approx(without.value)


def exposed(noise, count=160, seed=8):
    """Return exposures in sun and shade, judged by a latitude of half a stop, with their noise."""
    rng = np.random.default_rng(seed)
    plates = []
    for number in range(count):
        given = rng.uniform(-1.5, 1.5)
        off = given + rng.normal(0.0, noise)
        verdict = "under" if off < -0.5 else "right" if off < 0.5 else "over"
        plates.append(
            GradedExposure(
                (given,), (verdict,), light_sd=0.5, day=DAYS[number // 2],
                session=str(number // 4), group="sun" if number % 4 else "shade",
            )
        )  # fmt: skip
    return plates


def test_exposures_that_stray_less_than_their_light_was_doubted_say_so():
    close, far = (exposure_scatter(exposed(noise)) for noise in (0.15, 1.5))
    assert [row.of for row in close] == ["shade", "sun"]
    assert [row.plates for row in close] == [40, 120]
    # three quarters of the plates are in the sun: theirs is the better known
    assert close[1].high / close[1].low < close[0].high / close[0].low
    assert close[1].value < 0.8 < 1.05 < far[1].value
    assert all(a.value < b.value for a, b in zip(close, far, strict=True))


def test_the_speed_is_foreseen_by_the_plates_before():
    # all plates of a studio whose starting speed was wrong by two stops: the first strays, and the
    # others, foreseen by those before them, do not
    rng = np.random.default_rng(2)
    plates = [
        GradedExposure((2.0 + float(one),), ("under" if one < -0.5 else "right",), group="sun")
        for one in rng.uniform(-1.0, 0.4, 60)
    ]
    assert exposure_scatter(plates)[0].value < 1.1
    assert exposure_scatter(()) == ()


def test_end_points_and_coats_are_set_beside_what_those_before_them_taught():
    rng = np.random.default_rng(9)
    each = trade.value("decide", "end_point_log_sd")
    found = []
    for share in (0.5, 1.0, 1.6):
        doses = (500.0 * np.exp(rng.normal(0.0, share * each, 80))).tolist()
        found.append(end_scatter(doses, ["ripe"] * 80, [0.0] * 80, DAYS[:80]).value)
    assert all(a < b for a, b in pairwise(found))
    assert found == pytest.approx([0.5, 1.0, 1.6], rel=0.25)
    # light that is known badly explains the same scatter
    assert end_scatter(doses, ["ripe"] * 80, [0.8] * 80, DAYS[:80]).value < 0.8 * found[2]
    # one that was taken out unripe tells of the dose, not of the scatter
    ends = ["unripe", *["ripe"] * 79]
    assert end_scatter(doses, ends, [0.0] * 80, DAYS[:80]).plates == 79
    computed = np.full(80, 30.0)
    measured = (1.4 * computed * np.exp(rng.normal(0.0, 0.1, 80))).tolist()
    coats = coat_scatter(measured, computed.tolist(), [0.2] * 80, DAYS[:80])
    assert coats.value == pytest.approx(0.5, rel=0.25)
    assert coats.of == "fuming"
