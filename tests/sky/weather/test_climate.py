"""The skies a season may bring, for days of which no forecast is known."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from argentry import trade
from argentry.physics.lights import cloud
from argentry.physics.lights.cloud import cloud_levels
from argentry.sky.place import Place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather import climate
from argentry.sky.weather.usual import usual_cloud

PLACE = Place(47.0, 8.0, 500.0, "Europe/Zurich", (), 0.2, None, "an invented place")
TIMES = np.datetime64("2026-06-21T04:00:00") + np.arange(900) * np.timedelta64(60, "s")
JUNE, JANUARY = date(2026, 6, 21), date(2026, 1, 20)


@pytest.fixture(scope="module")
def june():
    return climate.season_days(sky_day(PLACE, TIMES), JUNE, n=400)


def test_deserts_are_clearer_than_the_tropics_and_than_the_north():
    """Land has 55 % of cloud on average (King et al. 2013), least of it near 25 degrees."""
    zones = {at: usual_cloud(at, date(2026, 4, 20)) for at in (0.0, 25.0, 55.0)}
    assert zones[25.0] < 0.45 < 0.55 < zones[0.0] < 0.7
    assert zones[55.0] > zones[25.0] + 0.15
    everywhere = [usual_cloud(float(at), date(2026, 4, 20)) for at in range(-55, 71)]
    assert np.mean(everywhere) == pytest.approx(0.55, abs=0.06)


def test_mediterranean_winters_are_cloudier_and_the_seasons_turn_round_in_the_south():
    winter, summer = (
        usual_cloud(40.0, JANUARY),
        usual_cloud(40.0, date(2026, 7, 21)),
    )
    assert winter - summer == pytest.approx(2 * 0.12, abs=0.01)
    assert usual_cloud(-40.0, JANUARY) == pytest.approx(summer, abs=0.01)


def test_the_clouds_drawn_are_near_clear_or_near_overcast_as_measured_hours_are():
    """As spread out about their mean as the measured hours of the okta table."""
    columns = trade.table("okta_sky").columns
    share, hours = columns["okta"] / 8.0, columns["hours"]
    mean = float((share * hours).sum() / hours.sum())
    variance = float((hours * (share - mean) ** 2).sum() / hours.sum())
    levels = cloud_levels(round(mean, 3))
    assert levels.mean() == pytest.approx(mean, abs=0.01)
    assert levels.var() == pytest.approx(variance, rel=0.05)


def test_the_light_of_many_days_is_that_of_the_usual_cloud(june):
    """Mean beam by the okta table at the cloud amounts of the zone, hour by hour."""
    levels = cloud_levels(round(usual_cloud(47.0, JUNE), 3))
    expected = cloud.beam_at_okta(8.0 * levels).mean()
    assert june.beam_share[:, 300:600].mean() == pytest.approx(expected, abs=0.06)
    assert (june.beam_share[:, 450] < 0.3).mean() > 0.2
    assert (june.beam_share[:, 450] > 0.8).mean() > 0.2


def test_the_middle_day_is_clear_and_the_note_says_what_is_what(june):
    assert (june.middle_beam == 1.0).all()
    assert "times are for a clear sky, odds for the clouds" in june.note
    assert june.warnings == (june.note,)


def test_a_grey_morning_tends_to_stay_grey(june):
    """Cloud amounts six hours apart correlate with 0.60 in the measured hours."""
    morning, later = (
        june.beam_share[:, 200:260].mean(axis=1),
        june.beam_share[:, 560:620].mean(axis=1),
    )
    assert 0.3 < np.corrcoef(morning, later)[0, 1] < 0.8


def test_the_same_seed_gives_the_same_days():
    day = sky_day(replace(PLACE, latitude_deg=42.0), TIMES)
    one, same, other = (
        climate.season_days(day, JUNE, n=3, seed=seed).beam_share for seed in (1, 1, 2)
    )
    np.testing.assert_array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize("usual", [False, True])
def test_a_part_of_the_steps_is_of_the_same_days(usual):
    day, part = sky_day(replace(PLACE, latitude_deg=42.0), TIMES), slice(500, 900)
    whole = climate.season_days(day, JUNE, n=20, usual=usual)
    cut = climate.season_days(day, JUNE, n=20, usual=usual, part=part)
    np.testing.assert_array_equal(cut.beam_share, whole.beam_share[:, part])
    np.testing.assert_array_equal(cut.global_share, whole.global_share[:, part])
    np.testing.assert_array_equal(cut.middle_global, whole.middle_global[part])


def test_the_usual_sky_is_the_mean_of_its_days():
    day = sky_day(replace(PLACE, latitude_deg=42.0), TIMES)
    usual = climate.season_days(day, JUNE, n=50, usual=True)
    about_clear = climate.season_days(day, JUNE, n=50)
    np.testing.assert_array_equal(usual.beam_share, about_clear.beam_share)
    np.testing.assert_allclose(usual.middle_beam, usual.beam_share.mean(axis=0))
    np.testing.assert_allclose(usual.middle_global, usual.global_share.mean(axis=0))
    assert (about_clear.middle_global == 1.0).all()
