"""Open-Meteo: hourly irradiance and cloud of the next days, anywhere.

Its documentation (forecast API, 2026): irradiance and sunshine are of the hour before the time,
cloud, temperature and humidity of the instant; times asked for in UTC carry no offset; an error is
JSON with ``reason``.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.exchange.services.asking import (
    CHANGED,
    DECIMALS,
    REASON,
    Service,
    asked,
    near,
    read_answer,
    units_as,
)
from argentry.exchange.weather.mapping import Column, TableMapping
from argentry.exchange.weather.table import weather_of

if TYPE_CHECKING:
    from argentry.exchange.services.asking import Ask, Request
    from argentry.records.weather import Weather

KEY, TITLE, HOST = "open-meteo", "Open-Meteo", "https://api.open-meteo.com"
CREDIT = "Weather data by Open-Meteo.com, CC BY 4.0."
TERMS = (
    "Open-Meteo is free for non-commercial use only, fewer than 10,000 questions a day; a studio "
    "that sells plates may be commercial and then needs a subscription or another service. "
    "Its data are under CC BY 4.0."
)
PAST_DAYS, FORECAST_DAYS = 1, 10  # up to 14 days and 10 variables count as one question
MAPPING = TableMapping(
    time=Column("time", "ISO"),
    columns={
        "ghi": Column("shortwave_radiation", "W/m2"),
        "dni": Column("direct_normal_irradiance", "W/m2"),
        "dhi": Column("diffuse_radiation", "W/m2"),
        "sunshine": Column("sunshine_duration", "seconds"),
        "cloud": Column("cloud_cover", "percent", "middle"),
        "temperature": Column("temperature_2m", "C", "middle"),
        "humidity": Column("relative_humidity_2m", "percent", "middle"),
    },
    time_zone="UTC",
    stamp="end",
    records="hourly",
)
UNITS = {
    "shortwave_radiation": ("W/m²",),
    "direct_normal_irradiance": ("W/m²",),
    "diffuse_radiation": ("W/m²",),
    "sunshine_duration": ("s",),
    "cloud_cover": ("%",),
    "temperature_2m": ("°C",),
    "relative_humidity_2m": ("%",),
}
NOT_UTC = "its times are {hours:g} h off UTC though UTC was asked for"


def request(ask: Ask) -> Request:
    """Return the question for yesterday and the next ten days."""
    query = {
        "latitude": f"{ask.latitude_deg:.{DECIMALS}f}",
        "longitude": f"{ask.longitude_deg:.{DECIMALS}f}",
        "hourly": ",".join(UNITS),
        "timezone": "UTC",
        "past_days": PAST_DAYS,
        "forecast_days": FORECAST_DAYS,
    }
    return asked(ask, HOST, "/v1/forecast", query)


def parse(body: bytes, ask: Ask) -> Weather:
    """Return the weather of an answer.

    Parameters
    ----------
    body : bytes
        As received.
    ask : Ask
        What was asked.

    Raises
    ------
    BadInput
        If it is an error, is cut short, or is for another place, clock or unit.
    """
    data = read_answer(TITLE, body)
    if isinstance(data, dict) and data.get("error"):
        raise BadInput(TITLE, REASON, CHANGED, reason=str(data.get("reason", ""))[:200])
    if isinstance(data, dict):
        near(TITLE, ask, data.get("latitude"), data.get("longitude"))
        offset = data.get("utc_offset_seconds", 0)
        if offset != 0:
            right = "use another [weather] source, or ask again"
            raise BadInput(TITLE, NOT_UTC, right, hours=float(offset) / 3600.0)
        units_as(TITLE, data.get("hourly_units"), UNITS)
        data = {"hourly": data.get("hourly")}
    return replace(weather_of(TITLE, data, MAPPING), source=TITLE, credit=CREDIT)


SERVICE = Service(KEY, TITLE, HOST, CREDIT, TERMS, False, request, parse)
