"""The columns of the plain table of plates: of ``columns.toml``, and those that readings fill.

A reading that is a column too states both in ``readings.toml``, so that unit and range stand once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from argentry.trade.entries import made, one_of, wrong
from argentry.trade.facts import toml

NUMBERS = ("number", "whole number")
KINDS = (*NUMBERS, "text", "word", "date", "time", "defects")
# lists of words that stand elsewhere: of sizes.toml, film.toml and the records of a plate
LISTS = ("size", "coat_colour", "outcome", "verdict", "grade")


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    name : str
        Its head, with the unit in the name.
    kind : str
        One of `KINDS`.
    group : str
        Part of the work it belongs to.
    about : str
        What it is: one sentence.
    empty : str
        What an empty cell means.
    unit : str
        Unit of a number; empty for a pure number.
    low, high : float
        Range of a number, both ends allowed. [unit]
    words : tuple of str
        Allowed words of the kind ``"word"``.
    words_of : str
        The list of `LISTS` that they are taken from, when they stand elsewhere.
    before : str
        Column of the same group that it is written before; empty: it ends its group.
    """

    name: str
    kind: str
    group: str
    about: str
    empty: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    words: tuple[str, ...] = ()
    words_of: str = ""
    before: str = ""

    def allowed(self) -> str:
        """Return what may be written, in words: ``"a number from 0 to 1"``."""
        if self.kind in NUMBERS:
            unit = f" {self.unit}" if self.unit else ""
            return "a {kind} from {low:.10g} to {high:.10g}{unit}".format(
                kind=self.kind, low=self.low, high=self.high, unit=unit
            )
        if self.kind == "word":
            return "one of " + ", ".join(self.words)
        return {
            "text": "any text",
            "date": "a date such as 2025-06-21",
            "time": "a time with its offset such as 2025-06-21T13:20:00+02:00",
            "defects": "key@stage, separated by semicolons",
        }[self.kind]


@cache
def columns() -> Mapping[str, Column]:
    """Return every column by its name, in the order in which they are written.

    Raises
    ------
    ArgentryError
        If an entry is incomplete or contradicts itself or another.
    """
    return read_columns(toml("columns"), toml("readings")["reading"])


def read_columns(
    plain: Mapping[str, Mapping[str, Any]], readings: Iterable[Mapping[str, Any]]
) -> Mapping[str, Column]:
    """Return the columns that entries of both files state; see `columns`."""
    out = {name: _column("columns.toml", name, entry) for name, entry in plain.items()}
    for reading in readings:
        if "column" not in reading:
            continue
        where, name = "readings.toml", str(reading.get("key", "?"))
        own = {key: reading[key] for key in ("unit", "low", "high") if key in reading}
        column = _column(where, name, {"kind": "number", **own, **reading["column"]})
        out = _placed(out, column)
    return MappingProxyType(out)


def _column(file: str, name: str, entry: Mapping[str, Any]) -> Column:
    where = "{file}, column {name}".format(file=file, name=name)
    read: Column = made(Column, where, {"name": name, **entry})
    one_of(where, "kind", read.kind, KINDS)
    one_of(where, "words_of", read.words_of, ("", *LISTS))
    if read.kind in NUMBERS and not read.low < read.high:
        raise wrong(where, "its range is empty", "give low < high")
    if (read.kind == "word") != bool(read.words or read.words_of):
        raise wrong(where, "its words do not fit its kind", "give words to the kind word alone")
    return read


def _placed(known: Mapping[str, Column], column: Column) -> dict[str, Column]:
    """Return the columns with one more, at its place in its group."""
    where = "readings.toml, column {name}".format(name=column.name)
    if column.name in known:
        raise wrong(where, "it stands in columns.toml too", "state it once")
    one_of(where, "group", column.group, dict.fromkeys(one.group for one in known.values()))
    own = [name for name, one in known.items() if one.group == column.group]
    one_of(where, "before", column.before, ("", *own))
    names = list(known)
    at = names.index(column.before) if column.before else names.index(own[-1]) + 1
    rows = list(known.items())
    return dict([*rows[:at], (column.name, column), *rows[at:]])
