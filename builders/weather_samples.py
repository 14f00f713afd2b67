"""Make the sample answers of weather services under tests/fixtures/weather.

Run: python builders/weather_samples.py

No service was asked: the values are those of a cloudless sky by pvlib's model of Ineichen and
Perez at a steady haze (Linke turbidity 3), put into the shape that each service documents. So a
reader that takes an hour's end for its start, or an instant for a mean, misses solar noon.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pvlib.location import Location

HERE = Path(__file__).parents[1] / "tests" / "fixtures" / "weather"
TURBIDITY, SUNNY_W_M2 = 3.0, 120.0
PLACES = {"valley": (48.14, 11.58, 520.0), "polar": (69.65, 18.96, 10.0)}


def hours(place: str, first: str, days: int) -> pd.DataFrame:
    """Return the hours of some days, each by its end: means of the hour before, and instants."""
    latitude, longitude, height = PLACES[place]
    where = Location(latitude, longitude, tz="UTC", altitude=height)
    start = pd.Timestamp(first, tz="UTC")
    times = pd.date_range(start - pd.Timedelta("1h"), periods=60 * 24 * days, freq="1min")
    middles = times + pd.Timedelta("30s")
    sky = where.get_clearsky(middles, model="ineichen", linke_turbidity=TURBIDITY)
    sky["sunny"] = (sky["dni"] > SUNNY_W_M2).astype(float) * 60.0
    ends = sky.groupby(np.arange(len(sky)) // 60)
    out = ends[["ghi", "dni", "dhi"]].mean()
    out["sunshine"] = ends["sunny"].sum()
    out.index = pd.date_range(start, periods=24 * days, freq="1h")
    hour = out.index.hour + longitude / 15.0
    out["temperature"] = 16.0 - 7.0 * np.cos((hour - 3.0) * np.pi / 12.0)
    out["humidity"] = 65.0 + 20.0 * np.cos((hour - 3.0) * np.pi / 12.0)
    out["cloud"] = 0.0
    return out


def listed(values: pd.Series, decimals: int) -> list[float]:
    """Return values as a service prints them."""
    return [round(float(value), decimals) for value in values]


def open_meteo(place: str, table: pd.DataFrame) -> dict[str, Any]:
    """Return an answer in the shape of the forecast API; the place is its grid's, a bit off."""
    latitude, longitude, height = PLACES[place]
    units = {
        "time": "iso8601",
        "shortwave_radiation": "W/m²",
        "direct_normal_irradiance": "W/m²",
        "diffuse_radiation": "W/m²",
        "sunshine_duration": "s",
        "cloud_cover": "%",
        "temperature_2m": "°C",
        "relative_humidity_2m": "%",
    }
    return {
        "latitude": round(latitude + 0.02, 4),
        "longitude": round(longitude - 0.02, 4),
        "generationtime_ms": 0.2,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": height,
        "hourly_units": units,
        "hourly": {
            "time": [f"{when:%Y-%m-%dT%H:%M}" for when in table.index],
            "shortwave_radiation": listed(table["ghi"], 1),
            "direct_normal_irradiance": listed(table["dni"], 1),
            "diffuse_radiation": listed(table["dhi"], 1),
            "sunshine_duration": listed(table["sunshine"], 2),
            "cloud_cover": [round(value) for value in table["cloud"]],
            "temperature_2m": listed(table["temperature"], 1),
            "relative_humidity_2m": [round(value) for value in table["humidity"]],
        },
    }


def ensemble(place: str, table: pd.DataFrame, members: int = 51) -> dict[str, Any]:
    """Return an answer in the shape of the ensemble API: the control and its members.

    Each member has its own cloud before and after noon, so that its day is one of its own; light
    is what Kasten and Czeplak leave under that cloud.
    """
    rng = np.random.default_rng(12)
    answer = open_meteo(place, table)
    hourly = {"time": answer["hourly"]["time"]}
    early = np.array([when.hour < 12 for when in table.index])
    for number in range(members):
        level = rng.beta(0.9, 0.6)
        cloud = np.where(early, level, np.clip(level + rng.normal(0.0, 0.15), 0.0, 1.0))
        ending = "" if number == 0 else f"_member{number:02d}"
        ghi = table["ghi"] * (1.0 - 0.75 * cloud**3.4)
        hourly[f"shortwave_radiation{ending}"] = listed(ghi, 0)
        hourly[f"cloud_cover{ending}"] = [round(100.0 * value) for value in cloud]
    units = {
        name: "iso8601" if name == "time" else "W/m²" if name.startswith("short") else "%"
        for name in hourly
    }
    return {**answer, "hourly_units": units, "hourly": hourly}


def met_norway(place: str, table: pd.DataFrame) -> dict[str, Any]:
    """Return an answer in the shape of Locationforecast 2.0: hourly, then every six hours."""
    latitude, longitude, height = PLACES[place]
    hourly = 60
    rows = [
        {
            "time": f"{when:%Y-%m-%dT%H:%M:%SZ}",
            "data": {
                "instant": {
                    "details": {
                        "air_temperature": round(row["temperature"], 1),
                        "cloud_area_fraction": round(row["cloud"], 1),
                        "cloud_area_fraction_high": 0.0,
                        "relative_humidity": round(row["humidity"], 1),
                    }
                },
                "next_1_hours": {"summary": {"symbol_code": "clearsky_day"}, "details": {}},
            },
        }
        for number, (when, row) in enumerate(table.iterrows())
        if number < hourly or when.hour % 6 == 0
    ]
    units = {
        "air_temperature": "celsius",
        "cloud_area_fraction": "%",
        "cloud_area_fraction_high": "%",
        "relative_humidity": "%",
    }
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [longitude, latitude, height]},
        "properties": {
            "meta": {"updated_at": f"{table.index[0]:%Y-%m-%dT%H:%M:%SZ}", "units": units},
            "timeseries": rows,
        },
    }


def bright_sky(place: str, table: pd.DataFrame, observed: int = 12) -> dict[str, Any]:
    """Return an answer in the shape of /weather: observed hours, then forecast ones."""
    latitude, longitude, height = PLACES[place]
    rows = [
        {
            "timestamp": f"{when:%Y-%m-%dT%H:%M:%S+00:00}",
            "source_id": 1 if number < observed else 2,
            "precipitation": 0.0,
            "sunshine": round(row["sunshine"] / 60.0, 0),
            "temperature": round(row["temperature"], 1),
            "cloud_cover": round(row["cloud"]),
            "relative_humidity": round(row["humidity"]),
            "solar": round(row["ghi"] / 1000.0, 3),
            "icon": "clear-day",
        }
        for number, (when, row) in enumerate(table.iterrows())
    ]
    for row in rows[:observed]:  # the station has no pyranometer: another one fills in
        row["fallback_source_ids"] = {"solar": 3}
    kinds = {1: "current", 2: "forecast", 3: "historical"}
    sources = [
        {
            "id": key,
            "dwd_station_id": f"0000{key}",
            "observation_type": kind,
            "lat": latitude,
            "lon": longitude,
            "height": height + 10.0,
            "station_name": "Invented",
            "wmo_station_id": f"0000{key}",
            "first_record": f"{table.index[0]:%Y-%m-%dT%H:%M:%S+00:00}",
            "last_record": f"{table.index[-1]:%Y-%m-%dT%H:%M:%S+00:00}",
            "distance": 4000.0 * key,
        }
        for key, kind in kinds.items()
    ]
    return {"weather": rows, "sources": sources}


def write(service: str, name: str, data: dict[str, Any]) -> None:
    """Write one sample."""
    file = HERE / service / f"{name}.json"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(json.dumps(data, ensure_ascii=False) + "\n", encoding="utf-8")
    print(f"wrote {file.relative_to(HERE.parents[2])}")


if __name__ == "__main__":
    june, autumn, polar = (
        hours("valley", "2026-06-20", 4),
        hours("valley", "2026-10-24", 3),  # the clocks of Europe go back on the 25th
        hours("polar", "2026-12-20", 3),
    )
    for service, make in (
        ("open-meteo", open_meteo),
        ("met-norway", met_norway),
        ("bright-sky", bright_sky),
    ):
        write(service, "clear", make("valley", june))
        write(service, "clocks-back", make("valley", autumn))
        write(service, "polar-night", make("polar", polar))
    write("open-meteo-ensemble", "changeable", ensemble("valley", hours("valley", "2026-06-20", 3)))
