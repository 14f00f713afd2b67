from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from argentry.day.day_clock import clock_of
from argentry.day.plan import make_day
from argentry.errors import BadInput
from argentry.plan.day import plan_day
from argentry.records import studio as rec
from argentry.records.instruments import DevelopmentFrame, IodineBox, Lamp, Lens
from argentry.records.weather import Weather

# A plate of these plans needs this much: whether two plates fit is about the plan, not the seed.
DOSE = {"development_dose_kj_m2": 783.0, "development_dose_sigma_stops": 0.6}


def studio(**changes):
    changes["habits"] = replace(changes.pop("habits", rec.Habits()), **DOSE)
    values = {
        "name": "Trial room",
        "site": rec.Site("Invented yard", 43.0, -2.0, 200.0, "Europe/Madrid"),
        "lenses": (Lens("long lens", 4.0, 200.0),),
        "boxes": (IodineBox("glass box", 20.0, 80.0, 100.0),),
        "frames": (DevelopmentFrame("red frame", 590.0, blocking_density=6.0, count=3),),
        "room": rec.Room(20.0, 45.0),
        "water": rec.Water("distilled"),
        "hours": rec.Hours(breaks=(("13:00", "13:45"),)),
    }
    return rec.Studio(**(values | changes))


def forecast(day, cloud, zone="Europe/Madrid", kind="forecast"):
    start = datetime.combine(day, datetime.min.time(), tzinfo=ZoneInfo(zone))
    first = np.datetime64(start.astimezone(ZoneInfo("UTC")).replace(tzinfo=None), "s")
    n = 25
    nothing = np.full(n, np.nan)
    return Weather(
        start_utc=first + np.arange(n) * np.timedelta64(3600, "s"),
        step_s=3600.0,
        ghi_w_m2=nothing,
        dni_w_m2=nothing,
        dhi_w_m2=nothing,
        cloud_share=np.full(n, float(cloud)),
        sunshine_share=nothing,
        temperature_c=nothing,
        relative_humidity_pct=nothing,
        haze_aod=nothing,
        kind=kind,
        source="invented forecast",
    )


def plan(day=date(2026, 6, 21), *, made=None, **options):
    options = {"plates": 2, "effort": 2.0, "simulated_days": 40} | options
    return make_day(made or studio(), day, **options)


def shown_and_planned(made, day, **options):
    """Return a day as sheets show it, what was asked of the planner, and what it answered."""
    asked = []

    def planner(wanted, **how):
        asked.append((wanted, plan_day(wanted, **how)))
        return asked[-1][1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("argentry.day.plan.plan_day", planner)
        shown = make_day(made, day, **options)
    ((wanted, planned),) = asked
    return shown, wanted, planned


@pytest.fixture(scope="module")
def summer():
    return plan()


def test_a_summer_day_holds_two_plates_and_says_when(summer):
    assert summer.plates_placed == 2
    assert summer.plates_most >= 3
    assert summer.begin.strftime("%H:%M") == "08:00"
    assert summer.minutes_overlapped < summer.minutes_one_by_one
    assert summer.light_odds > 0.9


def test_every_step_of_every_plate_is_on_the_sheet_in_order_of_start(summer):
    keys = {(s.plate, s.step) for s in summer.steps}
    assert len(keys) == len(summer.steps)
    assert {p for p, _ in keys} == {0, 1, 2}
    starts = [s.start for s in summer.steps]
    assert starts == sorted(starts)
    per_plate = [sum(1 for p, _ in keys if p == plate) for plate in (1, 2)]
    assert per_plate[0] == per_plate[1]


def test_each_step_has_a_range_a_float_and_a_latest_start(summer):
    for step in summer.steps:
        assert step.minutes.low <= step.minutes.middle <= step.minutes.high
        assert step.start_low <= step.start_high
        assert step.float_minutes >= 0.0
        assert abs((step.latest_start - step.start) - timedelta(minutes=step.float_minutes)) < (
            timedelta(minutes=1.01)
        )


def test_hands_do_one_thing_at_a_time(summer):
    busy = sorted((s.start, s.end) for s in summer.steps if s.attended)
    for (_, end), (start, _) in pairwise(busy):
        assert start >= end - timedelta(minutes=1)  # shown to the minute


def test_hands_rest_in_the_break(summer):
    low, high = summer.breaks[0].start, summer.breaks[0].end
    for step in summer.steps:
        if step.attended:
            assert step.end <= low + timedelta(minutes=1) or step.start >= high


def test_development_never_runs_past_the_last_sight_of_the_sun():
    # a hill in the west takes the sun at mid-afternoon
    hill = ((0.0, 0.0), (200.0, 0.0), (205.0, 60.0), (330.0, 60.0), (335.0, 0.0))
    site = rec.Site("Invented valley", 43.0, -2.0, 200.0, "Europe/Madrid", horizon=hill)
    made = plan(made=studio(site=site))
    assert made.sunset is not None
    assert made.sunset.hour < 17
    for step in made.steps:
        if step.step == "develop":
            assert step.end <= made.sunset + timedelta(minutes=1)
    late = [h for h in made.hours if h.time >= made.sunset - timedelta(minutes=30)]
    assert late
    assert all(h.development_suffices < 0.05 for h in late)


def test_an_overcast_afternoon_says_that_development_may_fail():
    made = plan(weather=forecast(date(2026, 6, 21), 1.0))
    told = " ".join(made.warnings)
    assert "Development may fail" in told
    afternoon = [h for h in made.hours if h.time.hour >= 14]
    assert all(h.development_suffices < 0.6 for h in afternoon)
    assert made.weather.startswith("invented forecast")


def test_a_planned_start_lies_in_its_own_range_on_a_dull_day():
    """The plan goes by the middle light, and nearly every day of a dull forecast may be slower."""
    made = plan(plates=3, effort=0.5, weather=forecast(date(2026, 6, 21), 0.85))
    assert made.plates_placed == 3
    assert all(step.start_low <= step.start <= step.start_high for step in made.steps)
    spread = [step.start_high - step.start_low for step in made.steps if step.plate]
    assert max(spread) > timedelta(hours=2), "and the range is told, not the planned start alone"


def test_odds_fall_from_clear_to_broken_to_overcast():
    odds = [
        plan(weather=forecast(date(2026, 6, 21), cloud)).light_odds for cloud in (0.0, 0.6, 1.0)
    ]
    assert odds[0] > odds[1] > odds[2] or (odds[0] > 0.95 and odds[0] >= odds[1] > odds[2])


def test_a_later_start_of_development_never_has_better_odds(summer):
    odds = [h.development_suffices for h in summer.hours if h.sun_elevation_deg > 5]
    assert all(a >= b - 1e-9 for a, b in pairwise(odds))


def test_no_weather_file_is_said_loudly(summer):
    assert any("usual at this latitude and season" in w for w in summer.warnings)


def test_without_a_file_the_odds_are_the_seasons_and_the_times_those_of_a_clear_sky(summer):
    """Latitude 42 in June: three or four eighths of cloud on average (recalled zonal means)."""
    assert summer.all_finished_share < 0.99
    assert any(word in summer.weather for word in ("(3 eighths", "(4 eighths"))


def test_midwinter_in_the_far_north_holds_no_plate_and_says_why():
    site = rec.Site("Invented fell", 69.0, 25.0, 100.0, "Europe/Helsinki")
    made = plan(date(2026, 12, 21), made=studio(site=site))
    assert made.plates_placed == 0
    assert made.steps == ()
    assert made.warnings[0].startswith("This day holds no plate")
    assert made.sunrise is None


def test_a_lamp_develops_where_the_sun_cannot():
    low = rec.Site("Invented coast", 60.0, -3.0, 10.0, "Europe/London")
    lamp = DevelopmentFrame("lamp frame", 590.0, lamp=Lamp(500.0, 0.3), count=2)
    sun_only = plan(date(2026, 12, 21), made=studio(site=low))
    with_lamp = plan(date(2026, 12, 21), made=studio(site=low, frames=(*studio().frames, lamp)))
    assert with_lamp.plates_most > sun_only.plates_most
    assert any(s.resource == "lamp frame" for s in with_lamp.steps)


def test_a_cold_room_fumes_longer_and_a_damp_one_is_warned_of():
    cold = plan(made=studio(room=rec.Room(8.0, 45.0)))
    warm = plan(made=studio(room=rec.Room(24.0, 45.0)))

    def fuming(made):
        return next(s.minutes.middle for s in made.steps if s.step == "iodise")

    assert fuming(cold) > 1.5 * fuming(warm)
    damp = plan(made=studio(room=rec.Room(18.0, 93.0)))
    assert damp.warnings[0].startswith("Damp")  # it spoils every coat: before the weather's notes


def test_a_leaking_filter_is_named_with_the_density_it_needs(summer):
    thin = DevelopmentFrame("thin frame", 590.0, blocking_density=3.0, count=2)
    made = plan(made=studio(frames=(thin,)))
    assert any("thin frame leaks" in w for w in made.warnings)
    assert not any("leaks" in w for w in summer.warnings)


def test_the_makers_own_yield_moves_the_odds(summer):
    own = plan(made=studio(habits=rec.Habits(good_share=0.8, good_share_plates=60)))
    assert own.good_share_plates == 60
    assert own.good_share.middle > 0.7
    assert summer.good_share_plates == 0


def test_the_same_seed_gives_the_same_sheet():
    first, again = (plan(plates=3, effort=0.3) for _ in range(2))
    assert first.steps == again.steps
    assert first.hours == again.hours


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 3, 29), 10), (date(2026, 10, 25), 12), (date(2026, 6, 21), 11)]
)
def test_the_days_of_the_clock_change_are_an_hour_shorter_or_longer(day, hours):
    # hands from 00:30 to 11:30 span the change
    clock = clock_of(studio(hours=rec.Hours("00:30", "11:30")), day)
    assert clock.minutes == hours * 60
    assert clock.at(clock.minutes).strftime("%H:%M") == "11:30"
    assert clock.at(0).strftime("%H:%M") == "00:30"


def test_a_start_in_the_skipped_hour_is_refused():
    with pytest.raises(BadInput, match=r"hours.start"):
        clock_of(studio(hours=rec.Hours("02:30", "11:30")), date(2026, 3, 29))


@pytest.mark.parametrize("plates", [0, 13, -1])
def test_an_impossible_number_of_plates_is_refused(plates):
    with pytest.raises(BadInput, match="1 to 12"):
        plan(plates=plates)


def test_a_forecast_of_another_day_is_refused():
    with pytest.raises(BadInput):
        plan(weather=forecast(date(2026, 6, 19), 0.2))


def test_at_1340_the_morning_is_not_planned():
    """What is gone is left out: no step before now, no hour, no break that is over."""
    now = datetime(2026, 6, 21, 11, 40, tzinfo=UTC)
    made = make_day(studio(), date(2026, 6, 21), now=now, effort=0.3, simulated_days=40)
    assert made.begin.astimezone(UTC) == now
    assert all(step.start >= now for step in made.steps)
    assert all(hour.time >= now for hour in made.hours)
    assert all(pause.start >= now for pause in made.breaks)
    whole = make_day(studio(), date(2026, 6, 21), effort=0.3, simulated_days=40)
    assert made.plates_placed < whole.plates_placed or made.plates_placed == 1


@pytest.mark.parametrize(
    ("zone", "longitude", "told"),
    [
        ("America/New_York", 74.0, "The sign of the longitude seems to be the wrong way round"),
        ("Asia/Tokyo", -2.0, "The time zone does not fit the longitude"),
        ("America/New_York", -74.0, ""),
    ],
)
def test_a_zone_that_does_not_fit_the_place_is_the_first_warning(zone, longitude, told):
    site = rec.Site("Invented yard", 43.0, longitude, 200.0, zone)
    plan = make_day(studio(site=site), date(2026, 6, 21), plates=1, effort=0.2, simulated_days=20)
    assert any("longitude" in warning for warning in plan.warnings) is bool(told)
    assert plan.warnings[0].startswith(told)


@pytest.mark.parametrize("known", [True, False])
def test_nobody_with_a_forecast_is_told_to_look_at_one(known):
    weather = forecast(date(2026, 11, 20), 0.6) if known else None
    made = plan(date(2026, 11, 20), plates=2, weather=weather)
    (told,) = [line for line in made.warnings if "the light is too weak" in line]
    assert ("look at a forecast" in told) is not known
    assert "--lamp" in told
