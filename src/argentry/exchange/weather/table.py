"""Read a table of weather, CSV or JSON, by a mapping or by its own column names."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from argentry.arrays import Floats, Times
from argentry.errors import BadInput, did_you_mean
from argentry.exchange.weather.mapping import (
    HEAD_KEYS,
    NAMED,
    QUANTITIES,
    Column,
    TableMapping,
    with_head,
)
from argentry.exchange.weather.times import SHIFT, into_typical_year, starts
from argentry.records.weather import Weather

NOT_KNOWN = {"", "nan", "na", "n/a", "null", "none", "-", "--"}
LIGHT = ("ghi", "dni", "dhi", "cloud", "sunshine")


@dataclass(frozen=True)
class Rows:
    """A table before it is understood.

    Attributes
    ----------
    columns : dict of str to list
        Cells by column name, all of one length.
    wheres : list of str
        Where each row stands: ``"sky.csv row 7"``.
    """

    columns: dict[str, list[Any]]
    wheres: list[str]


def read_csv(name: str, text: str, mapping: TableMapping) -> Weather:
    """Return the weather in the CSV text of file `name`.

    Raises
    ------
    BadInput
        If it cannot be understood: one sentence with row and column.
    """
    lines = text.splitlines()
    head: dict[str, Any] = {}
    first = 0
    for first, line in enumerate(lines):
        if first < mapping.lines_above:
            continue
        if line.strip() and not line.lstrip().startswith("#"):
            break
        key, colon, value = line.lstrip("# ").partition(":")
        if colon and key.strip() in HEAD_KEYS:
            head[key.strip()] = value.strip()
    else:
        raise BadInput(name, "the file has no rows", "give a header line and one row for each hour")
    if "missing" in head:
        head["missing"] = head["missing"].split()
    mapping = with_head(name, mapping, head)
    separator = mapping.separator or max(",;\t", key=lines[first].count)
    if len(separator) != 1:
        raise BadInput(
            "{name} separator".format(name=name),
            "{separator!r} is not one sign",
            "give one such as ;",
            separator=separator,
        )
    try:
        rows = list(csv.reader(lines[first:], delimiter=separator))
    except csv.Error as error:
        raise BadInput(
            name, "this is not CSV ({error})", "correct it or save it again", error=error
        ) from None
    names = [" ".join(cell.split()) for cell in rows[0]]
    body = [(first + n, row) for n, row in enumerate(rows[1:], 2) if any(c.strip() for c in row)]
    for number, row in body:
        if len(row) != len(names):
            raise BadInput(
                "{name} row {number}".format(name=name, number=number),
                "{row_count} cells where the header has {names_count} columns",
                "give every row the same columns (and a decimal point, not a comma)",
                row_count=len(row),
                names_count=len(names),
            )
    columns = {column: [row[i] for _, row in body] for i, column in enumerate(names)}
    return _weather(name, "CSV", Rows(columns, [f"{name} row {n}" for n, _ in body]), mapping)


def read_json(name: str, text: str, mapping: TableMapping) -> Weather:
    """Return the weather in the JSON text of file `name`.

    Raises
    ------
    BadInput
        If it cannot be understood: one sentence with entry and key.
    """
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadInput(name, "this is not JSON: {error}", "correct it there", error=error) from None
    if isinstance(data, dict):
        mapping = with_head(name, mapping, {k: v for k, v in data.items() if k in HEAD_KEYS})
    return weather_of(name, data, mapping)


def weather_of(name: str, data: Any, mapping: TableMapping) -> Weather:
    """Return the weather in JSON that is parsed already.

    Parameters
    ----------
    name : str
        Of the file or the service, for sentences and sheets.
    data : Any
        What it holds.
    mapping : TableMapping
        How it is to be read.

    Raises
    ------
    BadInput
        If it cannot be understood: one sentence with entry and key.
    """
    if isinstance(data, dict) and mapping.records:
        data = within(data, *mapping.records.split("."))
        if data is None:
            raise BadInput(
                name,
                "there are no rows under {records!r}",
                "name their path as records",
                records=mapping.records,
            )
    return _weather(name, "JSON", _json_rows(name, data), mapping)


def weather_of_rows(
    name: str, rows: Sequence[Mapping[str, Any]], mapping: TableMapping, first: int
) -> Weather:
    """Return the weather in rows of a file, the first of which stands in its row `first`.

    Raises
    ------
    BadInput
        If it cannot be understood: one sentence with row and column.
    """
    columns = {key: [row.get(key) for row in rows] for key in (rows[0] if rows else ())}
    wheres = [f"{name} row {number}" for number in range(first, first + len(rows))]
    return _weather(name, "archive", Rows(columns, wheres), mapping)


def within(data: Any, *path: str) -> Any:
    """Return what parsed JSON holds at a path, None where it does not go so far."""
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return data


def _json_rows(name: str, data: Any) -> Rows:
    """Return a list of objects, or an object of lists, as columns."""
    if isinstance(data, dict):
        columns = {
            " ".join(key.split()): value for key, value in data.items() if isinstance(value, list)
        }
        lengths = {len(value) for value in columns.values()}
        if len(lengths) > 1:
            raise BadInput(
                name, "its lists differ in length", "give every list one value for each time"
            )
        count = lengths.pop() if lengths else 0
    elif isinstance(data, list) and all(isinstance(row, dict) for row in data):
        rows = [dict(_flat(row)) for row in data]
        keys = list(dict.fromkeys(key for row in rows for key in row))
        columns = {" ".join(key.split()): [row.get(key) for row in rows] for key in keys}
        count = len(data)
    else:
        raise BadInput(
            name, "its rows are neither objects nor lists", "give one object for each time"
        )
    return Rows(columns, [f"{name} entry {n}" for n in range(1, count + 1)])


def _flat(row: dict[str, Any], path: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the values of a row, those of objects within it by their paths with points."""
    for key, value in row.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{path}{key}.")
        else:
            yield f"{path}{key}", value


def _weather(name: str, form: str, rows: Rows, mapping: TableMapping) -> Weather:
    if not rows.wheres:
        raise BadInput(name, "the file has no rows", "give a header line and one row for each hour")
    mapping = _known_columns(name, rows, mapping)
    if mapping.stamp is None:
        raise BadInput(
            name,
            "nothing says which point of the interval the times name",
            "say stamp: start, middle or end",
        )
    start_utc, step_s = starts(
        [f"{where} column {mapping.time.name}" for where in rows.wheres],
        rows.columns[mapping.time.name],
        mapping.time.unit,
        mapping.time_zone,
        mapping.stamp,
        None if mapping.step_minutes is None else 60 * mapping.step_minutes,
        gaps=mapping.gaps,
    )
    count = len(rows.wheres)
    values: dict[str, Any] = {q.name: np.full(count, math.nan) for q in QUANTITIES.values()}
    members: dict[str, Floats] = {}
    for quantity, column in mapping.columns.items():
        away = step_s * (SHIFT[mapping.stamp] - SHIFT[column.stamp or mapping.stamp])
        every = [
            _moved(_values(rows, quantity, one, step_s, mapping), start_utc, away, step_s)
            for one in (column, *_member_columns(column, rows))
        ]
        values[QUANTITIES[quantity].name] = every[0]
        if len(every) > 1:
            members[QUANTITIES[quantity].name] = np.stack(every)
    _same_count(name, members)
    if all(np.isnan(values[QUANTITIES[quantity].name]).all() for quantity in LIGHT):
        raise BadInput(
            name, "every value of light and cloud is missing", "give at least one of them"
        )
    if mapping.kind == "typical year":
        start_utc, order = into_typical_year(name, start_utc)
        values = {field: column[order] for field, column in values.items()}
        members = {field: every[:, order] for field, every in members.items()}
    source = f"{name} ({form})"
    return Weather(start_utc, step_s, **values, kind=mapping.kind, source=source, members=members)


def _member_columns(column: Column, rows: Rows) -> list[Column]:
    """Return the columns of an ensemble's other forecasts, in the order of their names."""
    if not column.members:
        return []
    before, _, after = column.members.partition("*")
    found = [
        name
        for name in rows.columns
        if name != column.name
        and name.startswith(before)
        and name.endswith(after)
        and len(name) > len(before) + len(after)
    ]
    return [replace(column, name=name) for name in sorted(found)]


def _same_count(name: str, members: Mapping[str, Floats]) -> None:
    counts = {len(every) for every in members.values()}
    if len(counts) > 1:
        raise BadInput(
            name,
            "its quantities have {fewest} and {most} forecasts each",
            "give every quantity the same members",
            fewest=min(counts),
            most=max(counts),
        )


def _moved(cells: Floats, start_utc: Times, away_s: float, step_s: float) -> Floats:
    """Return the means over the table's intervals of a column whose own lie `away_s` later.

    Half an interval off, a value is the mean of the two on either side: of readings at the hours,
    the mean over the hour between them.
    """
    if away_s == 0.0:
        return cells
    wanted = start_utc.astype(np.int64).astype(np.float64)
    own = wanted + away_s
    sides = []
    for at in (
        np.searchsorted(own, wanted, side="right") - 1,
        np.searchsorted(own, wanted, side="left"),
    ):
        inside = np.clip(at, 0, own.size - 1)
        near = np.abs(own[inside] - wanted) <= 0.5 * step_s
        sides.append(np.where(near, cells[inside], math.nan))
    before, after = sides
    middle = (before + after) / 2.0
    return np.where(np.isnan(middle), np.where(np.isnan(before), after, before), middle)


def _known_columns(name: str, rows: Rows, mapping: TableMapping) -> TableMapping:
    """Return the mapping with every column it names found, or known by its own name."""
    found = list(rows.columns)
    columns = dict(mapping.columns) or {
        NAMED[column][0]: Column(column, NAMED[column][1]) for column in found if column in NAMED
    }
    for column in (mapping.time, *columns.values()):
        if column.name not in rows.columns:
            has = "its columns are {found}".format(found=", ".join(found[:12]))
            hint = did_you_mean(column.name, found, has)
            raise BadInput(name, "there is no column {name}".format(name=column.name), hint)
    if not any(quantity in columns for quantity in LIGHT):
        raise BadInput(
            name,
            "no column tells of light or cloud (columns: {found})",
            "name one ghi_w_m2, dni_w_m2, cloud_percent or sunshine_min, or give a mapping",
            found=", ".join(found[:12]),
        )
    return replace(mapping, columns=columns)


def _values(
    rows: Rows, quantity: str, column: Column, step_s: float, mapping: TableMapping
) -> Floats:
    """Return one column in the unit of its field, NaN where the cell is empty."""
    what = QUANTITIES[quantity]
    factor, offset, per_interval = what.units[column.unit]
    raw = _numbers(rows, column.name, mapping)
    if column.unit == "okta":
        raw = np.where(raw == 9, 8.0, raw)  # WMO code figure 9: sky obscured
    values = (raw + offset) * (factor / step_s if per_interval else factor)
    # Sunshine and shares printed with rounding may pass their end by a hair.
    wrong = np.flatnonzero((values < what.low - 1e-6) | (values > what.high * (1 + 1e-6)))
    if wrong.size:
        at = int(wrong[0])
        low, high = (
            edge * (step_s if per_interval else 1.0) / factor - offset
            for edge in (what.low, what.high)
        )
        raise BadInput(
            "{wheres} column {name}".format(wheres=rows.wheres[at], name=column.name),
            "{raw:g} {unit} cannot be {partition}",
            "give {low:g} to {high:g} {unit}, or leave it empty",
            raw=raw[at],
            unit=column.unit,
            partition=what.about.partition(";")[0],
            low=low,
            high=high,
        )
    if quantity == "humidity":
        return np.minimum(values, 100.0)
    return values if quantity == "temperature" else np.maximum(values, 0.0)


def _numbers(rows: Rows, column: str, mapping: TableMapping) -> Floats:
    out = np.full(len(rows.wheres), math.nan)
    missing: Sequence[str] = mapping.missing
    for number, cell in enumerate(rows.columns[column]):
        text = "" if cell is None else str(cell).strip()
        if text.lower() in NOT_KNOWN or text in missing:
            continue
        try:
            value = float(text.replace(",", ".") if mapping.decimal == "," else text)
        except ValueError:  # words, and what JSON calls true or a list
            value = math.inf
        if not math.isfinite(value):
            raise BadInput(
                "{wheres} column {column}".format(wheres=rows.wheres[number], column=column),
                "{text!r} is not a number",
                "give a number, or leave it empty when it is not known",
                text=text,
            )
        out[number] = value
    return out
