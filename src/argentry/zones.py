"""Time zones and the wall clocks in them: which there are, what a change of the clocks skips."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from argentry.errors import BadInput

FIRST_YEAR, LAST_YEAR = 1950, 2150  # of times that are planned or that weather is known of


def zone_named(where: str, name: str) -> ZoneInfo:
    """Return the zone of that IANA name."""
    try:
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        right = "write one such as Europe/Madrid or UTC"
        raise BadInput(where, "{name!r} is not a known time zone", right, name=name) from None


def is_skipped(when: datetime, zone: ZoneInfo) -> bool:
    """Say whether a wall-clock time never comes in a zone, as its clocks are set forward then."""
    return when.replace(tzinfo=zone).astimezone(UTC).astimezone(zone).replace(tzinfo=None) != when


def is_twice(when: datetime, zone: ZoneInfo) -> bool:
    """Say whether a wall-clock time comes twice in a zone, as its clocks are set back then."""
    first, second = (when.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
    return first is not None and second is not None and first > second


def check_year(where: str, when: date) -> None:
    """Refuse a day or time in an absurd year."""
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        right = "use a year {first} to {last}"
        span = {"first": FIRST_YEAR, "last": LAST_YEAR}
        raise BadInput(where, "the year {year} is out of range", right, year=when.year, **span)
