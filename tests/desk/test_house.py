"""A studio that is open: which days it plans."""

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from argentry.desk.house import near_date
from argentry.errors import BadInput
from argentry.keeping.clock import steady_clock

LATE = datetime(2026, 6, 21, 23, 30, tzinfo=UTC)


def test_a_day_is_planned_up_to_731_days_off_and_today_is_the_studios():
    clock = steady_clock(None, wall=lambda: LATE, passed=lambda: 0.0)
    house = SimpleNamespace(clock=clock, zone=ZoneInfo("Europe/Madrid"))
    today = date(2026, 6, 22)  # half past one in the morning there
    assert (near_date(house, "today"), near_date(house, "tomorrow")) == (
        today,
        today + timedelta(days=1),
    )
    for days in (-731, 0, 731):
        day = today + timedelta(days=days)
        assert near_date(house, day.isoformat()) == day
    for wrong in ("2024-06-20", "2028-06-23", "yesterday", "2026-02-30"):
        with pytest.raises(BadInput, match=f"{wrong}.*within two years"):
            near_date(house, wrong)
