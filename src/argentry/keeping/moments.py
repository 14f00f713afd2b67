"""A time that somebody wrote down: in the studio's zone, and not to come."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from argentry.errors import BadInput
from argentry.exchange.plates.moments import FIRST_YEAR
from argentry.keeping.studio import load_studio
from argentry.records.studio import Studio
from argentry.studio.file import FILE
from argentry.zones import check_year

TOO_OLD, LATER = "{day} is before the process was public", "give a day of {year} or later"


def zone_of(folder: Path | None) -> ZoneInfo:
    """Return the studio's time zone; UTC without a studio."""
    return zone_in(None if folder is None else load_studio(folder))


def zone_in(studio: Studio | None) -> ZoneInfo:
    """Return the time zone of a studio that is read already; UTC without one."""
    return ZoneInfo("UTC" if studio is None else studio.site.time_zone)


def zone_of_book(folder: Path | None) -> ZoneInfo:
    """Return the time zone of a book's studio; UTC where none lies beside the book."""
    beside = folder is not None and (folder / FILE).is_file()
    return zone_of(folder if beside else None)


def zone_or_own(folder: Path | None) -> ZoneInfo | None:
    """Return the studio's time zone; without a studio None, which is the machine's own."""
    return None if folder is None else zone_of(folder)


def today_of(folder: Path | None, now: datetime | None = None) -> date:
    """Return the day that it is in the studio; `now`: the present, None for the machine's."""
    return (now or datetime.now(UTC)).astimezone(zone_of(folder)).date()


def past_moment(where: str, folder: Path | None, at: datetime, now: datetime) -> datetime:
    """Return a time that was given as UTC.

    Parameters
    ----------
    where : str
        The option it was given by.
    folder : Path or None
        Studio folder, whose zone counts for a time without an offset.
    at : datetime
        The time.
    now : datetime
        The present, UTC.

    Raises
    ------
    BadInput
        If it is in the future, or before the process was public.
    """
    given = at if at.tzinfo is not None else at.replace(tzinfo=zone_of(folder))
    try:
        moment = given.astimezone(UTC)
    except OverflowError:  # the first or the last day that there is
        raise BadInput(
            where, "{at} is not a usable time", "give one near now", at=at.isoformat()
        ) from None
    if moment > now:
        raise BadInput(where, "{at} is in the future", "give a time in the past", at=at.isoformat())
    _of_the_process(where, given.date())
    return moment


def _of_the_process(where: str, day: date) -> None:
    if day.year < FIRST_YEAR:
        raise BadInput(where, TOO_OLD, LATER, day=day.isoformat(), year=FIRST_YEAR)


def days_asked(
    first: date | None, last: date | None, today: date, begins: Callable[[date], date]
) -> tuple[date, date]:
    """Return the first and the last of the days that were asked for.

    Parameters
    ----------
    first, last : date or None
        As asked.
    today : date
        The last day where none was asked.
    begins : callable
        Given the last day, the first where none was asked.

    Raises
    ------
    BadInput
        If the first comes after the last, or a year is absurd.
    """
    last = last or today
    check_year("--until", last)
    first = first or begins(last)
    check_year("--from", first)
    if first > last:
        raise BadInput("--from", "it is after the last day", "give an earlier day")
    return first, last


def past_day(where: str, folder: Path | None, day: date | None) -> date:
    """Return a day; None: today in the studio.

    Raises
    ------
    BadInput
        If it is in the future, or before the process was public.
    """
    today = today_of(folder)
    if day is None:
        return today
    if day > today:
        raise BadInput(
            where, "{day} is in the future", "give a day in the past", day=day.isoformat()
        )
    _of_the_process(where, day)
    return day
