"""Skies after their light was read: the reading rules now, the forecast again hours later."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from argentry.records.weather import LightRead
from argentry.sky.weather.as_read import as_read, counts_until, gone, still
from argentry.sky.weather.days import SkyDays

AT = datetime(2026, 6, 21, 8, 40, tzinfo=UTC)
TIMES = np.datetime64("2026-06-21T05:00:30", "s") + np.arange(14 * 60) * np.timedelta64(60, "s")
HERE = 3 * 60 + 40  # minute of the reading


def walk(rng, memory, steps=TIMES.size, n=200):
    out = rng.standard_normal((n, steps))
    keep = np.exp(-1.0 / memory)
    for i in range(1, steps):
        out[:, i] = keep * out[:, i - 1] + np.sqrt(1.0 - keep**2) * out[:, i]
    return out


@pytest.fixture(scope="module")
def skies():
    """Days that stray from 0.6 by 0.2, as hours within their day do (G&H: 0.54 an hour on)."""
    level = np.clip(0.6 + 0.15 * walk(np.random.default_rng(7), 97.0), 0.05, 1.2)
    even = np.full(TIMES.size, 0.6)
    return SkyDays(level, level.copy(), even, even.copy(), "forecast.csv: forecast", ())


def read(share=0.3, sigma=0.2, at=AT):
    return LightRead(at, counts_until(at), share, share, sigma, share / 0.6, "It was read.")


@pytest.fixture(scope="module")
def after(skies):
    return as_read(skies, TIMES, read(), seed=1)


def test_half_of_the_forecast_now_fades_as_hours_go_together(skies, after):
    """Graham and Hollands 1990: 0.54 from hour to hour; Yang 2019: the weight of a reading."""
    ratio = after.middle_global / skies.middle_global
    assert ratio[HERE - 2] == 1.0
    now = 1.0 - ratio[HERE]
    assert now == pytest.approx(0.5, abs=0.03)
    for hours in (1, 2, 3):
        assert 1.0 - ratio[HERE + 60 * hours] == pytest.approx(now * 0.54**hours, abs=0.03)
    assert ratio[-1] == pytest.approx(1.0, abs=0.01)
    assert after.middle_beam[HERE] == after.middle_global[HERE]


def test_the_range_is_narrow_at_the_reading_and_opens_again(skies, after):
    """The spread is what a Gaussian walk has when it was seen: sqrt(1 - w^2) of its own."""
    before, now = skies.global_share.std(axis=0), after.global_share.std(axis=0)
    assert now[HERE] < 0.4 * before[HERE]
    for minutes in (30, 60, 180):
        at = HERE + minutes
        assert now[at] / before[at] == pytest.approx(gone(minutes), abs=0.12)
    assert now[-1] / before[-1] == pytest.approx(1.0, abs=0.05)
    assert np.allclose(after.global_share[:, :HERE], skies.global_share[:, :HERE])


def test_a_doubtful_reading_moves_less_and_narrows_less(skies, after):
    vague = as_read(skies, TIMES, read(sigma=1.5), seed=1)
    medians = [np.median(one.global_share[:, HERE]) for one in (after, vague, skies)]
    assert medians[0] + 0.05 < medians[1] < medians[2] - 0.02
    before, sure, unsure = (one.global_share[:, HERE].std() for one in (skies, after, vague))
    assert sure < 0.5 * before
    assert 0.7 * before < unsure < before  # it never widens, nor settles what it does not know


def test_one_look_between_the_clouds_says_little_of_the_hours(skies):
    """What passes within minutes is taken for the minutes' own."""
    flicker = 0.3 * walk(np.random.default_rng(3), 10.0)
    broken = replace(skies, global_share=skies.global_share + flicker)
    moved = skies.middle_global - as_read(broken, TIMES, read(), seed=1).middle_global
    calm = skies.middle_global - as_read(skies, TIMES, read(), seed=1).middle_global
    assert moved[HERE] == pytest.approx(calm[HERE], abs=0.04)
    assert moved[HERE + 60] < 0.75 * calm[HERE + 60]
    days, still_days = (
        np.median(as_read(one, TIMES, read(), seed=1).global_share[:, HERE + 60])
        for one in (broken, skies)
    )
    assert still_days < days - 0.03


def test_a_forecast_that_leaves_nothing_open_is_moved_too(skies):
    sure = np.full_like(skies.global_share, 1.0)
    one = np.ones(TIMES.size)
    clear = SkyDays(sure, sure, one, one, "", ())
    assert as_read(clear, TIMES, read(0.4), seed=1).middle_beam[HERE] < 0.5


def test_days_stay_skies(skies):
    for share in (0.0, 1.3):
        days = as_read(skies, TIMES, read(share), seed=1)
        assert days.beam_share.min() >= 0.0
        assert days.global_share.min() > 0.0
        assert days.beam_share.max() <= 1.25
        assert days.global_share.max() <= 1.5
    within = as_read(skies, TIMES, read(0.5), seed=1).global_share
    assert (within >= skies.global_share.min(axis=0) - 1e-9).all()
    assert (within <= skies.global_share.max(axis=0) + 1e-9).all()


def test_skies_stay_near_clear_or_near_overcast():
    """Half of the light an hour ago does not make half a sky of every day."""
    cloud = walk(np.random.default_rng(5), 97.0)
    grey = cloud > 0.0
    level = np.where(grey, 0.25, 1.0) - 0.02 * cloud
    beam = np.where(grey, 0.0, 1.0)
    even = np.full(TIMES.size, 0.6)
    days = as_read(SkyDays(beam, level, even, even, "", ()), TIMES, read(0.22), seed=1)
    later = days.beam_share[:, HERE + 60]
    assert ((later < 0.1) | (later > 0.9)).mean() > 0.97
    assert (later < 0.1).mean() > (beam[:, HERE + 60] < 0.1).mean() + 0.08
    assert (days.beam_share[:, HERE] < 0.1).mean() > 0.8


def test_a_reading_of_another_day_changes_nothing(skies):
    assert as_read(skies, TIMES, None, seed=1) is skies
    other = read(at=datetime(2026, 6, 20, 8, 40, tzinfo=UTC))
    assert as_read(skies, TIMES, other, seed=1) is skies
    assert as_read(skies, TIMES, read(), seed=1).warnings == ("It was read.",)


def test_how_long_a_reading_counts():
    left = still(np.array([-1.0, 0.0, 97.0, (counts_until(AT) - AT).total_seconds() / 60.0]))
    assert left == pytest.approx([0.0, 1.0, np.exp(-1.0), 0.1], rel=1e-6)
    assert gone(-5.0) == 0.0 < gone(10.0) < gone(300.0) < 1.0
