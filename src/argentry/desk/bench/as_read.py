"""Readings of today's light from the book, joined to what the day was expected to be."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from argentry.book.times import day_begins
from argentry.errors import ArgentryError
from argentry.keeping.forecast.planned_by import outlook_for

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.records.run import RunReading
    from argentry.records.studio import Studio
    from argentry.records.weather import Outlook


def with_readings(
    outlook: Outlook, studio: Studio, readings: Sequence[RunReading], now: datetime
) -> Outlook:
    """Return an outlook with what the light was last read to be, and what is not believed of it.

    Parameters
    ----------
    outlook : Outlook
        As it was before.
    studio : Studio
        Place, subject, frames.
    readings : sequence of RunReading
        Of the day, in order of time.
    now : datetime
        UTC.
    """
    from argentry.sky.light_read import light_read

    read, doubted = light_read(studio, readings, outlook.weather, now)
    return replace(outlook, read=read, said=(*outlook.said, *doubted))


def outlook_now(book: Book, outlook: Outlook, studio: Studio, day: date, now: datetime) -> Outlook:
    """Return the outlook of a day with the book's readings of light, where the day is today."""
    zone = ZoneInfo(studio.site.time_zone)
    since = _record_due(book.folder, studio, now) if book.folder else None
    if book.folder and since is not None:
        from argentry.keeping.forecast.record import work_out

        work_out(book.folder, studio, light_since(book, since, now), now)
    if day != now.astimezone(zone).date():
        return outlook
    return with_readings(outlook, studio, light_today(book, zone, now), now)


def _record_due(folder: Path, studio: Studio, now: datetime) -> datetime | None:
    """Return from when on readings tell how good the services are; None where it is known."""
    if not studio.weather.agreed:
        return None
    from argentry.keeping.forecast.record import due_since  # heavy: the services

    return due_since(folder, now)


def outlook_read(
    folder: Path,
    studio: Studio,
    day: date,
    weather: str | None = None,
    mapping: str | None = None,
    *,
    address: str | None = None,
    now: datetime | None = None,
) -> Outlook:
    """Return what a day is planned by: `outlook_for`, with the readings of a book that is closed.

    Parameters
    ----------
    folder, studio, day, weather, mapping
        As of `argentry.keeping.forecast.planned_by.outlook_for`.
    address : str or None
        Of a PostgreSQL book.
    now : datetime or None
        The moment; None: now.

    Raises
    ------
    BadInput
        As `outlook_for`; a book that cannot be read only leaves its readings out.
    """
    from argentry.keeping.studio import has_book

    moment = now or datetime.now(UTC)
    outlook = outlook_for(folder, studio, day, weather, mapping, moment)
    today = moment.astimezone(ZoneInfo(studio.site.time_zone)).date()
    looked = day == today or _record_due(folder, studio, moment) is not None
    if not looked or not has_book(folder, address):
        return outlook
    from argentry.keeping.book import studio_book

    try:
        with studio_book(folder, address) as book:
            return outlook_now(book, outlook, studio, day, moment)
    except ArgentryError:  # it is told of where plates are learned from
        return outlook


def light_today(book: Book, zone: ZoneInfo, now: datetime) -> list[RunReading]:
    """Return the readings of light since midnight, by time."""
    return light_since(book, day_begins(now.astimezone(zone).date(), zone), now)


def light_since(book: Book, start: datetime, now: datetime) -> list[RunReading]:
    """Return the readings of light since a moment, of hands at any run and of sensors, by time."""
    from argentry.book.log import events, last_seq, runs_since
    from argentry.desk.bench.run import light_sensed, said_in
    from argentry.trade.readings import LIGHT_LAWS

    found = light_sensed(book, start, now)
    for run in runs_since(book, last_seq(book), start):
        found += [one for one in said_in(events(book, run), *LIGHT_LAWS) if start <= one.at <= now]
    return sorted(found, key=lambda one: one.at)
