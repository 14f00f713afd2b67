"""What plates have shown of the light of a day without a forecast."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan.seen_light import UNLIKELY, _by_share, weathers_seen
from argentry.plan.shop import Begun
from argentry.plan.tasks import DEVELOPMENT, blocks_of


@pytest.fixture
def day(build_day):
    return build_day(weathers=40, spread=0.5)


def seen(day, put_out, ripe, now, days=200):
    """Return how bright the days' weathers are by noon, beside the mean of all weathers [1]."""
    blocks = blocks_of(day.tasks)
    lit = next(i for i, block in enumerate(blocks) if block.kind == DEVELOPMENT)
    starts, ends = np.full((2, 1, len(blocks)), np.nan)
    starts[0, : lit + 1], ends[0, :lit], ends[0, lit] = put_out, put_out, ripe
    begun = Begun(starts, ends, np.array([0]))
    which = weathers_seen(blocks, begun, day.light, now, days, 40)
    bright = day.light.frames[0].days[:, 300]
    return which, bright[which].mean() / bright.mean()


def usual_minutes(day, put_out):
    return day.light.frames[0].expected_ends[int(put_out)] - put_out


def test_without_a_plate_in_the_light_every_weather_is_as_likely(day):
    which, _ = seen(day, np.nan, np.nan, 100.0, days=90)
    np.testing.assert_array_equal(which, np.arange(90) % 40)


def test_a_plate_that_is_long_not_ripe_tells_of_a_dark_sky_and_one_ripe_soon_of_a_bright_one(day):
    long = usual_minutes(day, 100.0)
    _, dark = seen(day, 100.0, np.nan, 100.0 + 1.6 * long)
    _, slow = seen(day, 100.0, 100.0 + 1.6 * long, 400.0)
    _, soon = seen(day, 100.0, 100.0 + 0.7 * long, 400.0)
    assert max(dark, slow) < 0.9 < 1.1 < soon
    _, early = seen(day, 100.0, np.nan, 100.0 + 0.3 * long)
    assert early == pytest.approx(1.0, abs=0.05), "nothing is seen yet"


def test_under_a_lamp_nothing_is_seen_of_the_sky(day):
    lamp = replace(day.light.frames[0], lamp=True)
    under = replace(day, light=replace(day.light, frames=(lamp,)))
    which, _ = seen(under, 100.0, 300.0, 400.0)
    np.testing.assert_array_equal(which, np.arange(200) % 40)


def test_each_weather_has_its_share_of_the_days_and_of_the_first_of_them(day):
    """By the plain rule of Bayes: the share is the likelihood of the plate's light."""
    frame = day.light.frames[0]
    which, _ = seen(day, 100.0, 250.0, 400.0, days=2_000)
    off = np.log((frame.days[:, 250] - frame.days[:, 100]) / frame.dose) / frame.dose_log_sd
    share = np.maximum(np.exp(-0.5 * off**2), UNLIKELY)
    share = share / share.sum()
    for days, apart in ((2_000, 0.002), (60, 0.04)):
        found = np.bincount(which[:days], minlength=40) / days
        np.testing.assert_allclose(found, share, atol=apart)


def test_however_many_days_are_taken_they_lie_evenly_among_the_shares():
    """Steps by the golden ratio leave gaps of three neighbouring powers of it at most.

    Knuth, The Art of Computer Programming 3, 6.4, after Sós and Świerczkowski (from memory).
    """
    fine = 20_000
    for days in (3, 7, 12, 20, 33, 60):
        places = np.sort(_by_share(np.full(fine, 1.0 / fine), days)) / fine
        gaps = np.diff(places, append=places[0] + 1.0)
        assert gaps.max() / gaps.min() <= (1.5 + 0.5 * 5.0**0.5) * 1.02
