"""What a day is planned by, before anything is planned."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from tests.day.test_plan import studio

from argentry.day.setting import setting_of
from argentry.needs import step_lengths
from argentry.needs.camera import Camera
from argentry.needs.develop import develop
from argentry.needs.expose import expose
from argentry.needs.frame import Frame
from argentry.records.needs import StudioNow
from argentry.sky.place import resolve_place

DAY = date(2026, 6, 21)


@pytest.fixture(scope="module")
def setting():
    return setting_of(studio(), DAY, haze=None, learned=None, as_written=False, now=None, seed=1)


def test_the_grid_is_the_hours_and_the_sky_is_the_whole_day_of_the_sun(setting):
    assert setting.lit.day.minutes == setting.clock.minutes
    first, last = setting.sky.times_utc[[0, -1]]
    assert last - first >= np.timedelta64(24 * 60 - 2, "m")
    assert first <= setting.clock.times_utc()[0]


def test_the_planner_is_asked_for_what_is_there(setting):
    day = setting.wanted(3)
    assert (day.plates, day.workers) == (3, 1)
    assert day.first_minute == sum(r.typical_minutes for r in step_lengths.day_rules())
    assert day.last_minute == setting.clock.minutes
    noon = (datetime(2026, 6, 21, 11, 0, tzinfo=UTC) - setting.clock.begin) / timedelta(minutes=1)
    assert day.breaks == ((noon, noon + 45.0),)
    assert [t.key for t in day.tasks] == [r.key for r in step_lengths.plate_rules()]


def test_behind_the_skyline_the_sky_counts_until_the_last_sight_as_in_expose_and_develop():
    """A wall in the east until 10:00 and more: the same minutes by the day and by `expose`."""
    wall = ((60.0, 0.0), (61.0, 60.0), (110.0, 60.0), (111.0, 0.0))
    made = studio()
    made = replace(made, site=replace(made.site, horizon=wall))
    made = replace(made, subject=replace(made.subject, plane="sun"))
    day = setting_of(made, DAY, haze=None, learned=None, as_written=False, now=None, seed=1)
    at = 90  # minutes after the hours begin
    moment = day.clock.begin.astimezone(UTC) + timedelta(minutes=at)
    place, now = resolve_place(made), StudioNow(made)
    alone = expose(place, moment, Camera(plane="sun"), now)
    assert any("only the sky gives light" in line for line in alone.warnings)
    assert any(
        "only the sky gives light" in line for line in develop(place, moment, Frame(), now).warnings
    )
    told = day.lit.needs.camera_minutes(at).minutes.middle
    assert told == pytest.approx(alone.minutes, rel=0.01)
    noon = day.clock.begin.astimezone(UTC) + timedelta(minutes=6 * 60)
    assert not any(
        "skyline" in line for line in expose(place, noon, Camera(plane="sun"), now).warnings
    )
