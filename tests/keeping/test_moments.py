"""A time or a day that somebody wrote down: in the studio's zone, and not to come."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from argentry.errors import BadInput
from argentry.keeping import moments
from argentry.keeping.studio import new_studio

NOW = datetime(2026, 6, 21, 23, 30, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    class Clock(datetime):
        @classmethod
        def now(cls, tz=None):
            return NOW.astimezone(tz)

    monkeypatch.setattr(moments, "datetime", Clock)
    place = {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"}
    new_studio(tmp_path / "studio", place)
    return tmp_path / "studio"


def test_the_zone_is_the_studios_or_plain(folder):
    assert moments.zone_of(folder) == moments.zone_or_own(folder) == ZoneInfo("Europe/Madrid")
    assert moments.zone_of(None) == ZoneInfo("UTC")
    assert moments.zone_or_own(None) is None


def test_a_time_without_an_offset_is_the_studios(folder):
    given = datetime.fromisoformat("2026-06-21T12:00")
    assert moments.past_moment("--at", folder, given, NOW) == datetime(2026, 6, 21, 10, tzinfo=UTC)
    assert moments.past_moment("--at", None, given, NOW) == given.replace(tzinfo=UTC)
    offset = datetime.fromisoformat("2026-06-21T12:00:00-03:00")
    assert moments.past_moment("--at", folder, offset, NOW) == datetime(2026, 6, 21, 15, tzinfo=UTC)


def test_what_is_still_to_come_is_refused(folder):
    assert moments.past_moment("--at", folder, NOW, NOW) == NOW
    for to_come in (NOW + timedelta(seconds=1), datetime.fromisoformat("9999-12-31T23:00")):
        with pytest.raises(BadInput, match="--at"):
            moments.past_moment("--at", folder, to_come, NOW)
    first = datetime.fromisoformat("0001-01-01T00:00+05:00")
    with pytest.raises(BadInput, match="give one near now"):
        moments.past_moment("--at", folder, first, NOW)


def test_today_is_the_studios_day(folder):
    assert moments.past_day("--day", folder, None) == date(2026, 6, 22)  # 01:30 in Madrid
    assert moments.past_day("--day", None, None) == date(2026, 6, 21)
    assert moments.past_day("--day", folder, date(2026, 6, 22)) == date(2026, 6, 22)
    assert moments.past_day("--day", folder, date(2025, 1, 1)) == date(2025, 1, 1)
    with pytest.raises(BadInput, match="in the future"):
        moments.past_day("--day", None, date(2026, 6, 22))


def test_nothing_was_done_before_the_process_was_public(folder):
    """The process was made public in August 1839."""
    assert moments.past_day("--day", folder, date(1839, 8, 19)) == date(1839, 8, 19)
    old = datetime.fromisoformat("1838-06-21T12:00")
    with pytest.raises(BadInput, match=r"--at: 1838-06-21 is before .* 1839 or later"):
        moments.past_moment("--at", folder, old, NOW)
    with pytest.raises(BadInput, match="--day: 1838-12-31 is before"):
        moments.past_day("--day", folder, date(1838, 12, 31))
