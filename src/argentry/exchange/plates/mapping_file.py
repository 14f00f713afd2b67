"""The mapping file of a table of plates, read and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from argentry.errors import BadInput, unknown
from argentry.exchange.plates.days import ISO, OR
from argentry.exchange.plates.mapping import (
    COUNTS,
    HEAD_KEYS,
    LISTS,
    TEXTS,
    PlateMapping,
    Source,
    fields,
    units_of,
)
from argentry.exchange.plates.numbers import DECIMALS
from argentry.exchange.sheets.grid import ENCODINGS
from argentry.exchange.sheets.layout import column_entry
from argentry.files import read_toml
from argentry.trade.columns import Column
from argentry.zones import zone_named


def read_plate_mapping(path: Path) -> PlateMapping:
    """Return the mapping kept in a TOML file.

    Returns
    -------
    PlateMapping
        Checked against the fields, not yet against a table.

    Raises
    ------
    BadInput
        If it cannot be read, or a key, field, unit or word in it is not known.
    """
    where = path.name
    data = read_toml(path)
    named = data.pop("columns", {})
    if not isinstance(named, dict):
        raise BadInput(
            where, "columns must be a section", 'write [columns] and plate = "..." under it'
        )
    mapping = _head(where, data)
    return replace(mapping, fields=_sources(f"{where} [columns]", named))


def _head(where: str, data: Mapping[str, Any]) -> PlateMapping:
    mapping = PlateMapping()
    for key, value in data.items():
        place = f"{where} {key}"
        if key not in HEAD_KEYS:
            raise unknown(where, "key", key, (*HEAD_KEYS, "[columns]"))
        if key in TEXTS and not isinstance(value, str):
            raise BadInput(place, "{value!r} is not text", "write it in quotes", value=value)
        if key == "separator" and len(value) != 1:
            raise BadInput(
                place, "{value!r} is not a separator", 'give one sign, such as ";"', value=value
            )
        if key == "encoding" and value not in ENCODINGS:
            raise BadInput(
                place,
                "{value!r} is not known",
                "give one of {encodings}",
                value=value,
                encodings=", ".join(ENCODINGS),
            )
        if key == "decimal":
            _check_sign(place, value)
        if key == "decimals":
            _check_signs(place, value)
        if key == "time_zone":
            zone_named(place, value)
        if key in ("date_format", "time_format"):
            _check_form(place, value)
        if key in COUNTS and (type(value) is not int or not 1 <= value <= COUNTS[key]):
            raise BadInput(
                place,
                "{value!r} is not a count",
                "give a whole number from 1 to {most}",
                value=value,
                most=COUNTS[key],
            )
        if key == "hours":
            value = _hours(place, value)  # noqa: PLW2901 - as it is kept
        if key in LISTS:
            items = value if isinstance(value, list) else [value]
            value = tuple(str(item).strip() for item in items)  # noqa: PLW2901 - as it is kept
        mapping = replace(mapping, **{key: value})
    return mapping


def _sources(where: str, named: Mapping[str, Any]) -> Mapping[str, Source]:
    out: dict[str, Source] = {}
    taken: dict[str, str] = {}
    for name, entry in named.items():
        if name not in fields():
            raise unknown(where, "field", name, tuple(fields()))
        source = _source(f"{where} {name}", fields()[name], entry)
        if source.column in taken:
            raise BadInput(
                f"{where} {name}",
                "the column {column!r} already fills {taken}",
                "use each column once",
                column=source.column,
                taken=taken[source.column],
            )
        taken[source.column] = name
        out[name] = source
    return out


def _source(where: str, column: Column, entry: Any) -> Source:
    allowed = {
        "number": ("column", "unit"),
        "whole number": ("column", "unit"),
        "date": ("column", "form"),
        "time": ("column", "form"),
        "word": ("column", "words"),
        "defects": ("column", "words"),
        "text": ("column",),
    }[column.kind]
    entry = column_entry(where, entry, allowed)
    unit, form, words = entry.get("unit", ""), entry.get("form", ""), entry.get("words", {})
    if unit and unit not in units_of(column):
        known = ", ".join(each for each in units_of(column) if each) or "none: it is a pure number"
        raise BadInput(
            where, "the unit {unit!r} is not known", "give one of {known}", unit=unit, known=known
        )
    if form:
        _check_form(where, form)
    if not isinstance(words, dict) or not all(isinstance(word, str) for word in words.values()):
        raise BadInput(
            where, "words must be a table of words", 'write words = { "yours" = "ours" }'
        )
    for word in words.values():
        if column.kind == "word" and word not in ("", *column.words):
            raise BadInput(
                where, "{word!r} is not known", "use {allowed}", word=word, allowed=column.allowed()
            )
    return Source(entry["column"].strip(), str(unit), str(form), dict(words))


def _hours(where: str, given: Any) -> Mapping[str, str]:
    right = 'write "2026-10-25T02:30" = "+02:00"'
    if not isinstance(given, dict):
        raise BadInput(where, "hours must be a section", right)
    for moment, offset in given.items():
        try:
            known = datetime.fromisoformat(f"{moment}{offset}" if offset else moment)
        except (ValueError, TypeError):
            raise BadInput(
                where,
                "{moment!r} with {offset!r} is not a time",
                right,
                moment=moment,
                offset=offset,
            ) from None
        if offset and known.tzinfo is None:
            raise BadInput(where, "{offset!r} is not an offset", right, offset=offset)
    return dict(given)


def _check_sign(where: str, sign: Any) -> None:
    if sign not in DECIMALS:
        what = "{value!r} is not a decimal sign"
        raise BadInput(where, what, "give . or , or either", value=sign)


def _check_signs(where: str, given: Any) -> None:
    if not isinstance(given, dict):
        raise BadInput(where, "decimals must be a section", 'write "your column" = ","')
    for sign in given.values():
        _check_sign(where, sign)


def _check_form(where: str, form: Any) -> None:
    """Refuse a pattern without a part for day or hour."""
    parts = form.split(OR) if isinstance(form, str) else [""]
    if not all("%" in part or part == ISO for part in parts):
        raise BadInput(
            where, "{form!r} is not a pattern", "write one such as %d.%m.%Y %H:%M", form=form
        )
