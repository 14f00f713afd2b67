"""What forecasts said of the clouds, kept by the hour and the lead, to be held against readings."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from argentry.errors import BadInput
from argentry.exchange.services.kept import FOLDER
from argentry.files import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from argentry.records.studio import Studio
    from argentry.records.weather import Weather

EVERY = timedelta(hours=6)  # what comes sooner says nearly the same
MOST_LINES = 1500  # a year
MOST_BYTES = 4_000_000
DAYS = 7  # of a forecast


@dataclass(frozen=True)
class Said:
    """What one forecast said.

    Attributes
    ----------
    fetched, start : datetime
        When it came; the first hour, UTC.
    okta : tuple of (float or None)
        Cloud amount of each hour, by what it leaves of the sun; None at night or unknown. [okta]
    """

    fetched: datetime
    start: datetime
    okta: tuple[float | None, ...]


def said_file(folder: Path, service: str) -> Path:
    """Return where it is kept what a service said."""
    return folder / FOLDER / f"{service}.said.jsonl"


def note_said(folder: Path, studio: Studio, service: str, weather: Weather, now: datetime) -> None:
    """Keep what a forecast that came now says of the days ahead; nothing soon after another."""
    file = said_file(folder, service)
    last = None
    for last in read_said(folder, service):  # noqa: B007 - the last one counts
        pass
    if last is not None and now - last.fetched < EVERY:
        return
    start = now.replace(minute=0, second=0, microsecond=0)
    line = {
        "fetched": now.isoformat(timespec="seconds"),
        "start": start.isoformat(timespec="seconds"),
        "okta": _okta(studio, weather, start),
    }
    with suppress(OSError):  # a full disk costs a line of the record, not the forecast
        file.parent.mkdir(exist_ok=True)
        if file.is_file() and file.stat().st_size > MOST_BYTES:
            lines = file.read_text(encoding="utf-8").splitlines()[-MOST_LINES:]
            write_whole(file, "\n".join(lines) + "\n")
        with file.open("a", encoding="utf-8") as out:
            out.write(json.dumps(line) + "\n")


def _okta(studio: Studio, weather: Weather, start: datetime) -> list[float | None]:
    from argentry.physics.lights.cloud import okta_at_beam
    from argentry.sky.place import resolve_place
    from argentry.sky.sky_day import sky_day
    from argentry.sky.weather.days import hourly_sky

    first = np.datetime64(start.astimezone(UTC).replace(tzinfo=None), "s")
    out: list[float | None] = []
    for day in range(DAYS):
        hours = first + (24 * day + np.arange(24)) * np.timedelta64(3600, "s")
        clear = sky_day(resolve_place(studio), hours + np.timedelta64(1800, "s"), ())
        try:
            beam = hourly_sky(weather, clear).beam_share
        except BadInput:  # it leaves hours of the day open
            out += [None] * 24
            continue
        okta = okta_at_beam(np.clip(beam, 0.0, 1.0))
        up = clear.path.elevation_deg > 5.0
        out += [round(float(k), 1) if lit else None for k, lit in zip(okta, up, strict=True)]
    return out


def read_said(folder: Path, service: str) -> Iterator[Said]:
    """Yield what a service said, the oldest first; a line that cannot be read is passed by."""
    try:
        lines = said_file(folder, service).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return
    for line in lines[-MOST_LINES:]:
        try:
            one = json.loads(line)
            fetched, start = (datetime.fromisoformat(one[key]) for key in ("fetched", "start"))
            okta = tuple(None if k is None else float(k) for k in one["okta"])
        except (ValueError, KeyError, TypeError, RecursionError):
            continue
        if fetched.tzinfo is not None and start.tzinfo is not None:
            yield Said(fetched, start, okta)


def record_file(folder: Path) -> Path:
    """Return where the services' records are kept."""
    return folder / FOLDER / "record.json"
