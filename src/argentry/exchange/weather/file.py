"""Read a weather file of any form: EPW and TMY3 typical years, tables by mapping."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from argentry.arrays import Floats, Truth, Whole
from argentry.errors import BadInput
from argentry.exchange.weather.archives import archive_of
from argentry.exchange.weather.mapping import QUANTITIES, TableMapping, read_mapping
from argentry.exchange.weather.table import read_csv, read_json, weather_of_rows
from argentry.exchange.weather.times import TYPICAL_YEAR
from argentry.files import read_file
from argentry.records.weather import Weather

LARGEST_BYTES = 100_000_000
MIXED = "its files are not all measured hours of one step"
MANY = "{name} ({count} files)"
EPW_COLUMNS = 35
# where in a row, from 0; EnergyPlus, Auxiliary Programs, EPW data dictionary
EPW_AT = {"month": 1, "day": 2, "hour": 3, "temp_air": 6, "relative_humidity": 8}
EPW_AT |= {"ghi": 13, "dni": 14, "dhi": 15, "total_sky_cover": 22}

# column: (quantity, values at or above which mean "missing" in EPW, factor).
# EnergyPlus, Auxiliary Programs, EPW data dictionary: missing means at or above the number given.
EPW_FIELDS: dict[str, tuple[str, float, float]] = {
    "ghi": ("ghi", 9999.0, 1.0),
    "dni": ("dni", 9999.0, 1.0),
    "dhi": ("dhi", 9999.0, 1.0),
    "total_sky_cover": ("cloud", 99.0, 0.1),
    "temp_air": ("temperature", 99.9, 1.0),
    "relative_humidity": ("humidity", 999.0, 1.0),
}
# TMY3 writes -9900 for what is missing (Wilcox and Marion, Users Manual for TMY3 Data Sets, 2008).
TMY3_FIELDS: dict[str, tuple[str, float, float]] = {
    "GHI (W/m^2)": ("ghi", -9900.0, 1.0),
    "DNI (W/m^2)": ("dni", -9900.0, 1.0),
    "DHI (W/m^2)": ("dhi", -9900.0, 1.0),
    "TotCld (tenths)": ("cloud", -9900.0, 0.1),
    "Dry-bulb (C)": ("temperature", -9900.0, 1.0),
    "RHum (%)": ("humidity", -9900.0, 1.0),
}
# Both forms give these at the stamp, that is at the end of the hour, not as the hour's mean.
AT_THE_STAMP = ("cloud", "temperature", "humidity")


def read_weather_file(path: Path, mapping: Path | None = None) -> Weather:
    """Return the weather in file `path`.

    Parameters
    ----------
    path : Path
        ``.epw``, a TMY3 ``.csv``, or a table ``.csv`` or ``.json``.
    mapping : Path or None
        A TOML file that says what the columns of a table mean; None: the file of the same name
        with the ending ``.toml``, if there is one, else the table says it itself.

    Raises
    ------
    BadInput
        If it cannot be read or understood: one sentence, with row and column where there is one.
    """
    text = _text(path)
    name = path.name
    beside = path.with_suffix(".toml")
    table = path.suffix.lower() in (".csv", ".json", ".txt") and beside.name != "studio.toml"
    if mapping is None and table and beside.is_file():
        mapping = beside
    if mapping is None:
        if path.suffix.lower() == ".epw" or text.startswith("LOCATION,"):
            return _epw(name, text)
        if "Date (MM/DD/YYYY)" in text[:2000].partition("\n")[2].partition("\n")[0]:
            return _tmy3(name, text)
    if mapping is None and text.startswith('{"form": "argentry kept answer'):
        from argentry.exchange.services.kept import kept_from

        return kept_from(str(path), text).weather()
    archive = archive_of(name, text) if mapping is None else None
    if archive is not None:
        return weather_of_rows(name, archive.rows, archive.mapping, archive.first_row)
    how = TableMapping() if mapping is None else read_mapping(mapping)
    if path.suffix.lower() == ".json" or text.lstrip()[:1] in ("{", "["):
        return read_json(name, text, how)
    return read_csv(name, text, how)


def one_after_the_other(name: str, parts: Sequence[Weather]) -> Weather:
    """Return measured hours of several files, a year each, as one.

    Raises
    ------
    BadInput
        If there is none, they overlap, or are not all measured in the same step.
    """
    if not parts:
        raise BadInput(name, "there is no weather file in it", "put in files of measured years")
    parts = sorted(parts, key=lambda part: part.start_utc[0])
    if len(parts) == 1:
        return parts[0]
    if any(part.kind != "measured" or part.step_s != parts[0].step_s for part in parts):
        raise BadInput(name, MIXED, "keep files of measured hours of one step in it")
    start = np.concatenate([part.start_utc for part in parts])
    if np.any(np.diff(start) <= np.timedelta64(0, "s")):
        raise BadInput(name, "its files hold the same hours twice", "keep each year once")
    joined: dict[str, Any] = {
        quantity.name: np.concatenate([getattr(part, quantity.name) for part in parts])
        for quantity in QUANTITIES.values()
    }
    source = MANY.format(name=name, count=len(parts))
    return Weather(start, parts[0].step_s, **joined, kind="measured", source=source)


def _text(path: Path) -> str:
    data = read_file(path, LARGEST_BYTES, "name a weather file of at most 100 MB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")  # place names of older EPW files
    if "\0" in text:
        raise BadInput(str(path), "this is not a text file", "give EPW, TMY3, CSV or JSON")
    if not text.strip():
        raise BadInput(
            str(path), "the weather file is empty", "give EPW, TMY3, CSV or JSON with rows"
        )
    return text


def _epw(name: str, text: str) -> Weather:
    """Return a typical year from EPW text.

    Hour 1 is 00:01 to 01:00 and radiation is what fell in the minutes before the time indicated, so
    row `hour` is the interval from `hour` - 1 to `hour` in local standard time.
    """
    lines = text.splitlines()
    place = lines[0].split(",")
    if place[0] != "LOCATION" or len(place) < 10 or len(lines) < 9:
        raise BadInput(
            name,
            "this is not an EPW file",
            "an EPW begins with LOCATION, has 8 head lines and then the hours",
        )
    periods = lines[7].split(",")
    if len(periods) > 2 and periods[2].strip() != "1":
        raise BadInput(
            "{name} row 8".format(name=name),
            "there are {periods} rows per hour",
            "give an hourly EPW file",
            periods=periods[2].strip(),
        )
    for number, line in enumerate(lines[8:], 9):
        if line.strip() and line.count(",") not in (EPW_COLUMNS - 1, EPW_COLUMNS - 2):
            raise BadInput(
                "{name} row {number}".format(name=name, number=number),
                "{count} cells",
                "an EPW row has {epw_columns}",
                count=line.count(",") + 1,
                epw_columns=EPW_COLUMNS,
            )
    rows = [line.split(",") for line in lines[8:] if line.strip()]
    data = {column: [row[at] for row in rows] for column, at in EPW_AT.items()}
    stamps = list(zip(data["month"], data["day"], data["hour"], strict=True))
    for number, stamp in enumerate(stamps, 9):
        if not all(part.strip() for part in stamp):
            raise BadInput(
                "{name} row {number}".format(name=name, number=number),
                "month, day or hour is missing",
                "correct the row",
            )
    source = "{name} (EPW typical year, {city})".format(name=name, city=place[1])
    zone = _zone_hours(name, place[8])
    return _typical_year(name, data, stamps, zone, EPW_FIELDS, source, first_row=9)


def _tmy3(name: str, text: str) -> Weather:
    """Return a typical year from TMY3 text.

    The stamp is the end of the hour in local standard time, 01:00 to 24:00.
    """
    try:
        first, heads, *rows = csv.reader(text.splitlines())
    except csv.Error as error:
        raise BadInput(
            name, "this TMY3 file cannot be read ({error})", "download it again", error=error
        ) from None
    if len(first) < 4 or "Time (HH:MM)" not in heads:
        raise BadInput(name, "place, time zone or time is missing", "download it again")
    _, station, _, zone, *_ = first
    data = {
        head: [row[at] if at < len(row) else "" for row in rows] for at, head in enumerate(heads)
    }
    days = (cell.split("/") for cell in data["Date (MM/DD/YYYY)"])
    hours = (cell.partition(":")[0] for cell in data["Time (HH:MM)"])
    stamps = [(day[0], "/".join(day[1:2]), hour) for day, hour in zip(days, hours, strict=True)]
    source = "{name} (TMY3 typical year, {station})".format(name=name, station=station)
    hours_east = _zone_hours(name, zone)
    return _typical_year(name, data, stamps, hours_east, TMY3_FIELDS, source, first_row=3)


def _zone_hours(name: str, cell: str) -> float:
    try:
        hours = float(cell)
    except ValueError:
        hours = np.nan
    if not -14 <= hours <= 14:
        raise BadInput(
            "{name} row 1".format(name=name),
            "its time zone {cell} h is not possible",
            "give -14 to 14 h",
            cell=cell,
        )
    return hours


def _stamp(where: str, month: str, day: str, hour: str) -> tuple[str, float]:
    """Return the day in the typical year and the hour that ends; 29 February is kept as it is."""
    try:
        ends = int(float(hour))
        told = f"{date(2000, int(month), int(day)):%m-%d}"
    except (ValueError, OverflowError):
        ends, told = -1, ""
    if not 0 <= ends <= 24:
        said = "{month}/{day} {hour} is not a month, day and hour"
        raise BadInput(where, said, "correct the row", month=month, day=day, hour=hour)
    return f"{TYPICAL_YEAR}-{told}", ends


def _typical_year(
    name: str,
    data: Mapping[str, Sequence[str]],
    stamps: Sequence[tuple[str, str, str]],
    zone_hours: float,
    fields: dict[str, tuple[str, float, float]],
    source: str,
    *,
    first_row: int,
) -> Weather:
    """Return the hours of a typical year in UTC, in the year `TYPICAL_YEAR`."""
    if not stamps:
        raise BadInput(name, "this file has no hours", "get it again from its source")
    read = [
        _stamp("{name} row {at}".format(name=name, at=at), *stamp)
        for at, stamp in enumerate(stamps, first_row)
    ]
    hour_end = np.array([hour for _, hour in read])
    keep = np.array([not day.endswith("02-29") for day, _ in read])
    rows = np.flatnonzero(keep) + first_row
    days = np.array([day for day, _ in read if not day.endswith("02-29")], "datetime64[s]")
    local = days + np.round((hour_end[keep] - 1.0) * 3600.0).astype("timedelta64[s]")
    # A last stamp written 00:00 of 1 January belongs to the end of the year before.
    wrapped = local < np.datetime64(f"{TYPICAL_YEAR}-01-01")
    local = np.where(wrapped, local + np.timedelta64(365, "D"), local)
    back = np.flatnonzero(np.diff(local) <= np.timedelta64(0, "s"))
    if back.size:
        raise BadInput(
            "{name} row {rows}".format(name=name, rows=rows[back[0] + 1]),
            "this hour is not after the one above",
            "a typical year goes once from 1 January to 31 December",
        )
    values: dict[str, Any] = {q.name: np.full(len(local), np.nan) for q in QUANTITIES.values()}
    for column, (key, missing, factor) in fields.items():
        cells = _column(name, data, column, missing, factor, key, keep, rows)
        if key in AT_THE_STAMP:
            cells = _hour_mean(cells, whole_year=len(local) == 8760)
        if key != "temperature":
            cells = np.maximum(cells, 0.0)
        values[QUANTITIES[key].name] = np.minimum(cells, 100.0) if key == "humidity" else cells
    if all(np.isnan(values[f"{part}_w_m2"]).all() for part in ("ghi", "dni", "dhi")):
        raise BadInput(name, "every value of light is missing", "give a file with irradiance")
    start = local - np.timedelta64(round(zone_hours * 3600.0), "s")
    return Weather(start, 3600.0, **values, kind="typical year", source=source)


def _column(
    name: str,
    data: Mapping[str, Sequence[str]],
    column: str,
    missing: float,
    factor: float,
    key: str,
    keep: Truth,
    rows: Whole,
) -> Floats:
    """Return one column of a typical year, NaN where it is marked as missing."""
    quantity = QUANTITIES[key]
    what = quantity.about.partition(";")[0]
    if column not in data:
        raise BadInput(name, "there is no column for {column}", "download it again", column=what)
    try:
        raw = np.array([float(cell) if cell.strip() else np.nan for cell in data[column]])[keep]
    except ValueError as error:
        raise BadInput(
            name,
            "{column} is not all numbers ({error})",
            "correct that row",
            column=what,
            error=error,
        ) from None
    unknown = raw >= missing if missing > 0 else raw <= missing
    cells = np.where(unknown, np.nan, raw * factor)
    wrong = np.flatnonzero((cells < quantity.low) | (cells > quantity.high + 1e-9))
    if wrong.size:
        raise BadInput(
            "{name} row {rows}".format(name=name, rows=rows[wrong[0]]),
            "{raw:g} cannot be {column}",
            "correct the row or mark the value as missing",
            raw=raw[wrong[0]],
            column=what,
        )
    return cells


def _hour_mean(at_end: Floats, *, whole_year: bool) -> Floats:
    """Return the mean over each hour of readings taken at its end: halfway from the one before."""
    before = np.roll(at_end, 1)
    if not whole_year:
        before[0] = at_end[0]
    middle = (before + at_end) / 2
    return np.where(np.isnan(middle), np.where(np.isnan(at_end), before, at_end), middle)
