"""When a reading by hand was taken: by the clock of the studio, neither ahead nor long past."""

from datetime import UTC, datetime, timedelta, tzinfo

import pytest

from argentry.desk.readings import by_hand
from argentry.errors import BadInput

NOW = datetime(2026, 6, 21, 12, 0, tzinfo=UTC)


class At(datetime):
    """A clock that stands at noon."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:
        """Return noon."""
        return NOW.astimezone(tz)


@pytest.fixture
def age(monkeypatch):
    monkeypatch.setattr(by_hand, "datetime", At)
    return lambda at: by_hand._age_s(at, "Europe/Madrid")


def test_a_time_without_an_offset_is_of_the_studio(age):
    assert age(None) is None
    assert age(datetime(2026, 6, 21, 13, 59, 30)) == 30.0  # noqa: DTZ001 - the point of it
    assert age(datetime(2026, 6, 21, 11, 0, tzinfo=UTC)) == 3600.0


def test_a_reading_is_neither_ahead_nor_older_than_thirty_days(age):
    assert age(NOW) == 0.0
    assert age(NOW - timedelta(days=30)) == 30 * 86400.0
    with pytest.raises(BadInput, match="is in the future"):
        age(NOW + timedelta(milliseconds=1))
    with pytest.raises(BadInput, match="more than 30 days ago"):
        age(NOW - timedelta(days=30, milliseconds=1))
