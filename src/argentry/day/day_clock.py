"""The day's minute grid, and what it is on the clock on the wall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from argentry.arrays import Times
from argentry.errors import BadInput
from argentry.records.studio import Studio
from argentry.sky.place import to_utc
from argentry.zones import check_year


@dataclass(frozen=True)
class Clock:
    """The day's minute grid and what it is on the wall clock.

    Attributes
    ----------
    begin, end : datetime
        When hands are there, local.
    zone : ZoneInfo
        The studio's zone.
    minutes : int
        Length of the grid. [min]
    """

    begin: datetime
    end: datetime
    zone: ZoneInfo
    minutes: int

    def at(self, minute: float) -> datetime:
        """Return the wall-clock time of a minute of the grid, to the nearest minute."""
        utc = self.begin.astimezone(UTC) + timedelta(minutes=round(minute))
        return utc.astimezone(self.zone)

    def minute(self, moment: datetime) -> float:
        """Return the minute of the grid of a moment [min]."""
        return (moment.astimezone(UTC) - self.begin.astimezone(UTC)).total_seconds() / 60.0

    def first_in(self, times_utc: Times) -> int:
        """Return where the clock's first minute stands among the middles of minutes."""
        return int(np.searchsorted(times_utc, self.times_utc()[0]))

    def times_utc(self) -> Times:
        """Return the middle of every minute, UTC, shape (minutes,)."""
        start = np.datetime64(self.begin.astimezone(UTC).replace(tzinfo=None), "s")
        return start + np.arange(self.minutes) * np.timedelta64(60, "s") + np.timedelta64(30, "s")


OVER = "the hours of {day} are over at {end}"


def wall_time(where: str, day: date, text: str, zone: ZoneInfo) -> datetime:
    """Return the moment of a time of day (HH:MM, 24:00 for its end) at a place.

    Raises
    ------
    BadInput
        If the clock leaves that time out.
    """
    hour, minute = (int(part) for part in text.split(":"))
    if hour == 24:  # the end of the day, as the clock of a bench writes it
        day, hour = day + timedelta(days=1), 0
    utc = to_utc(where, datetime.combine(day, time(hour, minute)), str(zone))
    return utc.astimezone(zone)


def clock_of(studio: Studio, day: date, now: datetime | None = None) -> Clock:
    """Return the clock of a day at a studio, from now on when its hours have begun.

    Raises
    ------
    BadInput
        If the year is absurd, or the hours are over or fall into the hour that a daylight-saving
        change skips.
    """
    check_year("DATE", datetime.combine(day, time()))
    zone = ZoneInfo(studio.site.time_zone)
    begin = wall_time("studio.toml hours.start", day, studio.hours.start, zone)
    end = wall_time("studio.toml hours.end", day, studio.hours.end, zone)
    if now is not None and now.astimezone(zone).date() == day and now > begin:
        if now >= end:
            raise BadInput("DATE", OVER, "name another day", day=day, end=studio.hours.end)
        begin = (now + timedelta(seconds=59)).astimezone(zone).replace(second=0, microsecond=0)
    minutes = round((end.astimezone(UTC) - begin.astimezone(UTC)).total_seconds() / 60.0)
    return Clock(begin, end, zone, minutes)
