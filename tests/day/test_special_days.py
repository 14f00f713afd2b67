"""Odd days: each is a sentence or a sound plan, looked at by the checker."""

from datetime import UTC, date, datetime, timedelta

import pytest
from tests.day.test_plan import shown_and_planned, studio

from argentry.day.plan import make_day
from argentry.errors import BadInput
from argentry.plan.check import faults
from argentry.plan.tasks import blocks_of
from argentry.records.studio import Hours, Site
from argentry.records.wishes import Sitter, Wishes
from argentry.studio.file import hours_mistakes

QUICK = {"effort": 0.3, "simulated_days": 20}
JUNE, DECEMBER = date(2026, 6, 21), date(2026, 12, 21)


def site(lat, lon, zone, elevation=200.0, **rest):
    return Site("Invented place", lat, lon, elevation, zone, **rest)


FELL = site(69.0, 25.0, "Europe/Helsinki")
MADRID = site(43.0, -2.0, "Europe/Madrid")


def sound(made, day, plates=2, now=None):
    """Plan a day; the checker finds nothing, and every step lies within the hours."""
    shown, wanted, planned = shown_and_planned(made, day, plates=plates, now=now, **QUICK)
    plan = (planned.starts, planned.ends, planned.frame_kind)
    assert faults(wanted, blocks_of(wanted.tasks), *plan) == ()
    assert shown.plates_placed == planned.placed
    assert (shown.end - shown.begin).total_seconds() / 60.0 >= 0
    for step in shown.steps:
        assert shown.begin <= step.start <= step.end <= shown.end + timedelta(minutes=1)
    return shown


def test_the_polar_day_has_light_at_any_hour():
    made = studio(site=FELL, hours=Hours("00:00", "12:00"))
    shown = sound(made, JUNE)
    assert shown.plates_placed == 2
    assert shown.sunrise is None  # the sun does not pass the horizon
    assert all(hour.sun_elevation_deg > 0 for hour in shown.hours)


def test_the_polar_night_is_a_sentence_with_a_day_to_come():
    shown = make_day(studio(site=FELL), DECEMBER, plates=2, look_ahead=True, **QUICK)
    assert shown.plates_placed == 0
    assert shown.warnings[0].startswith("This day holds no plate: no hour lets an exposure end")
    told = " ".join(shown.warnings)
    assert "Development may fail" not in told, "no plate is ripe at night: it has been said"
    assert "half-stop strips" not in told, "and none can be begun"
    assert shown.next_day is not None
    assert DECEMBER < shown.next_day < date(2027, 4, 1)


@pytest.mark.parametrize(
    ("day", "start", "hours"),
    [(date(2026, 3, 29), "01:30", 14.5), (date(2026, 10, 25), "00:30", 17.5)],
)
def test_the_hours_of_a_clock_change_last_what_they_last(day, start, hours):
    made = studio(hours=Hours(start, "17:00"))
    shown = sound(made, day)
    assert shown.plates_placed == 2
    length = shown.end.astimezone(UTC) - shown.begin.astimezone(UTC)
    assert length.total_seconds() / 3600.0 == hours
    for step in shown.steps:
        span = step.end.astimezone(UTC) - step.start.astimezone(UTC)
        assert span >= timedelta(0)


def test_hours_that_begin_in_the_skipped_hour_are_a_sentence():
    with pytest.raises(BadInput, match=r"hours\.start"):
        make_day(studio(hours=Hours("02:30", "17:00")), date(2026, 3, 29), **QUICK)


@pytest.mark.parametrize(
    ("longitude", "zone", "offset"),
    [(-176.0, "Pacific/Chatham", 13.75), (179.0, "Pacific/Auckland", 13.0),
     (-157.0, "Pacific/Kiritimati", 14.0), (-171.0, "Pacific/Pago_Pago", -11.0)],
)  # fmt: skip
def test_on_both_sides_of_the_date_line_noon_is_noon(longitude, zone, offset):
    made = studio(site=site(-20.0, longitude, zone))
    shown = sound(made, DECEMBER)
    assert shown.date == DECEMBER
    assert shown.begin.utcoffset() == timedelta(hours=offset)
    assert shown.plates_placed == 2
    highest = max(shown.hours, key=lambda hour: hour.sun_elevation_deg)
    solar_noon = 12.0 + offset - longitude / 15.0
    off = (highest.time.hour - solar_noon + 12.0) % 24.0 - 12.0
    assert abs(off) <= 1.0


def test_at_4000_m_the_light_is_stronger():
    low = sound(studio(site=site(-16.5, -68.0, "America/La_Paz", 0.0)), JUNE)
    high = sound(studio(site=site(-16.5, -68.0, "America/La_Paz", 4000.0)), JUNE)
    assert high.plates_placed >= low.plates_placed

    def noon(plan):
        return min(hour.exposure_minutes.middle for hour in plan.hours)

    assert noon(high) < noon(low)


def test_walls_at_noon_leave_the_morning_and_the_afternoon():
    # a tower to the south: no sun from about half past twelve to three by the clock
    walls = ((0.0, 0.0), (140.0, 0.0), (141.0, 85.0), (220.0, 85.0), (221.0, 0.0))
    shown = sound(studio(site=site(43.0, -2.0, "Europe/Madrid", horizon=walls)), JUNE)
    assert shown.steps
    free = sound(studio(), JUNE)

    def midday(plan):
        (row,) = [hour for hour in plan.hours if hour.time.hour == 14]
        return row.exposure_minutes.middle

    assert midday(shown) > 1.5 * midday(free)  # the sky alone
    for step in (s for s in shown.steps if s.step == "expose"):  # and nobody is taken by it
        assert step.minutes.middle < midday(shown)
    # in a well with walls all round nothing is seen of the sun at all
    well = site(43.0, -2.0, "Europe/Madrid", horizon=((0.0, 89.0), (180.0, 89.0)))
    dark = make_day(studio(site=well), DECEMBER, plates=1, **QUICK)
    assert dark.plates_placed == 0
    assert dark.warnings[0].startswith("This day holds no plate")


def test_hours_across_midnight_are_a_sentence():
    where = {"end": "--until", "breaks": "--break"}
    (mistake,) = hours_mistakes(Hours("20:00", "04:00"), where)
    assert str(mistake) == (
        "--until: 04:00 is not after start 20:00; let the day end later, at 24:00 at the most: "
        "what follows is of the next day."
    )


def test_a_day_that_ends_at_midnight_is_planned_to_its_end():
    shown = sound(studio(hours=Hours("10:00", "24:00")), JUNE, plates=3)
    assert shown.plates_placed == 3
    assert shown.end.date() == JUNE + timedelta(days=1)


@pytest.mark.parametrize(("hour", "placed"), [(11, True), (13, True), (18, False)])
def test_hours_already_gone_are_not_planned(hour, placed):
    now = datetime(2026, 6, 21, hour - 2, 0, tzinfo=UTC)
    shown = sound(studio(), JUNE, plates=1, now=now)
    assert bool(shown.plates_placed) == placed
    assert all(step.start >= now for step in shown.steps)


def test_a_day_that_is_over_is_a_sentence():
    with pytest.raises(BadInput, match="the hours of 2026-06-21 are over at 19:00; name another"):
        make_day(studio(), JUNE, now=datetime(2026, 6, 21, 20, 0, tzinfo=UTC), **QUICK)


def test_all_hands_on_a_break_is_a_day_without_plates():
    shown = sound(studio(hours=Hours("08:00", "19:00", (("08:00", "19:00"),))), JUNE)
    assert shown.plates_placed == 0
    assert shown.warnings[0].startswith("This day holds no plate")
    most = sound(studio(hours=Hours("08:00", "19:00", (("08:30", "18:30"),))), JUNE)
    assert most.plates_placed == 0


@pytest.mark.parametrize(
    ("day", "time", "told"),
    [
        (DECEMBER, "18:40", "no pose begun at 18:40 ends within 60 min; give a time from"),
        (JUNE, "07:00", "07:00 is before the hours begin"),
        (JUNE, "12:40", "12:40 lies in the break"),
    ],
)
def test_a_sitter_who_comes_when_nothing_can_be_done_hears_it(day, time, told):
    made = studio(hours=Hours("08:00", "19:00", (("12:30", "13:15"),)))
    with pytest.raises(BadInput, match=told):
        make_day(made, day, wishes=Wishes(sitters=(Sitter(time),)), **QUICK)


def test_a_sitter_of_the_polar_night_hears_that_no_hour_will_do():
    with pytest.raises(BadInput, match="no hour of this day has light enough: choose another day"):
        make_day(studio(site=FELL), DECEMBER, wishes=Wishes(sitters=(Sitter("12:00"),)), **QUICK)
