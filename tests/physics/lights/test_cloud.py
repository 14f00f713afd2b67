"""Shares of clear-sky light from what a file says."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from argentry import trade
from argentry.physics.lights import cloud

NAN = np.nan


def shares(ghi=NAN, dni=NAN, dhi=NAN, elevation=30.0):
    return cloud.from_irradiance(ghi, dni, dhi, 500.0, 800.0, elevation)


def test_given_beam_is_used_as_it_is():
    found = shares(ghi=300.0, dni=400.0, dhi=100.0)
    assert found.beam_share == pytest.approx(0.5)
    assert found.global_share == pytest.approx(0.6)
    assert found.hour_sd == 0.0


def test_beam_from_global_less_diffuse():
    found = shares(ghi=300.0, dhi=100.0)
    assert found.beam_share == pytest.approx(200.0 / 0.5 / 800.0)
    assert found.hour_sd == 0.0


def test_global_from_beam_and_diffuse():
    found = shares(dni=400.0, dhi=100.0)
    assert found.global_share == pytest.approx((400.0 * 0.5 + 100.0) / 500.0)


def test_global_alone_is_split_and_less_sure():
    bright, dull = shares(ghi=480.0), shares(ghi=90.0)
    assert bright.beam_share > 0.6
    assert dull.beam_share < 0.05
    assert 0.3 < bright.hour_sd < 0.9


def test_beam_alone_takes_cloud_light_from_the_okta_table():
    found = shares(dni=400.0)
    assert 0.5 < found.global_share < 0.9


def test_nothing_given_or_sun_too_low_is_nan():
    assert np.isnan(shares().beam_share)
    low = shares(ghi=20.0, dni=50.0, elevation=2.0)
    assert np.isnan(low.beam_share)
    assert np.isnan(low.global_share)


def test_the_weakest_clear_beam_is_still_a_measure():
    found = cloud.from_irradiance(NAN, 0.3, NAN, 500.0, 0.6, 30.0)
    assert found.beam_share == pytest.approx(0.5)
    assert np.isnan(cloud.from_irradiance(NAN, 0.3, NAN, 500.0, 0.0, 30.0).beam_share)


def test_an_hour_of_sunshine_is_the_beam_of_a_cloudless_hour():
    table = cloud.okta_table()
    whole = cloud.from_sunshine(1.0)
    assert table.beam_share[0] > table.beam_share[1]
    assert whole.beam_share == pytest.approx(table.beam_share[0])
    assert cloud.from_sunshine(0.25).beam_share == pytest.approx(0.25 * table.beam_share[0])


def test_each_hour_takes_the_best_it_has():
    best = cloud.first_known(
        cloud.from_irradiance([300.0, NAN, NAN], [400.0, NAN, NAN], NAN, 500.0, 800.0, 30.0),
        cloud.from_cloud_share(np.array([1.0, 0.5, NAN])),
        cloud.from_sunshine(np.array([1.0, 1.0, 0.5])),
    )
    assert best.beam_share[0] == pytest.approx(0.5)
    assert best.beam_share[1] == pytest.approx(float(cloud.beam_at_okta(4.0)))
    assert best.beam_share[2] == pytest.approx(0.5, abs=0.02)
    assert list(best.hour_sd > 0.0) == [False, True, True]
    alone = [cloud.from_cloud_share(0.5).global_share, cloud.from_sunshine(0.5).global_share]
    assert best.global_share == pytest.approx([0.6, *map(float, alone)])


@given(st.floats(0.0, 8.0))
def test_okta_table_reads_backwards(okta):
    assert cloud.okta_at_beam(cloud.beam_at_okta(okta)) == pytest.approx(okta, abs=1e-6)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_cloud_never_gives_more_light(a, b):
    less, more = sorted((a, b))
    few, many = cloud.from_cloud_share(less), cloud.from_cloud_share(more)
    assert few.beam_share >= many.beam_share
    assert few.global_share >= many.global_share


@given(
    st.floats(0.0, 1500.0), st.floats(0.0, 1200.0), st.floats(0.0, 800.0), st.floats(-10.0, 90.0)
)
def test_shares_stay_in_bounds(ghi, dni, dhi, elevation):
    found = cloud.from_irradiance(ghi, dni, dhi, 500.0, 800.0, elevation)
    if elevation > cloud.LOWEST_SUN_DEG:
        assert 0.0 <= found.beam_share <= 1.25
        assert 0.0 <= found.global_share <= 1.5
    else:
        assert np.isnan(found.beam_share)


def test_a_forecast_is_held_to_the_clouds_usual_there_by_bayes_rule():
    """Draw clouds, tell each with a miss, look at those of which one amount was told."""
    rng = np.random.default_rng(2)
    truth = 8.0 * rng.choice(cloud.cloud_levels(0.6), 400_000)
    told = np.clip(truth + 2.0 * rng.standard_normal(truth.size), 0.0, 8.0)
    for okta, near in ((0.0, 1e-9), (2.0, 0.1), (5.0, 0.1), (8.0, 1e-9)):
        came = truth[np.abs(told - okta) <= near]
        ranks = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
        found = cloud.okta_by_rank(okta, ranks, 2.0, 0.6)
        assert found == pytest.approx(np.quantile(came, ranks), abs=0.15)


def test_a_sure_forecast_is_taken_at_its_word_and_a_blind_one_says_the_season():
    ranks = np.linspace(0.01, 0.99, 50)
    sure = cloud.okta_by_rank(np.full(50, 3.0), ranks, 0.05, 0.6)
    assert sure == pytest.approx(np.full(50, 3.0), abs=0.15)
    for usual in (0.05, 0.95):  # where hardly ever the other end is seen
        for told in (0.0, 3.0, 8.0):
            assert np.isfinite(cloud.okta_by_rank(told, ranks, 0.01, usual)).all()
    blind = cloud.okta_by_rank(np.full(50, 3.0), ranks, 60.0, 0.6)
    levels = 8.0 * cloud.cloud_levels(0.6)
    assert blind == pytest.approx(np.quantile(levels, ranks), abs=0.1)


def test_the_amount_rises_with_its_rank_between_the_ranks_that_are_kept():
    ranks = np.linspace(0.013, 0.987, 75)
    for told in (0.7, 3.3, 6.1):
        amounts = cloud.okta_by_rank(told, ranks, 2.0, 0.55)
        assert (np.diff(amounts) >= -1e-9).all()
        assert amounts.min() >= 0.0
        assert amounts.max() <= 8.0
        assert amounts[-1] > amounts[0] + 1.0


def test_a_dark_hour_is_all_but_diffuse_up_to_where_the_curve_begins():
    """Erbs, Klein and Duffie 1982, equation 1: 1 - 0.09 k up to k = 0.22, 0.165 above 0.8."""
    assert cloud.erbs_diffuse_fraction([0.22, 0.9]) == pytest.approx([0.9802, 0.165], abs=1e-12)


@pytest.mark.parametrize(("told", "miss"), [(0.0, 0.25), (0.0, 2.0), (3.0, 1.0), (8.0, 0.25)])
def test_what_a_forecast_leaves_is_weighed_cloud_by_cloud(told, miss):
    """Each amount counts by the chance of a miss to what was told, or beyond it at an end."""
    levels = 8.0 * cloud.cloud_levels(0.4)
    law = NormalDist(0.0, miss)
    if told == 0.0:
        weight = [law.cdf(-level) for level in levels]
    elif told == 8.0:
        weight = [law.cdf(level - 8.0) for level in levels]
    else:
        weight = [law.pdf(told - level) for level in levels]
    middle = np.cumsum(weight) - np.array(weight) / 2.0
    ranks = np.array([0.02, 0.1, 0.4975, 0.9, 0.995, 1.0])
    expected = np.interp(ranks, middle / np.sum(weight), levels)
    assert cloud.okta_by_rank(told, ranks, miss, 0.4) == pytest.approx(expected, abs=2e-3)


def test_between_two_amounts_that_are_kept_it_is_their_mean():
    ranks = np.array([0.1, 0.5, 0.9])
    low, high, between = (cloud.okta_by_rank(x, ranks, 2.0, 0.6) for x in (3.0, 3.25, 3.125))
    assert between == pytest.approx((low + high) / 2.0, abs=1e-12)
    assert (high > low + 0.05).all()


def test_cloud_comes_in_equal_steps_of_its_probability():
    levels = cloud.cloud_levels(0.6)
    steady = trade.value("cloud", "climate_steadiness")
    assert levels.size == 1001
    law = beta(0.6 * steady, 0.4 * steady)
    assert levels[10:-10] == pytest.approx(law.ppf(np.linspace(0.01, 0.99, 981)), abs=0.01)


def test_light_from_cloud_is_what_the_measured_means_leave_over_the_beam():
    columns = trade.table("okta_sky").columns
    over = (
        columns["global_mean"] / columns["global_mean"][0]
        - columns["beam_mean"] / columns["beam_mean"][0]
    )
    okta = np.arange(9.0)
    assert cloud.cloud_light_at_okta(okta) == pytest.approx(np.clip(over, 0.0, None), abs=1e-12)
    half = cloud.from_sunshine(0.5)
    assert half.global_share - half.beam_share == pytest.approx(
        float(cloud.cloud_light_at_okta(cloud.okta_at_beam(half.beam_share)))
    )
    assert half.global_share > half.beam_share + 0.1


def test_a_sure_forecast_of_what_hardly_ever_comes_is_still_believed():
    """No usual amount lies within 30 times its miss: the nearest is taken."""
    levels = 8.0 * cloud.cloud_levels(0.01)
    assert np.abs(levels - 7.25).min() > 0.3
    nearest = levels[np.abs(levels - 7.25).argmin()]
    assert cloud.okta_by_rank(7.25, 0.5, 0.01, 0.01) == pytest.approx(nearest)
