"""A season against the plan of its days, the sun, and itself however it is cut."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from argentry.day import tables
from argentry.day.day_clock import clock_of
from argentry.day.planner_light import lit_day
from argentry.day.season.pace import Lights
from argentry.day.season.years import (
    SeasonAsked,
    _openings,
    hours_of,
    joined,
    pace_here,
    season_years,
    span_of,
)
from argentry.day.setting import setting_of
from argentry.physics.picture.dose import LightSums, cumulative_j_m2
from argentry.physics.picture.reciprocity import Reciprocity
from argentry.plan import choose
from argentry.plan.problem import shop_of
from argentry.plan.tasks import blocks_of
from argentry.records import studio as rec
from argentry.records.instruments import DevelopmentFrame, IodineBox, Lamp, Lens
from argentry.records.weather import Weather
from argentry.sky.weather.days import SkyDays
from argentry.sky.weather.years import NODE_MINUTES, YearSkies, climate_of

YEAR = span_of(date(2026, 1, 1), date(2026, 12, 31))


def studio(latitude=43.0, zone="Europe/Madrid", **changes):
    values = {
        "name": "Trial room",
        "site": rec.Site("Invented yard", latitude, -2.0, 200.0, zone),
        "lenses": (Lens("long lens", 4.0, 200.0),),
        "boxes": (IodineBox("glass box", 20.0, 80.0, 100.0),),
        "frames": (DevelopmentFrame("red frame", 590.0, blocking_density=6.0, count=3),),
        "room": rec.Room(20.0, 45.0),
        "water": rec.Water("distilled"),
        "hours": rec.Hours(breaks=(("13:00", "13:45"),)),
        "habits": rec.Habits(development_dose_kj_m2=480.0),
    }
    return rec.Studio(**(values | changes))


def asked(made=None, dates=YEAR, years=1, seed=1):
    return SeasonAsked(made or studio(), climate_of(None, dates, years), dates, seed)


@pytest.fixture(scope="module")
def year():
    one = asked()
    return one, season_years(one, one.climate.years)


@pytest.fixture(scope="module")
def same_days(year):
    """Days of the season as the planner of one day has them, under the very same sky."""
    one, _ = year
    clocks = [clock_of(one.studio, day) for day in one.dates]
    begins = np.array([clock.times_utc()[0] for clock in clocks]) - np.timedelta64(30, "s")
    knots = np.arange(12) * NODE_MINUTES
    nodes = begins[:, None] + (60.0 * knots).astype("timedelta64[s]")
    made = setting_of(
        one.studio, date(2026, 6, 21), haze=None, learned=None, as_written=False,
        now=None, seed=1,
    )  # fmt: skip
    shares = YearSkies(one.climate, made.sky.place, one.dates, nodes).of_year(1, one.seed)

    def of_day(at):
        day = one.dates[at]
        setting = setting_of(
            one.studio, day, haze=None, learned=None, as_written=False, now=None,
            seed=1,
        )  # fmt: skip
        length = setting.clock.minutes
        beam, level = (np.interp(np.arange(length) + 0.5, knots, part[at]) for part in shares)
        first = setting.clock.first_in(setting.sky.times_utc)
        skies = SkyDays(beam[None], level[None], beam, level, "", ())
        sky = setting.sky.part(first, first + length)
        return replace(setting, lit=lit_day(setting.studio, sky, skies, length, varied=False))

    return {at: of_day(at) for at in (20, 110, 207, 300, 334)}


def test_odds_of_an_hour_are_those_of_the_plan_of_that_day(year, same_days):
    """The same law by both doors: light enough for an exposure begun at each full hour."""
    _, found = year
    for at, setting in same_days.items():
        light = setting.lit.day
        ends = tables.end_tables(setting.lit, 1).exposures[0]
        minutes = [int(minute) for minute in found.hours]
        assert minutes == list(range(0, 660, 60))
        assert found.exposure[0, at].tolist() == np.isfinite(ends[minutes]).tolist()
        shortest = np.nanmin(ends[minutes] - minutes)
        assert found.pose_minutes[0, at] == pytest.approx(shortest, rel=0.02)
        assert light.exposure_days.shape[-1] == 661


def test_plates_of_a_day_are_within_one_of_the_planners_rules(year, same_days):
    _, found = year
    apart = []
    for at, setting in same_days.items():
        wanted = setting.wanted(12)
        shop = shop_of(wanted, blocks_of(wanted.tasks), 12)
        apart.append(int(found.plates[0, at]) - choose.most_by_rule(shop, 1, 0))
    assert max(map(abs, apart)) <= 1, apart


def test_a_finished_plate_is_ripe_and_taken_out_within_the_hours(year, same_days):
    one, found = year
    pace = pace_here(one.studio, 660.0)
    for at, setting in same_days.items():
        frame = setting.lit.day.frames[0]
        luck = np.random.default_rng([one.seed, 1, 1]).standard_normal(len(one.dates))[at]
        dose = frame.dose * np.exp(frame.dose_log_sd * luck)
        ends = tables.end_tables(setting.lit, 1).exposures[0]
        sums = frame.days[0]
        got = []
        for minute in found.hours:
            laid = ends[int(minute)] + pace.between
            ok = np.isfinite(laid) and minute >= pace.first + pace.before and laid < 660.0
            by = np.interp([laid, 660.0 - pace.out], np.arange(661), sums) if ok else (0.0, -1.0)
            got.append(bool(by[1] - by[0] >= dose))
        assert sum(a != b for a, b in zip(got, found.finished[0, at].tolist(), strict=True)) <= 1


def test_years_come_out_the_same_however_they_are_cut():
    dates = span_of(date(2026, 5, 1), date(2026, 5, 20))
    one = asked(dates=dates, years=4)
    whole = season_years(one, (1, 2, 3, 4))
    parts = joined([season_years(one, (1,)), season_years(one, (2, 3)), season_years(one, (4,))])
    for name in ("plates", "exposure", "finished", "pose_minutes", "level_kwh_m2"):
        assert np.array_equal(getattr(whole, name), getattr(parts, name), equal_nan=True), name
    assert parts.years == whole.years
    other = season_years(asked(dates=dates, years=4, seed=2), (1, 2, 3, 4))
    assert not np.array_equal(whole.level_kwh_m2, other.level_kwh_m2)


def test_the_far_north_has_no_plate_in_its_night_and_the_south_is_turned_round():
    month = np.array([day.month for day in YEAR])
    far = asked(studio(69.65, "Europe/Oslo"))
    night = season_years(far, (1,))
    assert not night.sun_up[month == 12].any()
    assert not night.plates[0, month == 12].any()
    assert not night.exposure[0, month == 12].any()
    assert night.plates[0, month == 6].mean() > 1.5
    south = season_years(asked(studio(-43.0, "Etc/GMT")), (1,))
    june, december = (south.plates[0, month == at].mean() for at in (6, 12))
    assert december > june + 0.5
    north = season_years(asked(studio(43.0, "Etc/GMT")), (1,))
    assert north.plates[0, month == 6].mean() > north.plates[0, month == 12].mean() + 0.5


def test_plates_sealed_later_and_a_lamp_are_more():
    dates = span_of(date(2026, 12, 1), date(2026, 12, 21))
    plain = season_years(asked(dates=dates, years=3), (1, 2, 3)).plates.mean()
    habits = rec.Habits(development_dose_kj_m2=480.0, seal_later=True)
    later = season_years(asked(studio(habits=habits), dates, 3), (1, 2, 3)).plates.mean()
    lamp = DevelopmentFrame("lamp", 590.0, lamp=Lamp(500.0, 0.3), count=3)
    lit = season_years(asked(studio(frames=(*studio().frames, lamp)), dates, 3), (1, 2, 3))
    assert later > plain + 0.5
    assert lit.plates.mean() > plain


def test_full_hours_are_those_of_the_clock():
    made = studio(hours=rec.Hours("08:30", "12:15"))
    assert hours_of(made, 225) == (30.0, 90.0, 150.0, 210.0)
    assert pace_here(made, 225.0).last == 225.0


def test_the_clocks_change_within_a_season():
    """A night's work: hours over 02:00 to 05:00 are three, two or four hours long."""
    made = studio(hours=rec.Hours("00:00", "24:00"))
    dates = span_of(date(2026, 3, 28), date(2026, 3, 30))
    found = season_years(asked(made, dates), (1,))
    assert found.plates.shape == (1, 3)
    assert len(found.hours) == 24
    assert found.level_kwh_m2[0].min() > 0.5


def test_a_short_day_counts_no_light_of_after_its_hours():
    """At 14:00 summer time the hours are over, on the day of the change as on the next."""
    made = studio(hours=rec.Hours("00:00", "14:00"))
    dates = span_of(date(2026, 3, 28), date(2026, 3, 30))
    light = season_years(SeasonAsked(made, measured(dates), dates, 1), (2025,)).level_kwh_m2[0]
    assert light[1] == pytest.approx(light[2], rel=0.03)
    assert light[0] > 1.1 * light[1], "an hour more of the sun before the change"


def measured(dates, years=(2024, 2025)):
    """The same bright hours in each year, sun and all: only plates differ."""
    start = np.arange(
        np.datetime64(f"{years[0]}-01-01"), np.datetime64(f"{years[-1] + 1}-01-01"),
        np.timedelta64(3600, "s"),
    ).astype("datetime64[s]")  # fmt: skip
    none = np.full(start.shape, np.nan)
    hour = (start - start.astype("datetime64[D]")).astype(np.int64) / 3600.0
    sun = 500.0 * np.clip(np.sin(np.pi * (hour - 5.0) / 14.0), 0.0, 1.0)
    weather = Weather(
        start, 3600.0, sun, sun, none, none, none, none, none, none, kind="measured", source="years"
    )
    return climate_of(weather, dates, 20)


def test_plates_of_years_alike_differ_by_their_own_doses():
    dates = span_of(date(2026, 3, 1), date(2026, 4, 9))
    one = SeasonAsked(studio(), measured(dates), dates, 1)
    found = season_years(one, one.climate.years)
    assert np.array_equal(found.exposure[0], found.exposure[1])
    assert not np.array_equal(found.finished[0], found.finished[1])


def test_light_after_the_suns_last_sight_is_not_counted_on():
    """Over a wall in the west the sky still shines; a frame is not left out for it."""
    dates = span_of(date(2026, 6, 10), date(2026, 6, 14))
    wall = ((0.0, 0.0), (185.0, 0.0), (190.0, 85.0), (355.0, 85.0))
    habits = rec.Habits(development_dose_kj_m2=20.0)
    made = studio(habits=habits)
    made = replace(made, site=replace(made.site, horizon=wall))
    found = season_years(SeasonAsked(made, measured(dates), dates, 1), (2025,))
    late = np.array(found.hours) >= 480.0  # from 16:00 summer time, two hours after the sun's noon
    assert found.exposure[:, :, late].any()
    assert not found.finished[:, :, late].any()
    assert found.finished[:, :, ~late].any()


def test_no_long_pose_is_begun_where_a_short_one_will_come():
    """Poses of 50 min in a grey morning, of 5 from minute 180 on: plates wait for those."""
    shining = np.where(np.arange(60) * 10.0 < 180.0, 0.1, 1.0)[None]
    sums = LightSums.of(cumulative_j_m2(shining, 600.0))
    law, longest = Reciprocity(1.0, 180.0), np.array([60.0])
    lights = Lights(sums, 300.0, law, longest, (), 10.0)
    assert 160.0 <= _openings(lights, np.array([5.0]))[0, 0] <= 180.0
    assert _openings(lights, np.array([50.0]))[0, 0] == 0.0
    assert np.isinf(_openings(lights, np.array([5.0]))[0, -1])


def test_no_plate_is_finished_that_could_not_be_coated_before(year):
    """The room is made ready and a plate coated before the first pose: never at 08:00."""
    _, found = year
    assert found.exposure[:, :, 0].any()
    assert not found.finished[:, :, 0].any()
