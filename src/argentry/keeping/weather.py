"""Read a weather file, and say what it holds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from argentry.sky.weather.cover import clock_doubt

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.records.studio import Studio
    from argentry.records.weather import Weather


@dataclass(frozen=True)
class WeatherFile:
    """What a weather file holds.

    Attributes
    ----------
    source : str
        File it comes from.
    kind : str
        forecast, measured or typical year.
    from_utc : str
        Begin of its first interval, UTC to the minute.
    to_utc : str
        End of its last interval, UTC to the minute.
    step_minutes : float
        Length of an interval. [min]
    intervals : int
        How many there are.
    known : Mapping of str to float
        What it knows, by name, to the share of intervals that have it. [1]
    doubt : str
        Why its clock or its place may be wrong, one sentence; empty when nothing speaks against
        it.
    """

    source: str
    kind: str
    from_utc: str
    to_utc: str
    step_minutes: float
    intervals: int
    known: Mapping[str, float]
    doubt: str


def read_weather(path: Path | str, mapping: Path | str | None = None) -> Weather:
    """Return the weather in a file.

    Parameters
    ----------
    path : Path or str
        EPW, TMY3, or a table as CSV or JSON (see docs/weather.md).
    mapping : Path or str, optional
        A TOML file that says what the columns of a table mean; None: the file of the same name
        with the ending ``.toml``, if there is one, else the table says it itself.

    Returns
    -------
    Weather
        Intervals in UTC. A typical year stands in 2001; look into it with `interval_at`.

    Raises
    ------
    BadInput
        If it cannot be read or understood: one sentence, with row and column where there is one.
    """
    from argentry.exchange.weather.file import read_weather_file

    return read_weather_file(Path(path), None if mapping is None else Path(mapping))


def climate_of_studio(folder: Path, studio: Studio) -> Weather | None:
    """Return the climate that a studio file names; None where it names none.

    Raises
    ------
    BadInput
        If a file cannot be read.
    """
    if studio.weather.climate is None:
        return None
    return read_climate(folder / studio.weather.climate)


def read_climate(path: Path, mapping: Path | None = None) -> Weather:
    """Return the climate in a file, or in all files of a folder: a year each, as some are sold.

    Raises
    ------
    BadInput
        If a file cannot be read, or those of a folder do not go together.
    """
    from argentry.exchange.weather.file import one_after_the_other

    if not path.is_dir():
        return read_weather(path, mapping)
    files = sorted(
        one
        for one in path.iterdir()
        if one.suffix.lower() in (".csv", ".json", ".epw", ".txt") and one.is_file()
    )
    return one_after_the_other(path.name, [read_weather(one, mapping) for one in files])


def weather_summary(weather: Weather, latitude_deg: float, longitude_deg: float) -> WeatherFile:
    """Return what a weather file holds, for a maker who wants to see it understood.

    Parameters
    ----------
    weather : Weather
        As read.
    latitude_deg, longitude_deg : float
        Of the studio. [deg]
    """
    quantities = {
        "global irradiance": weather.ghi_w_m2,
        "direct irradiance": weather.dni_w_m2,
        "diffuse irradiance": weather.dhi_w_m2,
        "cloud": weather.cloud_share,
        "sunshine": weather.sunshine_share,
        "temperature": weather.temperature_c,
        "humidity": weather.relative_humidity_pct,
        "haze": weather.haze_aod,
    }
    end = weather.start_utc[-1] + np.timedelta64(round(weather.step_s), "s")
    shares = {name: float(np.isfinite(values).mean()) for name, values in quantities.items()}
    return WeatherFile(
        source=weather.source,
        kind=weather.kind,
        from_utc=str(weather.start_utc[0].astype("datetime64[m]")) + "Z",
        to_utc=str(end.astype("datetime64[m]")) + "Z",
        step_minutes=weather.step_s / 60,
        intervals=len(weather.start_utc),
        known={name: share for name, share in shares.items() if share > 0},
        doubt=clock_doubt(weather, latitude_deg, longitude_deg),
    )
