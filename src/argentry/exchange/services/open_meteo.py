"""Open-Meteo: hourly irradiance and cloud of the next days, anywhere.

Its documentation (forecast API, 2026): irradiance and sunshine are of the hour before the time,
cloud, temperature and humidity of the instant; times asked for in UTC carry no offset; an error is
JSON with ``reason``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from argentry.errors import BadInput
from argentry.exchange.services.asking import (
    CHANGED,
    DECIMALS,
    REASON,
    Ask,
    Request,
    Service,
    asked,
    near,
    read_answer,
    units_as,
)
from argentry.exchange.weather.mapping import Column, TableMapping
from argentry.exchange.weather.table import weather_of
from argentry.records.weather import Weather

KEY, TITLE, HOST = "open-meteo", "Open-Meteo", "https://api.open-meteo.com"
CREDIT = "Weather data by Open-Meteo.com, CC BY 4.0."
TERMS = (
    "Open-Meteo is free for non-commercial use only, fewer than 10,000 questions a day; a studio "
    "that sells plates may be commercial and then needs a subscription or another service. "
    "Its data are under CC BY 4.0."
)
OF_ENSEMBLE = "open-meteo-ensemble"
ENSEMBLE_TITLE, ENSEMBLE_HOST = "Open-Meteo ensemble", "https://ensemble-api.open-meteo.com"
ENSEMBLE_MODEL = "ecmwf_ifs025_ensemble"  # 51 members, all the world, three-hourly at its source
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
ENSEMBLE_MAPPING = TableMapping(
    time=Column("time", "ISO"),
    columns={
        "ghi": Column("shortwave_radiation", "W/m2", None, "shortwave_radiation_member*"),
        "cloud": Column("cloud_cover", "percent", "middle", "cloud_cover_member*"),
    },
    time_zone="UTC",
    stamp="end",
    records="hourly",
)
NOT_UTC = "its times are {hours:g} h off UTC though UTC was asked for"
WHICH_CLOCK = "it does not say how far its times are off UTC (utc_offset_seconds is {offset!r})"


def _query(ask: Ask, hourly: Iterable[str]) -> dict[str, object]:
    return {
        "latitude": f"{ask.latitude_deg:.{DECIMALS}f}",
        "longitude": f"{ask.longitude_deg:.{DECIMALS}f}",
        "hourly": ",".join(hourly),
        "timezone": "UTC",
        "past_days": PAST_DAYS,
        "forecast_days": FORECAST_DAYS,
    }


def request(ask: Ask) -> Request:
    """Return the question for yesterday and the next ten days."""
    return asked(ask, HOST, "/v1/forecast", _query(ask, UNITS))


def request_ensemble(ask: Ask) -> Request:
    """Return the question to the ensemble API for the same days."""
    hourly = (column.name for column in ENSEMBLE_MAPPING.columns.values())
    query = {**_query(ask, hourly), "models": ENSEMBLE_MODEL}
    return asked(ask, ENSEMBLE_HOST, "/v1/ensemble", query)


def parse(body: bytes, ask: Ask) -> Weather:
    """Return the weather of an answer.

    Raises
    ------
    BadInput
        If it is an error, is cut short, or is for another place, clock or unit.
    """
    return _parsed(body, ask, TITLE, MAPPING)


def parse_ensemble(body: bytes, ask: Ask) -> Weather:
    """Return the weather of an answer of the ensemble API: the control forecast and its members.

    Parameters and errors as of `parse`.
    """
    return _parsed(body, ask, ENSEMBLE_TITLE, ENSEMBLE_MAPPING)


def _parsed(body: bytes, ask: Ask, title: str, mapping: TableMapping) -> Weather:
    data = read_answer(title, body)
    if isinstance(data, dict) and data.get("error"):
        raise BadInput(title, REASON, CHANGED, reason=str(data.get("reason", ""))[:200])
    if isinstance(data, dict):
        near(title, ask, data.get("latitude"), data.get("longitude"))
        offset = data.get("utc_offset_seconds", 0)
        if offset != 0:
            right = "use another [weather] source, or ask again"
            if not isinstance(offset, int | float):
                raise BadInput(title, WHICH_CLOCK, right, offset=str(offset)[:40])
            raise BadInput(title, NOT_UTC, right, hours=offset / 3600.0)
        units_as(title, data.get("hourly_units"), UNITS)
    return replace(weather_of(title, data, mapping), source=title, credit=CREDIT)


SERVICE = Service(
    key=KEY,
    title=TITLE,
    host=HOST,
    credit=CREDIT,
    terms=TERMS,
    contact_needed=False,
    request=request,
    parse=parse,
)
ENSEMBLE = Service(
    key=OF_ENSEMBLE,
    title=ENSEMBLE_TITLE,
    host=ENSEMBLE_HOST,
    credit=CREDIT,
    terms=TERMS,
    contact_needed=False,
    request=request_ensemble,
    parse=parse_ensemble,
)
