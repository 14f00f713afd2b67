"""Files of the public archives of hourly weather, as they are downloaded, brought to one table.

PVGIS (hourly series and typical year, CSV and JSON), NSRDB (CSV), the Open-Meteo archive (CSV and
JSON) and ERA5 time series (CSV) are known by their heads; the table's own reader does the rest.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from argentry.errors import BadInput
from argentry.exchange.weather.mapping import Column, TableMapping
from argentry.exchange.weather.table import within

LOOK = 60  # lines in which the head of a table is looked for
FORECAST_ROWS = 120 * 24  # hours: no forecast with its past days has more
LEVEL = "the irradiance is on a plane inclined by {slope:g} degrees"
ASK_LEVEL = "download it again with a slope of 0 degrees"
SHORT = "{cells} cells where the head has {heads}"
NOT_NUMBER = "{text!r} is not a number"
OFFSET = "its times are {hours:g} h off UTC"
ASK_UTC = "download it again with timezone=GMT"
PVGIS = {
    "G(h)": "ghi",
    "G(i)": "ghi",
    "Gb(n)": "dni",
    "Gd(h)": "dhi",
    "T2m": "temperature",
    "RH": "humidity",
}
NSRDB = {
    "GHI": "ghi",
    "DNI": "dni",
    "DHI": "dhi",
    "Temperature": "temperature",
    "Relative Humidity": "humidity",
}
OPEN_METEO = {
    "shortwave_radiation": ("ghi", "W/m2", "end"),
    "direct_normal_irradiance": ("dni", "W/m2", "end"),
    "diffuse_radiation": ("dhi", "W/m2", "end"),
    "sunshine_duration": ("sunshine", "seconds", "end"),
    "cloud_cover": ("cloud", "percent", "middle"),
    "temperature_2m": ("temperature", "C", "middle"),
    "relative_humidity_2m": ("humidity", "percent", "middle"),
}
ERA5 = {
    "ssrd": ("ghi", "J/m2", "end"),
    "tcc": ("cloud", "share", "middle"),
    "t2m": ("temperature", "K", "middle"),
}


@dataclass(frozen=True)
class Archive:
    """A file of an archive as one table.

    Attributes
    ----------
    rows : list of dict
        Cells by name of the column.
    mapping : TableMapping
        How they are read.
    first_row : int
        Where the first of them stands in the file.
    """

    rows: list[dict[str, Any]]
    mapping: TableMapping
    first_row: int


def archive_of(name: str, text: str) -> Archive | None:
    """Return a file of a public archive as a table; None where it is none.

    Raises
    ------
    BadInput
        If its head is one of an archive but what follows is not, or it is for an inclined plane.
    """
    if text.lstrip()[:1] == "{":
        return _of_json(name, text)
    lines = text.splitlines()
    for at, line in enumerate(lines[:LOOK]):
        heads = [cell.strip() for cell in line.split(",")]
        if heads[0] in ("time", "time(UTC)") and set(heads) & {"G(i)", "Gb(i)", "G(h)"}:
            return _pvgis(name, _until_blank(name, lines, at), _head_values(lines[:at]), at + 2)
        if heads[:5] == ["Year", "Month", "Day", "Hour", "Minute"] and at >= 1 and "GHI" in heads:
            return _nsrdb(name, lines, at)
        if heads[0] == "time" and lines[0].startswith("latitude,longitude,elevation,utc_offset"):
            offset = float(
                dict(zip(*(row.split(",") for row in lines[:2]), strict=True))["utc_offset_seconds"]
            )
            named = [head.partition(" (")[0] for head in heads]
            return _open_meteo(name, _until_blank(name, lines, at, named), offset, at + 2)
        if heads[0] in ("valid_time", "time") and "ssrd" in heads:
            return _table(_until_blank(name, lines, at), ERA5, heads[0], "measured", at + 2)
    return None


def _of_json(name: str, text: str) -> Archive | None:
    if '"hourly' not in text and '"tmy_hourly"' not in text:
        return None
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return None  # the table's reader says what is wrong
    units, hourly = within(data, "hourly_units"), within(data, "hourly")
    if isinstance(units, dict) and isinstance(hourly, dict):
        offset = data.get("utc_offset_seconds", 0)
        columns = [key for key, value in hourly.items() if isinstance(value, list)]
        rows = [
            dict(zip(columns, row, strict=True))
            for row in zip(*(hourly[key] for key in columns), strict=False)
        ]
        return _open_meteo(name, rows, offset if isinstance(offset, int | float) else 0.0, 1)
    outputs = within(data, "outputs")
    rows = within(outputs, "tmy_hourly") or within(outputs, "hourly")
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        return None
    place = within(data, "inputs", "location") or {}
    slope = within(data, "inputs", "mounting_system", "fixed", "slope", "value")
    head = {
        "Slope": slope or 0,
        "Irradiance Time Offset (h)": place.get("irradiance_time_offset", 0),
    }
    return _pvgis(name, rows, head, 1)


def _until_blank(
    name: str, lines: Sequence[str], at: int, heads: Sequence[str] | None = None
) -> list[dict[str, Any]]:
    """Return the rows below a head up to the first empty line: what follows are explanations."""
    named = heads or [cell.strip() for cell in lines[at].split(",")]
    rows = []
    for number, cells in enumerate(csv.reader(lines[at + 1 :]), at + 2):
        if not any(cell.strip() for cell in cells):
            break
        if len(cells) != len(named):
            said = SHORT.format(cells=len(cells), heads=len(named))
            raise BadInput(
                "{name} row {number}".format(name=name, number=number), said, "download it again"
            )
        rows.append(dict(zip(named, cells, strict=True)))
    return rows


def _head_values(lines: Sequence[str]) -> dict[str, Any]:
    """Return what lines like ``Slope: 0 deg.`` say, as numbers where they are."""
    found: dict[str, Any] = {}
    for line in lines:
        key, mark, value = line.partition(":")
        if mark and value.split():
            found[key.strip()] = value.split()[0]
    return found


def _number(name: str, text: Any) -> float:
    try:
        return float(text)
    except (TypeError, ValueError):
        raise BadInput(name, NOT_NUMBER, "download it again", text=str(text)) from None


def _pvgis(name: str, rows: list[dict[str, Any]], head: Mapping[str, Any], first: int) -> Archive:
    """Return PVGIS rows: irradiance of the moment, at the time or so many hours after it.

    PVGIS user manual: times are UTC, of the satellite's image; a typical year says how far its
    light lies behind the full hour. G on the inclined plane counts where that plane is level.
    """
    slope = _number(name, head.get("Slope", 0))
    if slope > 0.0:
        raise BadInput(name, LEVEL, ASK_LEVEL, slope=slope)
    typical = bool(rows) and "time(UTC)" in rows[0]
    ahead = timedelta(
        hours=_number(name, head.get("Irradiance Time Offset (h)", 0)) if typical else 0
    )

    def _read(row: Mapping[str, Any]) -> dict[str, Any]:
        made = {PVGIS[key]: value for key, value in row.items() if key in PVGIS}
        if "Gb(i)" in row:
            made["dhi"] = row["Gd(i)"]
            made["ghi"] = sum(_number(name, row.get(key, 0)) for key in ("Gb(i)", "Gd(i)", "Gr(i)"))
        if str(made.get("dni", "")).startswith("-0"):
            made["dni"] = 0
        return made

    return _timed(
        name,
        rows,
        first,
        _read,
        lambda row: _stamp(row, "time(UTC)" if typical else "time", ahead),
        typical=typical,
    )


def _stamp(row: Mapping[str, Any], key: str, ahead: timedelta) -> str:
    moment = datetime.strptime(str(row[key]), "%Y%m%d:%H%M")  # noqa: DTZ007 - told as UTC below
    return f"{(moment + ahead).isoformat()}+00:00"


def _nsrdb(name: str, lines: Sequence[str], at: int) -> Archive:
    """Return NSRDB rows: the moment at the minute told, in the standard time of the head."""
    keys, values = csv.reader(lines[:2])
    told = dict(zip(keys, values, strict=False))
    hours = _number(name, told.get("Time Zone", told.get("Time zone")))
    minutes = round(60.0 * abs(hours))
    zone = f"{'-' if hours < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"

    def stamp(row: Mapping[str, Any]) -> str:
        year, month, day, hour, minute = (
            int(row[key]) for key in ("Year", "Month", "Day", "Hour", "Minute")
        )
        return f"{datetime(year, month, day, hour, minute).isoformat()}{zone}"  # noqa: DTZ001

    rows = _until_blank(name, lines, at)
    years = [row["Year"] for row in rows]

    def _read(row: Mapping[str, Any]) -> dict[str, Any]:
        return {NSRDB[key]: value for key, value in row.items() if key in NSRDB}

    return _timed(name, rows, at + 2, _read, stamp, typical=years != sorted(years))


def _timed(
    name: str,
    rows: Sequence[Mapping[str, Any]],
    first: int,
    read: Callable[[Mapping[str, Any]], dict[str, Any]],
    stamp: Callable[[Mapping[str, Any]], str],
    *,
    typical: bool,
) -> Archive:
    """Return rows of moments; of a typical year, months of several years, in one."""
    made = []
    for number, row in enumerate(rows, first):
        try:
            when = stamp(row)
        except (KeyError, TypeError, ValueError):
            where = "{name} row {number}".format(name=name, number=number)
            raise BadInput(where, "its time cannot be read", "download it again") from None
        if typical:
            if when[5:10] == "02-29":
                continue
            when = f"2001{when[4:]}"
        made.append({"time": when, **read(row)})
    units = {"ghi": "W/m2", "dni": "W/m2", "dhi": "W/m2", "temperature": "C", "humidity": "percent"}
    found = [key for key in units if made and key in made[0]]
    columns = {key: Column(key, units[key]) for key in found}
    kind = "typical year" if typical else "measured"
    return Archive(made, TableMapping(columns=columns, stamp="middle", kind=kind, gaps=True), first)


def _open_meteo(name: str, rows: list[dict[str, Any]], offset_s: float, first: int) -> Archive:
    if offset_s:
        raise BadInput(name, OFFSET, ASK_UTC, hours=offset_s / 3600.0)
    kind = "measured" if len(rows) > FORECAST_ROWS else "forecast"
    return _table(rows, OPEN_METEO, "time", kind, first)


def _table(
    rows: list[dict[str, Any]],
    known: Mapping[str, tuple[str, str, str]],
    time: str,
    kind: str,
    first: int,
) -> Archive:
    """Return rows whose columns are read as they stand."""
    columns = {
        quantity: Column(key, unit, stamp)
        for key, (quantity, unit, stamp) in known.items()
        if rows and key in rows[0]
    }
    mapping = TableMapping(
        time=Column(time, "ISO"),
        columns=columns,
        time_zone="UTC",
        stamp="end",
        kind=kind,
        gaps=True,
    )
    return Archive(rows, mapping, first)
