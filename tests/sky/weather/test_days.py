"""The sky of a day from weather of every kind."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.physics.lights import bands, cloud, sky, sun
from argentry.records.weather import Weather
from argentry.sky.place import Place
from argentry.sky.sky_day import atmosphere_of, sky_day
from argentry.sky.weather import days as skies

PLACE = Place(47.0, 8.0, 500.0, "Europe/Zurich", (), 0.2, None, "an invented place")
HOUR = np.timedelta64(3600, "s")
DAY = np.datetime64("2026-06-21T04:00:00") + np.arange(900) * np.timedelta64(60, "s")
NOON = np.array(["2026-06-21T11:30:00"], dtype="datetime64[s]")


def over(times):
    return sky_day(PLACE, times)


def weather(kind="forecast", start="2026-06-21T00:00:00", hours=24, **columns):
    empty = np.full(hours, np.nan)
    names = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_share", "sunshine_share")
    names += ("temperature_c", "relative_humidity_pct", "haze_aod")
    values = {
        name: np.broadcast_to(columns.get(name, empty), hours).astype(float) for name in names
    }
    times = np.datetime64(start) + np.arange(hours) * HOUR
    return Weather(start_utc=times, step_s=3600.0, kind=kind, source="sample.csv", **values)


def clear_irradiance(times):
    """Hourly means of the clear sky's light, minute by minute."""
    moments = (times[:, None] + np.arange(60) * np.timedelta64(60, "s")).ravel()
    path = sun.sun_path(moments, PLACE.latitude_deg, PLACE.longitude_deg, PLACE.elevation_m)
    air = atmosphere_of(PLACE)
    light = sky.clear_sky(path.elevation_deg, path.distance_factor, bands.broad_band(), air)
    beam = light.beam_normal_w_m2
    level = beam * np.sin(np.radians(np.maximum(path.elevation_deg, 0.0)))
    whole = level + light.diffuse_horizontal_w_m2
    return whole.reshape(-1, 60).mean(axis=1), beam.reshape(-1, 60).mean(axis=1)


def test_no_file_is_clear_and_says_so_loudly():
    found = skies.sky_days(None, over(DAY), 50, 1)
    assert np.all(found.middle_beam == 1.0)
    assert found.warnings == ("no weather file: clear sky assumed; real days are darker",)
    assert found.beam_share.shape == (50, 900)
    assert found.beam_share.mean() == pytest.approx(0.98, abs=0.04)
    assert found.beam_share[:, 450].std() > 0.01  # haze


def test_cloud_share_gives_the_tables_beam_and_kasten_light():
    beam, whole = skies.shares_at(weather(cloud_share=0.5), over(NOON))
    assert beam[0] == pytest.approx(float(cloud.beam_at_okta(4.0)))
    assert whole[0] == pytest.approx(0.929, abs=1e-3)


@pytest.mark.parametrize("share", [0.3, 0.8, 1.0])
def test_irradiance_of_a_dimmed_clear_day_gives_its_share_back(share):
    given = weather()
    ghi, dni = clear_irradiance(given.start_utc)
    given = replace(given, ghi_w_m2=share * ghi, dni_w_m2=share * dni)
    likely = skies.hourly_sky(given, over(DAY))
    assert likely.beam_share == pytest.approx(np.full(900, share), abs=0.02)
    assert likely.global_share == pytest.approx(np.full(900, share), abs=0.02)


def test_half_an_hour_of_forecast_sun_is_half_a_beam():
    beam, _ = skies.shares_at(weather(sunshine_share=0.5), over(NOON))
    assert beam[0] == pytest.approx(0.5, abs=0.02)


def test_an_overcast_day_says_that_development_may_fail():
    found = skies.sky_days(weather(cloud_share=1.0), over(DAY), 30, 1)
    assert any("development in the sun may fail" in line for line in found.warnings)
    assert found.beam_share.mean() < 0.25
    broken = skies.sky_days(weather(cloud_share=0.5), over(DAY), 30, 1)
    assert not broken.warnings


def test_a_forecast_strays_more_than_measured_hours():
    as_forecast = weather(cloud_share=0.5)
    ghi, dni = clear_irradiance(as_forecast.start_utc)
    measured = weather(kind="measured", ghi_w_m2=0.7 * ghi, dni_w_m2=0.66 * dni)
    spread = [
        skies.sky_days(w, over(DAY), 200, 1).beam_share[:, 60:840].mean(axis=1).std()
        for w in (as_forecast, measured)
    ]
    assert spread[0] > 3.0 * spread[1]


def test_same_seed_same_days():
    one, two = (skies.sky_days(weather(cloud_share=0.6), over(DAY), 10, 7) for _ in range(2))
    assert np.array_equal(one.beam_share, two.beam_share)


def typical(shift_cloud=()):
    """Cloudless but for the days named by day of the year."""
    share = np.zeros(365)
    share[list(shift_cloud)] = 1.0
    return weather("typical year", "2001-01-01T00:00:00", 8760, cloud_share=np.repeat(share, 24))


def test_typical_year_is_read_by_month_and_day():
    year = typical([171])  # 21 June
    dull, _ = skies.shares_at(year, over(NOON))
    clear, _ = skies.shares_at(year, over(NOON + 24 * HOUR))
    assert dull[0] < 0.1
    assert clear[0] > 0.9


def test_typical_year_is_spread_over_its_neighbouring_days():
    year = typical([171])
    found = skies.sky_days(year, over(DAY), 150, 1)
    # one day in fifteen is overcast, though it is the very day asked for
    assert (found.beam_share[:, 450] < 0.3).mean() == pytest.approx(1 / 15, abs=0.06)
    assert found.middle_beam[450] > 0.8
    assert "no forecast" in found.note


@pytest.mark.parametrize("date", ["2028-02-29", "2026-01-02", "2026-12-31"])
def test_typical_year_has_every_day_and_no_new_years_gap(date):
    times = np.datetime64(date) + np.arange(7 * 60, 16 * 60) * np.timedelta64(60, "s")
    found = skies.sky_days(typical(), over(times.astype("datetime64[s]")), 15, 1)
    assert found.middle_beam.min() > 0.9
    assert not found.warnings


def test_a_short_gap_is_bridged_and_told():
    share = np.full(24, 0.5)
    share[10:12] = np.nan
    likely = skies.hourly_sky(weather(cloud_share=share), over(DAY))
    assert likely.beam_share == pytest.approx(np.full(900, float(cloud.beam_at_okta(4.0))))
    assert any("bridged" in line for line in likely.warnings)


@pytest.mark.parametrize(
    "given",
    [
        weather(start="2026-06-20T00:00:00", cloud_share=0.5),  # another day
        weather(cloud_share=np.nan),  # nothing of light or cloud
        weather(hours=6, cloud_share=0.5),  # ends in the morning
        weather(cloud_share=np.where(np.arange(24) % 24 < 15, 0.5, np.nan)),  # ends at 15 UTC
    ],
)
def test_a_file_that_does_not_cover_the_day_is_refused_in_one_sentence(given):
    with pytest.raises(BadInput, match=r"sample\.csv.*covers the day"):
        skies.hourly_sky(given, over(DAY))


def test_light_in_the_night_is_doubted():
    ghi, dni = clear_irradiance(weather().start_utc)
    shifted = weather(ghi_w_m2=np.roll(ghi, 5), dni_w_m2=np.roll(dni, 5))
    likely = skies.hourly_sky(shifted, over(NOON))
    assert any("time zone" in line for line in likely.warnings)
