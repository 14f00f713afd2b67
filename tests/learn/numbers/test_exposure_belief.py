"""What verdicts of exposure teach of the speed."""

from datetime import date
from statistics import NormalDist

import numpy as np
import pytest
from tests.edges import is_taken_within

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.numbers.exposure_belief import (
    SHARED,
    SHARED_CHANCE,
    GradedExposure,
    believed,
    drifts_believed,
    grade_chances,
    quantiles,
    wander,
    weigh,
)


def plate(stops, verdict, **more):
    return GradedExposure((stops,), (verdict,), **more)


def test_chances_of_a_verdict_are_those_of_the_normal_law():
    belief = believed(0.0, 1.0)
    got = grade_chances(belief, np.array([0.4]), 0.2)[:, 0, 60, 3, 2]
    s, half, noise = belief.shift[60], belief.half[3], belief.noise[2]
    law = NormalDist(0.4, np.hypot(noise, 0.2))
    below = [law.cdf(s - half), law.cdf(s + half), law.cdf(s + half + 1.5)]
    slip = trade.value("decide", "misread_share")
    want = np.diff([0.0, *below, 1.0]) * (1 - slip) + slip / 4
    assert got == pytest.approx(want, abs=1e-9)
    assert grade_chances(belief, np.array([-1.0, 2.0])).sum(axis=0) == pytest.approx(1.0)


def test_shared_noise_comes_near_the_exact_law():
    """Nine points of the noise that strips share, against the sum of both variances."""
    belief, strip = believed(), trade.value("decide", "strip_noise")
    assert SHARED_CHANCE.sum() == pytest.approx(1.0)
    assert SHARED_CHANCE / SHARED_CHANCE[4] == pytest.approx(
        [NormalDist().pdf(one) / NormalDist().pdf(0.0) for one in SHARED]
    )
    nine = grade_chances(belief, np.array([0.3]), 0.0, SHARED) @ SHARED_CHANCE
    exact = grade_chances(belief, np.array([0.3]), strip)
    usual = np.s_[:, :, :, :, 1:4]  # noise 0.2 to 0.45
    assert np.abs(nine - exact)[usual].max() < 0.09
    assert np.abs((nine - exact) @ np.ones(5)).mean() < 0.02


def test_one_plate_moves_the_speed_the_right_way():
    start = believed()
    assert weigh(start, plate(0.0, "under")).mean > 0.3
    assert weigh(start, plate(0.0, "over")).mean < -0.3
    assert weigh(start, plate(0.0, "blank")).mean == weigh(start, plate(0.0, "under")).mean
    assert weigh(start, plate(0.0, "solarised")).mean < weigh(start, plate(0.0, "over")).mean
    assert weigh(start, plate(0.0, "right")).sd < start.sd


def test_doubtful_light_teaches_less():
    sure, vague = (weigh(believed(), plate(0.0, "right", light_sd=sd)) for sd in (0.0, 1.0))
    assert sure.sd < vague.sd


def test_the_grid_believed_is_the_normal_and_log_normal_asked_for():
    belief = believed(1.0, 0.5, (0.6, 0.2), (0.3, 0.4))
    assert belief.shift[[0, 48, -1]] == pytest.approx([-1.0, 1.0, 3.0])
    assert belief.half[[0, 4, -1]] == pytest.approx([0.6 * np.exp(-0.6), 0.6, 0.6 * np.exp(0.6)])
    assert belief.noise[[0, 2, -1]] == pytest.approx([0.3 * np.exp(-0.8), 0.3, 0.3 * np.exp(0.8)])
    assert belief.weight.sum() == pytest.approx(1.0)
    assert (belief.mean, belief.sd) == (pytest.approx(1.0), pytest.approx(0.5, abs=2e-3))
    assert belief.marginal(1)[4] / belief.marginal(1)[0] == pytest.approx(np.exp(4.5))
    assert belief.marginal(2)[2] / belief.marginal(2)[0] == pytest.approx(np.exp(2.0))
    assert belief.near(0.5) == pytest.approx(0.6827, abs=0.02)
    assert belief.near(0.0) == pytest.approx(belief.marginal(0)[48])


def test_chances_with_the_noise_that_strips_share():
    belief = believed(0.0, 0.5)
    a, b, c = 60, 3, 1
    s, half, noise = belief.shift[a], belief.half[b], belief.noise[c]
    beyond, slip = trade.value("decide", "solarised_above"), trade.value("decide", "misread_share")
    got = grade_chances(belief, np.array([0.3]), 0.4, np.array([1.5]))[:, 0, a, b, c, 0]
    law = NormalDist(0.3 + 1.5 * np.hypot(noise, 0.4), trade.value("decide", "strip_noise"))
    below = [law.cdf(edge) for edge in (s - half, s + half, s + half + beyond)]
    assert got == pytest.approx((1 - slip) * np.diff([0.0, *below, 1.0]) + slip / 4)


def test_a_plate_multiplies_the_weights_by_what_it_says():
    before = believed(0.0, 0.5)
    plate = GradedExposure((0.2,), ("right",), day=date(2026, 5, 2))
    after = weigh(before, plate)
    like = grade_chances(before, np.array([0.2]))[1, 0]
    want = before.weight * like
    assert after.weight == pytest.approx(want / want.sum())
    assert (after.plates, after.day) == (1, date(2026, 5, 2))
    later = weigh(after, GradedExposure((0.2,), ("right",), day=date(2026, 4, 1)))
    assert (later.plates, later.day) == (2, date(2026, 5, 2))
    none = weigh(before, GradedExposure((0.2,), ("right",)))
    assert none.day is None


def test_between_sessions_the_speed_spreads_by_the_trades_drift():
    drift = trade.value("decide", "speed_drift")
    sure = believed(0.0, 2.0 * drift)
    assert wander(sure).sd == pytest.approx(np.hypot(sure.sd, drift), rel=0.01)
    assert wander(sure, 4.0).sd == pytest.approx(np.hypot(sure.sd, 2.0 * drift), rel=0.03)
    assert wander(sure).mean == pytest.approx(0.0, abs=1e-9)
    assert wander(sure).weight.sum() == pytest.approx(1.0)
    assert wander(sure, 0.0) is sure


def test_quantiles_lie_straight_between_the_values():
    values, weight = np.array([0.0, 1.0, 2.0]), np.array([1.0, 2.0, 1.0])
    # middles of the weights: 0.125, 0.5, 0.875
    assert quantiles(values, weight, [0.125, 0.5, 0.875]) == pytest.approx([0.0, 1.0, 2.0])
    assert quantiles(values, weight, [0.3125]) == pytest.approx([0.5])
    assert quantiles(values, weight, [0.0, 1.0]) == pytest.approx([0.0, 2.0])


@pytest.mark.parametrize(
    "bad",
    [
        ((), ()), ((0.0,), ("right", "over")), ((0.0,), ("splendid",)), ((15.1,), ("right",)),
        ((-15.1,), ("right",)),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused(bad):
    with pytest.raises(BadInput):
        GradedExposure(*bad)
    for light_sd in (-0.1, 3.1):
        with pytest.raises(BadInput):
            GradedExposure((0.0,), ("right",), light_sd)


def test_drifts_before_any_plate_are_none_or_half_of_a_normal_law():
    drifts, chances = drifts_believed()
    assert drifts[0] == 0.0
    assert np.diff(drifts) == pytest.approx(np.full(8, drifts[1]))
    assert chances.sum() == pytest.approx(1.0)
    assert np.sqrt(chances @ drifts**2) == pytest.approx(trade.value("decide", "speed_drift"))
    law = NormalDist(0.0, drifts[-1] / 3.0)
    assert chances[1:] / chances[1] == pytest.approx(
        [law.pdf(drift) / law.pdf(drifts[1]) for drift in drifts[1:]]
    )
    # none at all has a chance of its own, and of the law half as wide a piece as the others
    piece = 0.5 * law.pdf(0.0) / law.pdf(drifts[1]) * chances[1]
    assert chances[0] == pytest.approx(0.5 + piece)


@pytest.mark.parametrize(
    ("call", "low", "high", "open_low"),
    [
        (lambda x: plate(x, "right"), -15.0, 15.0, False),
        (lambda x: plate(0.0, "right", light_sd=x), 0.0, 3.0, False),
        (lambda x: believed(sd=x), 0.0, 5.0, True),
        (believed, -15.0, 15.0, False),
        (lambda x: believed(half=(x, 0.2)), 0.0, 5.0, True),
        (lambda x: believed(noise=(x, 0.2)), 0.0, 5.0, True),
    ],
)
def test_stops_go_so_far(call, low, high, open_low):
    is_taken_within(call, low, high, open_low=open_low)


def test_a_belief_reaches_four_deviations_of_speed_three_of_width_and_two_of_noise():
    belief = believed(1.0, 0.5, (0.8, 0.1), (0.3, 0.2))
    assert (belief.shift[0], belief.shift[-1]) == (-1.0, 3.0)
    assert (belief.half[0], belief.half[-1]) == pytest.approx(
        (0.8 * np.exp(-0.3), 0.8 * np.exp(0.3))
    )
    assert (belief.noise[0], belief.noise[-1]) == pytest.approx(
        (0.3 * np.exp(-0.4), 0.3 * np.exp(0.4))
    )
    assert belief.weight.sum() == pytest.approx(1.0)
    # the laws are told apart: one deviation up weighs what a normal law says
    assert belief.weight[60] / belief.weight[48] == pytest.approx(np.exp(-0.5))
