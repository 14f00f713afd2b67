"""What a day is planned by, before anything is planned."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from tests.day.test_plan import studio

from argentry.day.setting import setting_of
from argentry.needs import step_lengths

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
