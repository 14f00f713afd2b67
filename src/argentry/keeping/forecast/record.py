"""The record of each weather service against the light that was read at the studio."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from argentry.errors import ArgentryError
from argentry.exchange.services.known import SERVICES
from argentry.files import write_whole
from argentry.keeping.forecast.said import read_said, record_file
from argentry.records.plain import from_plain, plain
from argentry.records.weather import ForecastRecord

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from argentry.records.run import RunReading
    from argentry.records.studio import Studio

AGAIN = timedelta(hours=12)
FIRST_LOOK = timedelta(days=30)  # how far back readings are looked through
MOST_HOURS = 6000  # with a reading that are remembered, about a year and a half
MOST_AN_HOUR = 2  # readings: more of the same hour say little more
HOURS_AHEAD = 120.0
DONE_SO_FAR = (
    "{title} against the light read here on {days} days: Brier score {brier:.2f}, the season's "
    "clouds {season:.2f} (0 is perfect); its misses are taken {widened:.1f} times the usual."
)
NOT_USED = (
    "{title} is not used: on {days} days with light read here it was worse than the clouds usual "
    "at the season (Brier score {brier:.2f} against {season:.2f})."
)


@dataclass(frozen=True)
class Records:
    """When the services' records were worked out, what they say, and the light that was read."""

    at: datetime
    services: Mapping[str, ForecastRecord]
    seen: Mapping[str, float]  # hour (ISO 8601, UTC) to share of the clear light [1]


def records_of(folder: Path) -> Mapping[str, ForecastRecord]:
    """Return the kept records by service; none where nothing can be read."""
    found = _kept(folder)
    return {} if found is None else found.services


def _kept(folder: Path) -> Records | None:
    try:
        data = json.loads(record_file(folder).read_text(encoding="utf-8"))
        services = {
            key: from_plain(ForecastRecord, {"cloudier": 0.0, **one})
            for key, one in data["services"].items()
            if key in SERVICES
        }
        seen = {str(hour): float(share) for hour, share in data["seen"].items()}
        return Records(datetime.fromisoformat(data["at"]), services, seen)
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def due_since(folder: Path, now: datetime) -> datetime | None:
    """Return from when on readings are wanted for the records; None where they need no new look."""
    found = _kept(folder)
    if found is None:
        return now - FIRST_LOOK
    if timedelta(0) <= now - found.at < AGAIN:
        return None
    return max(found.at - timedelta(hours=1), now - FIRST_LOOK)


def work_out(
    folder: Path, studio: Studio, readings: Sequence[RunReading], now: datetime
) -> Mapping[str, ForecastRecord]:
    """Work out each service's record from what it said and what was read, and keep it."""
    before = _kept(folder)
    known = {} if before is None else dict(before.seen)
    known |= _light_by_hour(studio, readings)
    seen = dict(sorted(known.items())[-MOST_HOURS:])
    by_file = _cloudier_by_file(folder, studio, now)
    found = {key: _record(folder, studio, key, seen, by_file) for key in SERVICES}
    found = {key: one for key, one in found.items() if one.days or one.cloudier}
    services = {key: plain(one) for key, one in found.items()}
    data = {"at": now.isoformat(), "services": services, "seen": seen}
    with suppress(OSError):  # a folder that cannot be written is still planned in
        record_file(folder).parent.mkdir(exist_ok=True)
        write_whole(record_file(folder), json.dumps(data))
    return found


def _light_by_hour(studio: Studio, readings: Sequence[RunReading]) -> Mapping[str, float]:
    """Return the mean share of the clear light that was read, by the hour (UTC)."""
    from argentry.sky.clear_day import against_clear, frame_of

    frame = frame_of(studio, None)
    hours: dict[str, list[float]] = {}
    for one in readings:
        hour = _hour(one.at)
        if len(hours.get(hour, ())) >= MOST_AN_HOUR:
            continue
        found = against_clear(studio, frame, one)
        if found is not None and found.under_filter is None:
            hours.setdefault(hour, []).append(found.level)
    return {hour: sum(shares) / len(shares) for hour, shares in hours.items()}


def _hour(moment: datetime) -> str:
    whole = moment.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    return whole.isoformat(timespec="minutes")


def _cloudier_by_file(folder: Path, studio: Studio, now: datetime) -> float:
    """Return how much cloudier the studio's climate file has the season than its latitude. [1]."""
    from argentry.keeping.weather import climate_of_studio
    from argentry.sky.weather.usual import cloudier_by_hours

    try:
        climate = climate_of_studio(folder, studio)
    except ArgentryError:  # it is told where a day is planned by it
        return 0.0
    if climate is None:
        return 0.0
    there = studio.site.latitude_deg
    return cloudier_by_hours(climate.start_utc, climate.cloud_share, there, now.date())


def _record(
    folder: Path, studio: Studio, key: str, seen: Mapping[str, float], by_file: float
) -> ForecastRecord:
    from argentry.sky.weather.skill import forecast_record
    from argentry.sky.weather.usual import cloudier_than_usual, usual_cloud

    zone = ZoneInfo(studio.site.time_zone)
    rows: list[tuple[float, float, float, int, float]] = []
    usual: dict[int, float] = {}
    told: dict[int, list[float]] = {}
    for said in read_said(folder, key):
        for number, okta in enumerate(said.okta):
            hour = said.start + timedelta(hours=number)
            lead_h = (hour - said.fetched).total_seconds() / 3600.0 + 0.5
            share = seen.get(_hour(hour))
            if okta is None or not 0.0 <= lead_h <= HOURS_AHEAD:
                continue
            day = hour.astimezone(zone).date()
            number_of_day = day.toordinal()
            if number_of_day not in usual:
                usual[number_of_day] = usual_cloud(studio.site.latitude_deg, day)
            told.setdefault(number_of_day, []).append(okta / 8.0)
            if share is not None:
                rows.append((okta, lead_h, share, number_of_day, usual[number_of_day]))
    cloudier = by_file
    if told:
        means = [sum(one) / len(one) for one in told.values()]
        mean, there = (sum(one) / len(told) for one in (means, usual.values()))
        cloudier += cloudier_than_usual(mean, there + by_file, len(told))
    columns: Any = np.array(rows, dtype=np.float64).reshape(-1, 5).T
    okta_told, lead, light, day_number, usual_there = columns
    numbers = day_number.astype(np.int64)
    return forecast_record(okta_told, lead, light, numbers, usual_there, cloudier)


def record_words(key: str, record: ForecastRecord | None) -> str:
    """Return what a record says, in a sentence; empty without one."""
    if record is None or record.brier is None or record.brier_season is None:
        return ""
    words = NOT_USED if record.worse else DONE_SO_FAR
    return words.format(
        title=SERVICES[key].title,
        days=record.days,
        brier=record.brier,
        season=record.brier_season,
        widened=record.widened,
    )
