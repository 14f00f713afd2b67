"""The parts of a drawn sky, each by itself, against the laws that the trade's facts state."""

from statistics import NormalDist

import numpy as np
import pytest

from argentry import trade
from argentry.physics.lights import cloud
from argentry.physics.lights.sky_ensemble import (
    KEPT_MOMENTS,
    _minutes,
    air_mass,
    normal_share,
    sky_ensemble,
    wander,
)

FACT = {key: entry.value for key, entry in trade.facts("cloud").items()}
HIGH = np.array([40.0])
QUANTILES = np.array([0.1, 0.5, 0.9])
NORMAL = np.array([NormalDist().inv_cdf(q) for q in QUANTILES])
MANY = 40_000


def drawn(beam, whole, n=MANY, **asked):
    return sky_ensemble(beam, whole, HIGH, n=n, seed=3, minutes=False, **asked)


@pytest.mark.parametrize("diffuse", [0.1, 0.4])
@pytest.mark.parametrize(
    ("base", "whole", "share"),
    [
        (0.0, 0.3, 0.001), (0.3, 0.5, 0.3), (0.3, 0.31, 0.3), (0.9995, 1.0, 0.999),
        (1.0, 1.0, 1.0), (1.1, 1.15, 1.1), (1.1, 1.0, 1.1), (1.4, 1.4, 1.4), (0.9, 1.6, 0.9),
    ],
)  # fmt: skip
def test_a_sky_that_nothing_varies_is_the_hour_that_was_given(base, whole, share, diffuse):
    """Clear diffuse light by the beam's share, and what the cloud sends: 2 % at the least."""
    beam, total = drawn(base, whole, n=3, clear_diffuse_share=diffuse)
    expected = min(share, FACT["beam_share_most"])
    assert beam == pytest.approx(expected, abs=2e-6)
    level = (1.0 - diffuse) * expected + diffuse * share + max(whole - base, 0.02)
    assert total == pytest.approx(min(level, FACT["global_share_most"]), abs=5e-6)


@pytest.mark.parametrize("share", [0.3, 0.8])
@pytest.mark.parametrize("sd", [0.45, 0.9])
def test_an_hour_strays_by_its_spread_on_the_normal_scale_and_its_cloud_with_it(share, sd):
    """A widened normal keeps its mean; light of cloud is log-normal, tied to the beam's stray."""
    beam, total = (one[:, 0] for one in drawn(share, share + 0.2, hour_sd=sd))
    level = np.sqrt(1.0 + sd**2) * NormalDist().inv_cdf(share)
    assert np.quantile(beam, QUANTILES) == pytest.approx(
        normal_share(level + sd * NORMAL), abs=0.02
    )
    assert beam.mean() == pytest.approx(share, abs=0.01)
    free = (total < FACT["global_share_most"] - 1e-9) & (beam > 0.005) & (beam < 0.995)
    log = np.log((total - beam)[free])
    okta = float(cloud.okta_at_beam(share))
    spread = np.interp(okta, cloud.okta_table().okta, cloud.okta_table().light_ln_sd)
    spread *= min(sd / FACT["hour_sd"], 1.0)
    stray = np.array([NormalDist().inv_cdf(float(b)) for b in beam[free][:4000]])
    stray = (stray - level) / sd
    tie = FACT["light_beam_correlation"]
    slope = np.mean((log[:4000] - log.mean()) * (stray - stray.mean())) / np.var(stray)
    assert slope == pytest.approx(tie * spread, abs=0.04)
    rest = log[:4000] - spread * tie * stray
    assert rest.std() == pytest.approx(spread * np.sqrt(1.0 - tie**2), rel=0.06)
    assert rest.mean() == pytest.approx(np.log(0.2) - 0.5 * spread**2, abs=0.03)


@pytest.mark.parametrize("okta", [2.0, 6.0])
@pytest.mark.parametrize("times", [0.2, 0.8, 1.6, 5.0])
def test_a_forecast_misses_the_cloud_and_its_light_follows(okta, times):
    """The cloud's light is the usual one of the amount that came, as bright as was forecast.

    As far as measured hours of it go: two spreads of the okta_sky table either way (19 in 20).
    """
    share, usual = float(cloud.beam_at_okta(okta)), float(cloud.cloud_light_at_okta(okta))
    beam, total = (one[:, 0] for one in drawn(share, share + times * usual, okta_sd=1.5))
    came = np.clip(okta + 1.5 * NORMAL[::-1], 0.0, 8.0)
    assert np.quantile(beam, QUANTILES) == pytest.approx(cloud.beam_at_okta(came), abs=0.015)
    light = np.maximum(cloud.cloud_light_at_okta(cloud.okta_at_beam(beam)), 0.02)
    most = np.exp(2.0 * trade.table("okta_sky").columns["light_ln_sd"][int(okta)])
    own = np.clip(times, 1.0 / most, most)
    expected = np.minimum(beam + light * own, FACT["global_share_most"])
    assert np.quantile(np.abs(total - expected), 0.99) < 1e-3


def test_a_forecast_held_to_the_season_is_taken_by_its_rank():
    share = float(cloud.beam_at_okta(3.0))
    beam, _ = drawn(share, share + 0.2, okta_sd=2.0, usual_cloud=0.7)
    came = cloud.okta_by_rank(3.0, QUANTILES[::-1], 2.0, 0.7)
    assert np.quantile(beam[:, 0], QUANTILES) == pytest.approx(cloud.beam_at_okta(came), abs=0.02)


@pytest.mark.parametrize("share", [0.2, 0.6])
def test_minutes_are_open_or_shut_with_soft_edges_about_their_hour(share):
    heights = np.full(181, 40.0)
    beam, total = sky_ensemble(share, share + 0.2, heights, n=1500, seed=3)
    edge, level = FACT["cloud_edge"], NormalDist().inv_cdf(share)
    middle = beam[:, 60:121].ravel()
    assert middle.mean() == pytest.approx(share, abs=0.02)
    for q in (0.1, 0.25, 0.75, 0.9):
        away = np.sqrt(1.0 - edge**2) * NormalDist().inv_cdf(q)
        sunny = normal_share((level + away) / edge)
        assert np.mean(middle <= sunny + 0.02) >= q - 0.03
        assert np.mean(middle < sunny - 0.02) <= q + 0.03
    # diffuse light goes by the hour and not by its minutes
    assert total - 0.8 * beam == pytest.approx(0.2 * share + 0.2, abs=1e-5)


def test_as_many_moments_as_are_kept_are_kept():
    def ask(moments):
        return sky_ensemble(0.5, 0.6, np.full(moments, 40.0), n=300, seed=1, minutes=False)

    assert ask(KEPT_MOMENTS // 300) is ask(KEPT_MOMENTS // 300)
    assert KEPT_MOMENTS == 300_000  # 2.4 MB of each of the two shares


def test_beyond_six_deviations_it_is_sure():
    assert normal_share([-9.0, -6.0, 0.0, 6.0, 9.0]) == pytest.approx([0, 0, 0.5, 1, 1], abs=2e-9)


def test_one_walk_alone_is_the_walk_that_many_are():
    chance = np.random.default_rng(5).standard_normal((50, 1))
    keep = np.exp(-0.1)
    walk = wander(np.random.default_rng(5), 1, 50, 2.0, 20.0)
    assert walk.shape == chance.shape
    assert walk[0] == chance[0]
    new = np.sqrt(1.0 - keep**2) * chance[1:]
    np.testing.assert_allclose(walk[1:], keep * walk[:-1] + new, rtol=1e-12)


def test_minutes_stray_from_the_mean_of_their_own_hour():
    """Half an hour each way, as much as there is of it; scaled to a variance of one."""
    memory = FACT["minute_memory"]
    stray = wander(np.random.default_rng(5), 3, 200, 2.0, memory)
    means = [stray[max(i - 15, 0) : i + 16].mean(axis=0) for i in range(200)]
    x = 60.0 / memory
    left = 2.0 * (x - 1.0 + np.exp(-x)) / x**2  # of an Ornstein-Uhlenbeck walk, over an hour
    found = _minutes(np.random.default_rng(5), 3, 200, 2.0, FACT)
    assert found == pytest.approx((stray - means) / np.sqrt(1.0 - left), abs=1e-9)


@pytest.mark.parametrize(
    ("height", "mass"), [(90.0, 1.0), (30.0, 1.994), (10.0, 5.585), (5.0, 10.306), (0.0, 37.92)]
)
def test_air_mass_is_that_of_the_published_table(height, mass):
    """F. Kasten and A. T. Young, Applied Optics 28 (1989) 4735, table II (from memory)."""
    assert air_mass(height) == pytest.approx(mass, rel=1e-3)
    assert air_mass(-5.0) == air_mass(0.0)
