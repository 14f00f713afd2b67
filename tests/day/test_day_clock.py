"""The day's minutes on the clock on the wall."""

from datetime import UTC, date, datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from argentry.day.day_clock import clock_of
from argentry.errors import BadInput

MADRID = ZoneInfo("Europe/Madrid")


def clock(start, end, day=date(2026, 6, 21), now=None):
    site = SimpleNamespace(time_zone="Europe/Madrid")
    hours = SimpleNamespace(start=start, end=end)
    return clock_of(SimpleNamespace(site=site, hours=hours), day, now)


def test_a_day_that_has_begun_is_planned_from_now_on():
    now = datetime(2026, 6, 21, 11, 39, 20, tzinfo=UTC)  # 13:39:20 in Madrid
    got = clock("08:20", "17:00", now=now)
    assert got.begin == datetime(2026, 6, 21, 13, 40, tzinfo=MADRID)
    assert got.minutes == 200
    early = datetime(2026, 6, 21, 5, 0, tzinfo=UTC)
    assert clock("08:20", "17:00", now=early) == clock("08:20", "17:00")
    # another day than today's is planned whole, be it past or to come
    for other in (date(2026, 6, 20), date(2026, 6, 22)):
        assert clock("08:20", "17:00", other, now).minutes == 520


def test_a_day_whose_hours_are_over_is_refused_in_a_sentence():
    with pytest.raises(BadInput, match="the hours of 2026-06-21 are over at 17:00"):
        clock("08:20", "17:00", now=datetime(2026, 6, 21, 15, 0, tzinfo=UTC))


def test_the_grid_begins_and_ends_with_the_hands():
    got = clock("08:20", "17:00")
    assert got.minutes == 520
    assert got.begin == datetime(2026, 6, 21, 8, 20, tzinfo=MADRID)
    assert got.at(0) == got.begin
    assert got.at(520) == got.end
    assert got.at(10.4) == datetime(2026, 6, 21, 8, 30, tzinfo=MADRID)
    assert got.at(10.6) == datetime(2026, 6, 21, 8, 31, tzinfo=MADRID)
    assert got.minute(datetime(2026, 6, 21, 7, 20, tzinfo=UTC)) == 60.0


def test_each_minute_is_taken_at_its_middle():
    got = clock("08:20", "17:00")
    times = got.times_utc()
    assert times.shape == (520,)
    assert str(times[0]) == "2026-06-21T06:20:30"
    assert str(times[-1]) == "2026-06-21T14:59:30"
    whole = np.datetime64("2026-06-21T06:00:30", "s") + np.arange(300) * np.timedelta64(60, "s")
    assert got.first_in(whole) == 20


def test_a_day_may_end_at_midnight_and_lasts_what_it_lasts():
    got = clock("10:00", "24:00")
    assert got.minutes == 840
    assert got.end == datetime(2026, 6, 22, 0, 0, tzinfo=MADRID)
    # on the day on which summer time begins an hour is left out, in autumn one comes twice
    assert clock("00:00", "12:00", date(2026, 3, 29)).minutes == 11 * 60
    assert clock("00:00", "12:00", date(2026, 10, 25)).minutes == 13 * 60


def test_an_hour_that_the_clock_leaves_out_is_refused():
    with pytest.raises(BadInput, match=r"hours\.start"):
        clock("02:30", "12:00", date(2026, 3, 29))
    with pytest.raises(BadInput, match=r"hours\.end"):
        clock("01:00", "02:30", date(2026, 3, 29))


def test_an_absurd_year_is_said_of_the_day_that_was_asked_for():
    with pytest.raises(BadInput, match="DATE: the year 1850") as told:
        clock("08:20", "17:00", day=date(1850, 6, 21))
    assert "hours" not in str(told.value)
