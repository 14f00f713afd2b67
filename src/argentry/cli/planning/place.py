"""The options that name a place, shared by every command that needs light."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import click

from argentry.cli.common import (
    METRES,
    BookCall,
    book_option,
    json_option,
    read_time,
    studio_option,
    studio_path,
)
from argentry.records.needs import StudioNow
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook

_OPTIONS = (
    click.option("--lat", type=float, help="Latitude in degrees, north positive."),
    click.option("--lon", type=float, help="Longitude in degrees, east positive."),
    click.option("--elevation-m", type=METRES, help="Height above sea level in metres."),
    click.option("--tz", help="Time zone of times without an offset, for example Europe/Madrid."),
    click.option(
        "--haze", type=float, help="Aerosol optical depth at 500 nm (0.05 clear, 0.4 hazy)."
    ),
)


FILTER_HELP = "Spectrum of the red filter: two columns, nm and transmission, or a generic one."
LAMP_HELP = "Spectrum of the lamp: two columns, nm and power, or a generic one."
LENS_HELP = "Spectrum of the whole lens: two columns, nm and transmission, or a generic one."
WINDOW_HELP = "Spectrum of the window pane: two columns, nm and transmission, or a generic one."
WEATHER_HELP = (
    "Weather file; without one the studio's forecast, if it has a service, else a clear sky. The "
    "word none leaves the service out."
)
TWICE = "{time} happens twice in {zone}: the first is meant."


def place_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --lat, --lon, --elevation-m, --tz and --haze; the studio's site is used without them."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def learned_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --learned/--as-written, and --book for a book elsewhere."""
    option: Callable[[Any], Any] = click.option(
        "--learned/--as-written",
        "use_learned",
        default=True,
        help="Take what your plates taught (default), or only what studio.toml says.",
    )
    named: Callable[..., Any] = option(book_option(command))
    return named


@dataclass(frozen=True)
class LearnedCall(BookCall):
    """The same, and whether the answer goes by what the plates taught.

    Attributes
    ----------
    use_learned : bool
        False: only by what studio.toml says.
    """

    use_learned: bool

    def now(self) -> StudioNow:
        """Return the studio named or of the current folder, as its plates teach it.

        Without a studio the answer rests on options and the trade's usual values alone.
        """
        from argentry.desk.numbers.studio_numbers import studio_of_folder

        if self.folder is None:
            return StudioNow(as_written=not self.use_learned)
        now, warnings = studio_of_folder(self.folder, self.address, as_written=not self.use_learned)
        for warning in warnings:
            click.echo(f"! {warning}", err=True)
        return now


def of_studio(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --studio, --json, --learned and --book, handed to the command as a `LearnedCall`."""

    @wraps(command)
    def run(address: str | None, *, as_json: bool, use_learned: bool, **given: Any) -> None:
        folder = studio_path(click.get_current_context())
        command(LearnedCall(folder, address, as_json, use_learned), **given)

    made: Callable[..., Any] = studio_option(json_option(learned_options(run)))
    return made


def outlook_here(
    path: Path | None,
    studio: Studio | None,
    when: datetime,
    weather: str | None,
    address: str | None = None,
    *,
    elsewhere: bool = False,
) -> Outlook:
    """Return what is known of the sky at a moment, as `argentry day` has it of its day.

    Parameters
    ----------
    path : Path or None
        The studio's folder; its forecast and readings are those of the studio's own place.
    studio : Studio or None
        None without one.
    when : datetime
        UTC.
    weather : str or None
        Name of a weather file; ``none``: no service either.
    address : str or None
        Of a PostgreSQL book.
    elsewhere : bool
        True when --lat and --lon name another place.
    """
    from argentry.desk.bench.as_read import outlook_read
    from argentry.keeping.weather import read_weather

    if path is None or studio is None or elsewhere:
        named = weather is not None and weather != "none"
        return Outlook(read_weather(Path(str(weather)))) if named else NO_OUTLOOK
    day = when.astimezone(ZoneInfo(studio.site.time_zone)).date()
    return outlook_read(path, studio, day, weather, address=address)


def moment(where: str, text: str | None, time_zone: str) -> tuple[datetime, list[str]]:
    """Return the time of an option in UTC (now without one), and what must be said about it.

    Raises
    ------
    BadInput
        If the text is not a time, or a time that the wall clock skips.
    """
    if text is None:
        return datetime.now(UTC).replace(second=0, microsecond=0), [
            "No time given: now is assumed."
        ]
    from argentry.sky.place import happens_twice, to_utc

    when = read_time(where, text)
    utc = to_utc(where, when, time_zone)
    if happens_twice(when, time_zone):
        return utc, [TWICE.format(time=text, zone=time_zone)]
    return utc, []


def two_figures(value: float) -> str:
    """Return a number with two significant figures and no exponent."""
    if value <= 0.0:
        return "0"
    digits = 1 - math.floor(math.log10(value))
    return f"{round(value, digits):.{max(digits, 0)}f}"


def span(minutes: float | None) -> str:
    """Return minutes as a maker says them, no finer than an exposure is known."""
    if minutes is None:
        return "never"
    if minutes < 2.0:
        return f"{two_figures(60.0 * minutes)} s"
    return f"{two_figures(minutes)} min" if minutes < 100.0 else f"{minutes / 60.0:.1f} h"
