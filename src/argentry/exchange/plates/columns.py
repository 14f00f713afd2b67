"""The plain table of plates: its columns, how a cell is read, and the page that lists them.

One row is one making of a plate. Columns may stand in any order and any may be left out but `plate`
and `date`; a column that is not known here is kept as a condition of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from functools import cache
from typing import Any

from argentry import trade
from argentry.errors import BadInput, check_range, did_you_mean
from argentry.records.plate import GRADES, STAGES, VERDICTS
from argentry.trade import columns as trade_columns
from argentry.trade.columns import Column
from argentry.trade.sizes import plate_sizes

REQUIRED = ("plate", "date")
IN_THE_LIST = "use a key of docs/plates-csv.md, or of: argentry plate defect --list"


@cache
def columns() -> tuple[Column, ...]:
    """Return every column, in the order in which they are written."""
    return tuple(
        replace(one, words=_words(one.words_of)) if one.words_of else one
        for one in trade_columns.columns().values()
    )


@cache
def column_names() -> tuple[str, ...]:
    """Return the name of every column, in the order in which they are written."""
    return tuple(column.name for column in columns())


@cache
def defect_stages() -> Mapping[str, tuple[str, ...]]:
    """Return every defect by its key, with the stages it may come from."""
    return {row["key"]: tuple(row["stages"]) for row in trade.toml("defects")["defect"]}


def read_cell(column: Column, text: str, where: str) -> Any:
    """Return the value of one cell.

    Parameters
    ----------
    column : Column
        The column it stands in.
    text : str
        As written; spaces at both ends do not count.
    where : str
        Row and column, for the sentence.

    Returns
    -------
    str, float, int, date, datetime, tuple of (str, str), or None
        None for an empty cell. Defects as pairs of key and stage.

    Raises
    ------
    BadInput
        If the cell is not what its column allows.
    """
    text = text.strip()
    if not text:
        if column.name in REQUIRED:
            raise BadInput(where, "the cell is empty", "give {allowed}", allowed=column.allowed())
        return None
    if column.kind == "word" and text not in column.words:
        raise BadInput(
            where, "{text!r} is not known", "use {allowed}", text=text, allowed=column.allowed()
        )
    if column.kind in ("number", "whole number"):
        return _number(column, text, where)
    if column.kind in ("date", "time"):
        return _moment(column, text, where)
    return _defects(text, where) if column.kind == "defects" else text


def _words(kind: str) -> tuple[str, ...]:
    if kind == "size":
        return tuple(size.name for size in plate_sizes())
    if kind == "coat_colour":
        return tuple(dict.fromkeys(row["word"] for row in trade.toml("film")["band"]))
    return {"outcome": ("ok", "fault"), "verdict": VERDICTS, "grade": GRADES}[kind]


def _number(column: Column, text: str, where: str) -> float | int:
    try:
        value = float(text)
    except ValueError:
        raise BadInput(
            where, "{text!r} is not a number", "give {allowed}", text=text, allowed=column.allowed()
        ) from None
    check_range(where, value, column.low, column.high, column.unit)
    if column.kind == "number":
        return value
    if value != int(value):
        raise BadInput(
            where, "{text} is not whole", "give {allowed}", text=text, allowed=column.allowed()
        )
    return int(value)


def _moment(column: Column, text: str, where: str) -> date | datetime:
    try:
        if column.kind == "date":
            return date.fromisoformat(text)
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(
            where,
            "{text!r} is not a {kind}",
            "give {allowed}",
            text=text,
            kind=column.kind,
            allowed=column.allowed(),
        ) from None
    if moment.tzinfo is None:
        raise BadInput(
            where, "{text!r} has no offset", "give {allowed}", text=text, allowed=column.allowed()
        )
    return moment


def _defects(text: str, where: str) -> tuple[tuple[str, str], ...]:
    out = []
    known = defect_stages()
    for part in text.split(";"):
        key, _, stage = part.strip().partition("@")
        if key not in known:
            right = did_you_mean(key, known, IN_THE_LIST)
            raise BadInput(where, "{key!r} is not a known defect", right, key=key)
        if not stage and len(known[key]) == 1:
            [stage] = known[key]
        if stage not in STAGES:
            raise BadInput(
                where,
                "{part!r} names no stage",
                "add @ and one of {stages}",
                part=part.strip(),
                stages=", ".join(STAGES if stage else known[key]),
            )
        out.append((key, stage))
    return tuple(out)
