"""What the columns of a weather table mean: quantities, units, and the maker's mapping file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from importlib.resources import files
from pathlib import Path
from typing import Any

from argentry.errors import BadInput, unknown
from argentry.files import read_toml

STAMPS = ("start", "middle", "end")
KINDS = ("forecast", "measured", "typical year")


@dataclass(frozen=True)
class Quantity:
    """One quantity a table may hold.

    Attributes
    ----------
    name : str
        Field of `Weather` that it fills.
    about : str
        What it is.
    unit : str
        Unit taken when the mapping names none.
    units : Mapping[str, tuple]
        Unit to (factor, offset, per_interval): value in the field's unit is
        ``(given + offset) * factor``, divided by the interval's seconds when `per_interval`.
    low, high : float
        Values outside cannot be true, in the field's unit.
    """

    name: str
    about: str
    unit: str
    units: Mapping[str, tuple[float, float, bool]]
    low: float
    high: float


def _quantities() -> tuple[Mapping[str, Quantity], Mapping[str, tuple[str, str]]]:
    """Return what a table may hold, by key; and names of columns with their key and unit."""
    path = files("argentry.exchange").joinpath("templates").joinpath("weather_quantities.toml")
    found: dict[str, Quantity] = {}
    named: dict[str, tuple[str, str]] = {}
    for key, row in tomllib.loads(path.read_text(encoding="utf-8")).items():
        units = {
            name: (float(one["factor"]), float(one.get("offset", 0.0)), bool(one.get("summed")))
            for name, one in row["units"].items()
        }
        about, low, high = row["about"], float(row["low"]), float(row["high"])
        found[key] = Quantity(row["field"], about, row["unit"], units, low, high)
        named |= {column: (key, unit) for column, unit in row["columns"].items()}
    return found, named


QUANTITIES, NAMED = _quantities()


@dataclass(frozen=True)
class Column:
    """One column that is read.

    Attributes
    ----------
    name : str
        As the file heads it; in JSON the path to it within a row, with points.
    unit : str
        A unit of its quantity; for the time ``"ISO"``, ``"unix"`` or a pattern such as
        ``"%d.%m.%Y %H:%M"``.
    stamp : str or None
        Which point of its own interval the time names; None: as the table's. An instant is the
        ``"middle"``.
    members : str
        Names of the columns of an ensemble's other forecasts, with a * for what tells them apart;
        empty for none.
    """

    name: str
    unit: str
    stamp: str | None = None
    members: str = ""


@dataclass(frozen=True)
class TableMapping:
    """How a table is to be read.

    Attributes
    ----------
    time : Column
        The column of times.
    columns : Mapping[str, Column]
        Key of `QUANTITIES` to its column; empty: columns are known by the names in `NAMED`.
    time_zone : str or None
        Zone of times without an offset.
    stamp : str or None
        Which point of the interval the time names: one of `STAMPS`.
    kind : str
        One of `KINDS`.
    step_minutes : float or None
        Length of an interval; None: from the times. [min]
    gaps : bool
        True when intervals may be missing.
    separator, decimal : str
        Of a CSV file; an empty separator is found from the header line.
    missing : tuple of str
        Cells that mean "not known", beside empty ones.
    records : str
        Of a JSON file: the path to the rows, with points.
    lines_above : int
        Of a CSV file: lines above its header line that are not part of the table.
    """

    time: Column = Column("time", "ISO")
    columns: Mapping[str, Column] = field(default_factory=dict)
    time_zone: str | None = None
    stamp: str | None = None
    kind: str = "forecast"
    step_minutes: float | None = None
    gaps: bool = False
    separator: str = ""
    decimal: str = "."
    missing: tuple[str, ...] = ()
    records: str = "hours"
    lines_above: int = 0


# Keys that may stand in the mapping, in "# key: value" lines, or at the top of a JSON file.
HEAD_KEYS = tuple(one.name for one in fields(TableMapping) if one.name not in ("time", "columns"))


def read_mapping(path: Path) -> TableMapping:
    """Return the mapping kept in the TOML file `path`.

    Raises
    ------
    BadInput
        If it cannot be read, or a key, unit or word in it is not known.
    """
    data = read_toml(path)
    where = path.name
    columns = data.pop("columns", None)
    if not isinstance(columns, dict) or not columns:
        raise BadInput(
            where,
            "there is no section [columns]",
            'add it with time = "..." and ghi = "..." or the like',
        )
    mapping = with_head(where, TableMapping(), data)
    known = ("time", *QUANTITIES)
    read: dict[str, Column] = {}
    for name, entry in columns.items():
        if name not in known:
            raise unknown(f"{where} [columns]", "quantity", name, known)
        read[name] = _column(f"{where} [columns] {name}", name, entry)
    time = read.pop("time", None)
    if time is None:
        raise BadInput(
            "{where} [columns]".format(where=where),
            "the time has no column",
            'add time = "name of the column"',
        )
    return replace(mapping, time=time, columns=read)


def _column(where: str, quantity: str, entry: Any) -> Column:
    from argentry.exchange.sheets.layout import column_entry  # only a maker's own file asks for it

    keys = ("column", "form") if quantity == "time" else ("column", "unit", "stamp", "members")
    entry = column_entry(where, entry, keys)
    if quantity == "time":
        return Column(entry["column"], str(entry.get("form", "ISO")))
    units = QUANTITIES[quantity].units
    unit = entry.get("unit", QUANTITIES[quantity].unit)
    if not isinstance(unit, str) or unit not in units:
        raise BadInput(
            where,
            "the unit {unit!r} is not known",
            "give one of {units}",
            unit=unit,
            units=", ".join(units),
        )
    stamp = entry.get("stamp")
    if stamp is not None and stamp not in STAMPS:
        raise _not_a_word(f"{where} stamp", stamp, STAMPS)
    members = entry.get("members", "")
    if not isinstance(members, str) or (members and members.count("*") != 1):
        raise BadInput(
            where,
            "members = {members!r} does not hold one *",
            "write the name of a member's column with * for its number",
            members=members,
        )
    return Column(entry["column"], unit, stamp, members)


def _not_a_word(where: str, value: Any, words: tuple[str, ...]) -> BadInput:
    what, right = "{value!r} is not known", "give one of {words}"
    return BadInput(where, what, right, value=value, words=", ".join(words))


def with_head(where: str, mapping: TableMapping, head: Mapping[str, Any]) -> TableMapping:
    """Return `mapping` with the keys of `HEAD_KEYS` that `head` gives.

    Raises
    ------
    BadInput
        If a key is not known or its value is not allowed.
    """
    changes: dict[str, Any] = {}
    for name, value in head.items():
        place = f"{where} {name}"
        if name not in HEAD_KEYS:
            raise unknown(where, "key", name, HEAD_KEYS)
        if name in ("stamp", "kind"):
            words = STAMPS if name == "stamp" else KINDS
            if value not in words:
                raise _not_a_word(place, value, words)
        elif name == "step_minutes":
            value = _step(place, value)  # noqa: PLW2901 - the value as it is kept
        elif name == "lines_above":
            value = _lines(place, value)  # noqa: PLW2901
        elif name == "gaps":
            value = value in (True, "true", "yes")  # noqa: PLW2901
        elif name == "missing":
            items = value if isinstance(value, list) else [value]
            value = tuple(str(item).strip() for item in items)  # noqa: PLW2901
        elif name == "decimal" and value not in (".", ","):
            raise BadInput(place, "{value!r} is not a decimal sign", "give . or ,", value=value)
        elif not isinstance(value, str):
            raise BadInput(place, "{value!r} is not text", "write it in quotes", value=value)
        changes[name] = value
    return replace(mapping, **changes)


def _step(where: str, value: Any) -> float:
    try:
        minutes = float(value)
    except (TypeError, ValueError):
        minutes = float("nan")
    if not 1.0 <= minutes <= 180.0:
        raise BadInput(
            where,
            "{value!r} is not a step",
            "give the minutes of an interval, 1 to 180",
            value=value,
        )
    return minutes


def _lines(where: str, value: Any) -> int:
    text = str(value)
    if not (text.isascii() and text.isdigit() and len(text) < 4):
        raise BadInput(
            where, "{value!r} is not a number of lines", "give a whole number to 999", value=value
        )
    return int(text)
