"""The sun's path and the clear sky are worked out once for a question."""

import importlib.util
import sys
from dataclasses import fields
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from argentry.day.plan import make_day
from argentry.physics.lights import sky as physics_sky
from argentry.physics.lights import sun
from argentry.records.weather import Weather
from argentry.sky import clear_day
from argentry.sky.sky_day import sky_day

_spec = importlib.util.spec_from_file_location(
    "light_fixture", Path(__file__).parents[1] / "needs" / "light_fixture.py"
)
fixture = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(fixture)
UNITS = ("_w_m2", "_share", "_c", "_pct", "_aod")
PLACE, STUDIO = fixture.PLACE, fixture.STUDIO


@pytest.fixture
def counted(monkeypatch):
    """Count every way in to the sun's path and to the clear sky."""
    counts = {}

    def count(home, name):
        whole = getattr(home, name)

        def counting(*given, **named):
            counts[name] = counts.get(name, 0) + 1
            return whole(*given, **named)

        for module in list(sys.modules.values()):
            if getattr(module, "__name__", "").startswith("argentry") and (
                getattr(module, name, None) is whole
            ):
                monkeypatch.setattr(module, name, counting)

    count(sun, "sun_path")
    count(physics_sky, "clear_skies")
    return counts


def test_a_plan_of_two_plates_works_out_sun_and_sky_once(counted):
    make_day(STUDIO, date(2026, 6, 21), plates=2, effort=0.5, simulated_days=10)
    assert counted == {"sun_path": 1, "clear_skies": 1}


@pytest.mark.parametrize("kind", ["forecast", "typical year"])
def test_a_weather_file_asks_for_no_second_sun_or_sky(counted, kind):
    """Its hours are looked at together with the day's minutes."""
    typical = kind == "typical year"
    start = np.datetime64("2001-01-01T00:00:00" if typical else "2026-06-21T00:00:00")
    hours = 8760 if typical else 24
    nothing = np.full(hours, np.nan)
    known = {field.name: nothing for field in fields(Weather) if field.name.endswith(UNITS)}
    known["cloud_share"] = np.full(hours, 0.25)
    times = start + np.arange(hours) * np.timedelta64(3600, "s")
    weather = Weather(start_utc=times, step_s=3600.0, kind=kind, source="invented", **known)
    plan = make_day(
        STUDIO, date(2026, 6, 21), plates=2, weather=weather, effort=0.5, simulated_days=10
    )
    assert plan.plates_placed
    assert counted == {"sun_path": 1, "clear_skies": 1}


def test_the_day_at_the_bench_works_out_sun_and_sky_once(counted):
    clear_day._clear_day.cache_clear()
    clear_day.clear_day(STUDIO, STUDIO.frames[0], fixture.utc(6, 21, 12))
    assert counted == {"sun_path": 1, "clear_skies": 1}


def test_a_part_of_a_day_is_what_it_would_be_alone():
    times = np.datetime64("2026-06-21T04:00:30") + np.arange(900) * np.timedelta64(60, "s")
    whole, alone = sky_day(PLACE, times).part(200, 300), sky_day(PLACE, times[200:300])
    np.testing.assert_allclose(whole.light().exposure_w_m2, alone.light().exposure_w_m2, rtol=1e-6)


@pytest.mark.parametrize("longitude", [-120.0, 0.0, 15.0, 179.0])
def test_a_plan_shows_the_sun_as_the_almanac_does(longitude):
    """Between two minutes of a path, not at seconds of its own: the same second."""
    start, _ = sun.solar_day(date(2026, 3, 9), longitude)
    hill = ((80.0, 3.0), (100.0, 8.0), (250.0, 2.0), (280.0, 6.0))
    times = start - np.timedelta64(17, "s") + np.arange(1442) * np.timedelta64(60, "s")
    path = sun.sun_path(times, 48.0, longitude, 300.0)
    ours = sun.first_and_last_sight(times, path, hill)
    known = sun.sun_times(date(2026, 3, 9), 48.0, longitude, 300.0, hill)
    for one, other in zip(ours, known, strict=True):
        assert abs(one - other) <= np.timedelta64(1, "s")
