"""Global light and cloud amount of one hour, told together."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from argentry import trade
from argentry.physics.lights import cloud
from argentry.physics.lights.cloud_told import both_told

NAN = float("nan")
SPLIT_SD = 0.45  # any above 0: the beam was split off
HIGH_DEG, HAZE = 30.0, 0.1  # of the sun, whose light crosses two air masses; usual haze


def told(split, okta, split_sd=SPLIT_SD):
    lit = cloud.Shares(np.array([split]), np.array([0.7]), np.array([split_sd]))
    return both_told(lit, cloud.from_cloud_share(np.array([okta / 8.0])), HIGH_DEG, HAZE)


@pytest.mark.parametrize(("split", "okta"), [(0.9, 0.0), (0.6, 1.0), (0.3, 5.0), (0.7, 8.0)])
def test_the_beam_is_that_of_bayes_rule(split, okta):
    """Against scipy's quadrature over the beams of hours at one cloud amount."""
    strays = trade.value("cloud", "hour_sd")
    usual = float(cloud.beam_at_okta(okta))
    middle = stats.norm.ppf(usual) * np.hypot(1.0, strays)

    def joint(level):
        share = np.clip(stats.norm.cdf(level), 0.001, 0.999)
        misses = 2.0 * trade.value("cloud", "erbs_beam_sd") * np.sqrt(share * (1.0 - share))
        hazy = share * trade.value("cloud", "haze_beam_factor") * 2.0 * HAZE * 0.5
        misses = np.hypot(misses, hazy)
        return stats.norm.pdf(level, middle, strays) * stats.norm.pdf(split, share, misses)

    def over(times):
        return integrate.quad(lambda x: times(x) * joint(x), -8.0, 8.0, limit=400, points=[0.0])[0]

    whole = over(lambda _: 1.0)
    mean = over(lambda x: x) / whole
    sd = (over(lambda x: (x - mean) ** 2) / whole) ** 0.5
    found = told(split, okta)
    assert found.hour_sd == pytest.approx(sd, rel=0.02)
    assert found.beam_share == pytest.approx(stats.norm.cdf(mean / np.hypot(1.0, sd)), abs=0.005)
    assert found.global_share == 0.7


def test_a_cloudless_hour_is_not_read_as_two_oktas():
    """Half of 712 cloudless hours of the okta_sky table have a split below 0.9."""
    assert cloud.okta_at_beam(0.9) > 1.7
    assert cloud.okta_at_beam(told(0.9, 0.0).beam_share) < 0.8
    # nor is thin cloud over a bright hour taken for a hidden sun
    assert told(0.9, 8.0).beam_share > 0.2


def test_one_told_alone_stays_as_it_was():
    measured = told(0.6, 0.0, split_sd=0.0)
    assert (measured.beam_share, measured.hour_sd) == (0.6, 0.0)
    for split, okta in ((0.6, NAN), (NAN, 3.0)):
        sd = SPLIT_SD if split == split else NAN
        found = told(split, okta, sd)
        assert np.array_equal(found.beam_share, [split], equal_nan=True)
        assert np.array_equal(found.hour_sd, [sd], equal_nan=True)
    # a day cleaner than the clear sky stays so
    assert told(1.1, 0.0).beam_share > 1.05


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 8.0))
def test_more_light_or_less_cloud_is_more_sun(a, b, okta):
    less, more = sorted((a, b))
    assert told(less, okta).beam_share <= told(more, okta).beam_share + 0.02
    assert told(more, okta).beam_share <= told(more, max(okta - 1.0, 0.0)).beam_share + 0.02
    assert 0.0 <= told(less, okta).beam_share <= 1.0
    assert told(less, okta).hour_sd <= trade.value("cloud", "hour_sd") + 1e-6
