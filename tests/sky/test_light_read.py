"""What instruments tell of the sky, and which readings are not believed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from tests import bench_studio as made

from argentry.records.run import RunReading
from argentry.records.studio import Subject
from argentry.records.weather import Weather
from argentry.sky.clear_day import against_clear, clear_day
from argentry.sky.light_read import light_read
from argentry.sky.meters import AMOUNTS, meters_at

STUDIO = made.studio()
FRAME = STUDIO.frames[0]
AT = datetime(2026, 6, 21, 8, 40, tzinfo=UTC)
INSTRUMENTS = [
    ("sun", "light_lx", None, "lux_subject"),
    ("shade", "light_lx", None, "lux_subject"),
    ("window", "light_lx", None, "lux_subject"),
    ("shade", "light_lx", "develop", "lux_frame"),
    ("window", "sun_w_m2", None, "ghi"),
    ("sun", "filter_w_m2", None, "development"),
]


def reading(share=1.0, at=AT, what="light_lx", source="meter", studio=STUDIO):
    """A meter that shows this share of what a clear sky gives it."""
    day = clear_day(studio, FRAME, at)
    clear = day.ghi_w_m2 if what == "sun_w_m2" else day.lux_subject
    return RunReading(what, share * float(clear[int(day.index(at))]), "lx", source, at)


def cloudy(okta):
    hours = np.datetime64("2026-06-21T00:00", "s") + np.arange(24) * np.timedelta64(3600, "s")
    empty = np.full(24, np.nan)
    return Weather(
        hours, 3600.0, empty, empty, empty, np.full(24, okta / 8.0), empty, empty, empty, empty,
        "forecast", "forecast.csv",
    )  # fmt: skip


def look(*readings, weather=None, after=10.0, studio=STUDIO):
    now = readings[-1].at + timedelta(minutes=after)
    return light_read(studio, readings, weather, now)


@pytest.mark.parametrize(("plane", "what", "step", "shows"), INSTRUMENTS)
@pytest.mark.parametrize("okta", [1.0, 5.0, 8.0])
def test_every_instrument_finds_the_sky_that_it_is_under(plane, what, step, shows, okta):
    """The plan's own rule for cloud (Kasten and Czeplak 1980) lights the instrument."""
    studio = made.studio(subject=Subject(plane=plane))
    under = meters_at(studio, FRAME, AT)
    at = int(np.flatnonzero(okta == AMOUNTS)[0])
    light, day = getattr(under, shows), clear_day(studio, FRAME, AT)
    of_day = {"ghi": "ghi_w_m2", "development": "development_w_m2"}.get(shows, shows)
    value = float(light[at] / light[0] * getattr(day, of_day)[int(day.index(AT))])
    one = RunReading(what, value, "", "meter", AT, None, step)
    found = against_clear(studio, FRAME, one, float(under.beam_share[at]))
    near = 0.06 if (plane, okta) == ("shade", 5.0) else 0.01  # where shade is brightest, all alike
    assert found.development == pytest.approx(
        under.development[at] / under.development[0], rel=near
    )
    assert found.exposure == pytest.approx(under.exposure[at] / under.exposure[0], rel=near)
    assert found.level == pytest.approx(under.global_share[at], rel=near)


def test_a_meter_in_shade_that_fits_two_skies_takes_the_expected_one():
    """Broken cloud lights shade up, a covered sky darkens it to a clear sky's shade again."""
    studio = made.studio(subject=Subject(plane="shade"))
    one = reading(studio=studio)
    found = [look(one, weather=cloudy(okta), studio=studio)[0] for okta in (0.0, 7.0)]
    assert found[0].beam_share == pytest.approx(1.0, abs=0.02)
    assert found[1].beam_share < 0.15


@pytest.mark.parametrize("okta", [2.0, 5.0])
def test_the_reading_against_the_forecast_is_told(okta):
    under = meters_at(STUDIO, FRAME, AT)
    model = float(np.interp(okta, AMOUNTS, under.lux_subject) / under.lux_subject[0])
    same = look(reading(model), weather=cloudy(okta))[0]
    assert same.of_expected == pytest.approx(1.0, abs=0.04)
    half = look(reading(0.5 * model), weather=cloudy(okta))[0]
    assert half.of_expected == pytest.approx(0.5, abs=0.06)  # violet loses a little less than lux
    assert f": {half.of_expected:.2f} of what was forecast." in half.sentence
    assert half.sentence.startswith("The light was read at 10:40 (")
    assert half.sentence.endswith("until about 14:23.")  # 97 min x ln 10
    assert "usual at this season" in look(reading(0.5))[0].sentence


def test_several_readings_close_together_are_one():
    early = AT - timedelta(minutes=20)
    shares = [reading(0.9, early), reading(0.8, AT - timedelta(minutes=6)), reading(0.4)]
    found, alone = look(*shares)[0], look(shares[-1])[0]
    one, two = (against_clear(STUDIO, FRAME, r).level for r in shares[1:])
    assert found.global_share == pytest.approx((one + two) / 2.0)
    assert found.global_share > alone.global_share
    assert found.at == AT


@pytest.mark.parametrize("share", [0.001, 0.02, 1.6, 5.0])
def test_what_no_sky_gives_does_not_rule(share):
    found, (said,) = look(reading(share))
    assert found is None
    assert "not used: no sky gives that here" in said
    before = reading(0.7, AT - timedelta(minutes=30))
    found, said = look(before, reading(share))
    assert (found.at, len(said)) == (before.at, 1)


def test_an_instrument_at_the_end_of_its_scale_does_not_rule():
    """Many light sensors stop at 65,535 lx and say just that in the sun."""
    full = [
        RunReading("light_lx", 65535.0, "lx", "lamp post", AT + timedelta(minutes=5 * n))
        for n in range(3)
    ]
    assert look(*full[:2])[0] is not None
    found, (said,) = look(*full)
    assert found is None
    assert "it was said 3 times to the last digit" in said
    eye = [RunReading("cloud_okta", 3.0, "okta", "eye", one.at) for one in full]
    assert look(*eye)[0] is not None


def test_one_reading_far_from_the_forecast_waits_for_a_second():
    dark = [reading(0.15, AT), reading(0.16, AT + timedelta(minutes=4))]
    found, (said,) = look(dark[0], weather=cloudy(0.0))
    assert found is None
    assert "take a second one" in said
    found, said = look(*dark, weather=cloudy(0.0))
    assert found.of_expected < 0.3
    assert said == ()
    assert look(dark[0], weather=cloudy(6.0))[0] is not None
    climate = replace(cloudy(0.0), kind="typical year")
    found = look(dark[0], weather=climate)[0]  # a usual day is not a forecast
    assert "usual at this season" in found.sentence
    later = reading(0.16, AT + timedelta(minutes=40))
    assert look(dark[0], later, weather=cloudy(0.0))[0] is None


def test_night_dusk_and_what_is_too_old_say_nothing():
    night = RunReading("light_lx", 300.0, "lx", "meter", datetime(2026, 6, 21, 1, 0, tzinfo=UTC))
    assert look(night) == (None, ())
    assert look(reading(0.5), after=60.0 * 3.7)[0] is not None
    assert look(reading(0.5), after=60.0 * 3.8) == (None, ())
    ahead = light_read(STUDIO, [reading(0.5)], None, AT - timedelta(minutes=1))
    assert ahead == (None, ())
    warm = RunReading("room_c", 21.0, "°C", "probe", AT)
    assert look(warm) == (None, ())


def test_a_reading_under_a_lamp_says_nothing_of_the_sky():
    lamp = made.lamp_studio()
    one = RunReading("filter_w_m2", 12.0, "W/m2", "meter", AT)
    assert look(one, studio=lamp) == (None, ())
