"""MET Norway's Locationforecast 2.0: cloud by the hour, anywhere; no irradiance.

Its documentation: GeoJSON, every value of ``instant`` holds at the time (UTC), hourly for the first
days and six-hourly after. Terms: an identifying User-Agent with a contact, at most four decimals of
the place, Expires and If-Modified-Since honoured, 203 says that the version will end.
"""

from __future__ import annotations

from dataclasses import replace

from argentry.exchange.services.asking import (
    DECIMALS,
    Ask,
    Request,
    Service,
    asked,
    near,
    read_answer,
    units_as,
)
from argentry.exchange.weather.mapping import Column, TableMapping
from argentry.exchange.weather.table import weather_of, within
from argentry.records.weather import Weather

KEY, TITLE, HOST = "met-norway", "MET Norway", "https://api.met.no"
CREDIT = "Based on data from MET Norway, CC BY 4.0."
TERMS = (
    "MET Norway's data are under CC BY 4.0 (or the Norwegian licence NLOD 2.0), commercial use "
    "allowed, with attribution. It must be told a contact, an e-mail or web address, which is sent "
    "with every question; without one it refuses to answer."
)
DETAILS = "data.instant.details."
MAPPING = TableMapping(
    time=Column("time", "ISO"),
    columns={
        "cloud": Column(DETAILS + "cloud_area_fraction", "percent"),
        "temperature": Column(DETAILS + "air_temperature", "C"),
        "humidity": Column(DETAILS + "relative_humidity", "percent"),
    },
    time_zone="UTC",
    stamp="middle",
    step_minutes=60.0,
    gaps=True,
    records="properties.timeseries",
)
UNITS = {
    "cloud_area_fraction": ("%",),
    "air_temperature": ("celsius",),
    "relative_humidity": ("%",),
}


def request(ask: Ask) -> Request:
    """Return the question; the service decides how far ahead it answers."""
    query = {
        "lat": f"{ask.latitude_deg:.{DECIMALS}f}",
        "lon": f"{ask.longitude_deg:.{DECIMALS}f}",
    }
    path = "/weatherapi/locationforecast/2.0/complete"
    return asked(ask, HOST, path, query, contact=True)


def parse(body: bytes, ask: Ask) -> Weather:
    """Return the weather of an answer.

    Parameters and errors as of `argentry.exchange.services.open_meteo.parse`.
    """
    data = read_answer(TITLE, body)
    if isinstance(data, dict):
        spot = within(data, "geometry", "coordinates")
        east, north = spot[:2] if isinstance(spot, list) and len(spot) >= 2 else (None, None)
        near(TITLE, ask, north, east)
        units_as(TITLE, within(data, "properties", "meta", "units"), UNITS)
    return replace(weather_of(TITLE, data, MAPPING), source=TITLE, credit=CREDIT)


SERVICE = Service(KEY, TITLE, HOST, CREDIT, TERMS, True, request, parse)
