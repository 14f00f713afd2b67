"""Bright Sky: stations and point forecasts of the German weather service, as JSON.

Its documentation: ``solar`` in kWh/m2 and ``sunshine`` in minutes are of the 60 minutes before the
time, cloud cover, temperature and humidity of the instant; each row names the station it is from,
and other stations that fill single values; stations say whether they observed or forecast.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, timedelta
from typing import Any

from argentry.errors import BadInput
from argentry.exchange.services.asking import (
    AGAIN,
    DECIMALS,
    FARTHEST_KM,
    FARTHEST_M,
    Ask,
    Request,
    Service,
    asked,
    read_answer,
)
from argentry.exchange.weather.mapping import Column, TableMapping
from argentry.exchange.weather.table import weather_of
from argentry.records.weather import Weather

KEY, TITLE, HOST = "bright-sky", "Bright Sky", "https://api.brightsky.dev"
CREDIT = "Source: Deutscher Wetterdienst (DWD), CC BY 4.0, by way of Bright Sky."
TERMS = (
    "Bright Sky is free for any use and hands on the data of the German weather service (DWD), "
    "which must be named as their source. Outside Germany few of its stations are near enough to "
    "be used."
)
DAYS = 10
MAPPING = TableMapping(
    time=Column("timestamp", "ISO"),
    columns={
        "ghi": Column("solar", "kWh/m2"),
        "sunshine": Column("sunshine", "minutes"),
        "cloud": Column("cloud_cover", "percent", "middle"),
        "temperature": Column("temperature", "C", "middle"),
        "humidity": Column("relative_humidity", "percent", "middle"),
    },
    time_zone="UTC",
    stamp="end",
    step_minutes=60.0,
    gaps=True,
    records="weather",
)
FORECAST = "forecast"
ALL_FAR = "its nearest station is {km:.0f} km away, or at a height more than {metres:.0f} m off"
NO_STATION = "it names no station that its values come from"
OTHER_SOURCE = "use another [weather] source here"


def request(ask: Ask) -> Request:
    """Return the question for yesterday and the next ten days."""
    today = ask.now.astimezone(UTC).date()
    query = {
        "lat": f"{ask.latitude_deg:.{DECIMALS}f}",
        "lon": f"{ask.longitude_deg:.{DECIMALS}f}",
        "date": (today - timedelta(days=1)).isoformat(),
        "last_date": (today + timedelta(days=DAYS)).isoformat(),
        "tz": "UTC",
    }
    return asked(ask, HOST, "/weather", query)


def parse(body: bytes, ask: Ask) -> Weather:
    """Return the weather of an answer; values of stations too far off are left out.

    Parameters and errors as of `argentry.exchange.services.open_meteo.parse`.
    """
    data = read_answer(TITLE, body)
    if not isinstance(data, dict) or not isinstance(data.get("weather"), list):
        raise BadInput(TITLE, NO_STATION, AGAIN)
    known = data.get("sources")
    sources = {one.get("id"): one for one in known or () if isinstance(one, dict)}
    if not sources:
        raise BadInput(TITLE, NO_STATION, AGAIN)
    near = {name for name, one in sources.items() if _is_near(one, ask.elevation_m)}
    if not near:
        nearest = min(_km(one) for one in sources.values())
        raise BadInput(TITLE, ALL_FAR, OTHER_SOURCE, km=nearest, metres=FARTHEST_M)
    rows = [_of_near(row, near) for row in data["weather"]]
    kinds = {
        sources[row.get("source_id")].get("observation_type")
        for row in rows
        if row.get("source_id") in sources
    }
    kind = "forecast" if FORECAST in kinds else "measured"
    mapping = replace(MAPPING, kind=kind)
    return replace(weather_of(TITLE, {"weather": rows}, mapping), source=TITLE, credit=CREDIT)


def _km(source: dict[str, Any]) -> float:
    """Return how far a station is; endless where that is not said. [km]."""
    metres = source.get("distance")
    return metres / 1000.0 if isinstance(metres, (int, float)) else float("inf")


def _is_near(source: dict[str, Any], elevation_m: float | None) -> bool:
    if not _km(source) <= FARTHEST_KM:
        return False
    height = source.get("height")
    if elevation_m is None or not isinstance(height, (int, float)):
        return True
    return bool(abs(height - elevation_m) <= FARTHEST_M)


def _of_near(row: Any, near: set[Any]) -> dict[str, Any]:
    """Return a row with nothing in the place of values from stations that are not near."""
    if not isinstance(row, dict):
        raise BadInput(TITLE, "its rows are not objects", AGAIN)
    others = row.get("fallback_source_ids")
    others = others if isinstance(others, dict) else {}
    own = row.get("source_id")
    return {
        name: value if others.get(name, own) in near or name in ("timestamp", "source_id") else None
        for name, value in row.items()
        if name != "fallback_source_ids"
    }


SERVICE = Service(KEY, TITLE, HOST, CREDIT, TERMS, False, request, parse)
