"""A day that holds no plate tells the next one that does."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from tests.day.test_plan import studio

from argentry.day.plan import make_day
from argentry.records import studio as rec

NORTH = rec.Site("Invented fell", 69.0, 25.0, 100.0, "Europe/Helsinki")
QUICK = {"effort": 0.3, "simulated_days": 20}


def planned(made, day, **options):
    return make_day(made, day, **(QUICK | {"look_ahead": True} | options))


def test_the_polar_night_ends_on_the_day_that_is_told():
    made = studio(site=NORTH)
    night = planned(made, date(2026, 12, 21))
    assert night.plates_placed == 0
    told = night.next_day
    assert night.warnings[1] == (
        f"The next day that holds a plate, under a clear sky, is {told:%A} {told.day} {told:%B %Y}."
    )
    assert date(2027, 1, 20) < told < date(2027, 3, 20)
    assert planned(made, told, plates=1).plates_placed == 1
    # and none of the days between does: looked at once a week, and on the day before
    for days in (1, *range(4, (told - date(2026, 12, 21)).days, 7)):
        before = planned(made, told - timedelta(days=days), plates=1, look_ahead=False)
        assert before.plates_placed == 0


def test_hours_of_the_night_never_hold_one():
    dark = planned(studio(hours=rec.Hours("20:00", "23:30")), date(2026, 12, 21))
    assert dark.next_day is None
    assert dark.warnings[1].startswith("No day of the coming year holds a plate")


def test_tomorrow_when_today_is_nearly_over():
    from datetime import UTC, datetime

    made = planned(studio(), date(2026, 6, 21), now=datetime(2026, 6, 21, 15, 0, tzinfo=UTC))
    assert made.next_day == date(2026, 6, 22)
    assert "Monday 22 June 2026" in made.warnings[1]


@pytest.mark.parametrize("options", [{"look_ahead": False}, {"plates": 1}])
def test_nobody_looks_ahead_without_need(options):
    day = date(2026, 12, 21) if "look_ahead" in options else date(2026, 6, 21)
    made = studio(site=NORTH) if "look_ahead" in options else studio()
    plan = planned(made, day, **options)
    assert plan.next_day is None
    assert not any("next day" in note for note in plan.warnings)


def test_the_calendar_ends_without_a_fault():
    made = planned(studio(hours=rec.Hours("20:00", "23:30")), date(2150, 12, 25))
    assert made.next_day is None
    assert replace(made, next_day=None) == made
