"""Answers as plain values and back: what goes into JSON, whatever dataclass it comes from."""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Mapping
from dataclasses import Field, fields, is_dataclass
from datetime import date, datetime
from functools import cache
from importlib import import_module
from math import isfinite
from pathlib import PurePath
from types import ModuleType, NoneType, UnionType
from typing import (
    Annotated,
    Any,
    TypeVar,
    Union,
    get_args,
    get_origin,
    get_type_hints,
)

Record = TypeVar("Record")
FAR = 1e300  # nothing that is kept is larger
Time = Annotated[str, "date-time"]  # ISO 8601 as it was written, with its offset
Endless = Annotated[float, "or null"]  # null in JSON where it never ends or is not known


def plain(value: Any) -> Any:
    """Return an answer as dicts, lists and values that JSON knows.

    Parameters
    ----------
    value : Any
        A dataclass, or what a field of one may hold.

    Returns
    -------
    Any
        Times and dates in ISO 8601; numbers that are not finite become None; a field whose name
        ends in an underscore (``from_``) loses it.
    """
    if is_dataclass(value):
        return {key_of(one.name): plain(getattr(value, one.name)) for one in shown_fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    return _single(value)


def _single(value: Any) -> Any:
    if isinstance(value, float):
        return value if isfinite(value) else None
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, PurePath) else value


def shown_fields(answer: Any) -> tuple[Field[Any], ...]:
    """Return the fields of a dataclass that an answer shows: not those marked as inner."""
    return tuple(one for one in fields(answer) if not one.metadata.get("inner"))


def key_of(field: str) -> str:
    """Return the key of a field: ``from_`` is written without its underscore."""
    return field.removesuffix("_")


def part_of(kind: type[Record], value: Any) -> Record:
    """Return what a fuller record holds of this kind of record."""
    return kind(**{one.name: getattr(value, one.name) for one in fields(kind)})  # type: ignore[arg-type]


def from_plain(kind: Any, value: Any) -> Any:
    """Return what `plain` was given.

    Parameters
    ----------
    kind : type
        The dataclass, or the type of one of its fields.
    value : Any
        As read from JSON.

    Raises
    ------
    KeyError, TypeError, ValueError
        If a key is missing or a value is not what the dataclass holds.
    """
    origin, inner = get_origin(kind), get_args(kind)
    if is_dataclass(kind):
        hints = hints_of(kind)  # type: ignore[arg-type]
        names = [one.name for one in fields(kind)]
        return kind(**{name: from_plain(hints[name], value[key_of(name)]) for name in names})  # type: ignore[operator]
    if origin is Annotated or origin in (Union, UnionType):
        if value is None and (kind == Endless or NoneType in inner):
            return None
        return from_plain(next(one for one in inner if one is not NoneType), value)
    if origin is tuple:
        kinds = inner[:1] * len(_is(list, value)) if inner[-1] is Ellipsis else inner
        return tuple(from_plain(one, item) for one, item in zip(kinds, value, strict=True))
    if origin is Mapping:
        return {key: from_plain(inner[1], item) for key, item in _is(dict, value).items()}
    return _scalar(kind, value)


def _scalar(kind: Any, value: Any) -> Any:
    """Return a single value of this kind; TypeError or ValueError for any other."""
    if kind is Any:
        return value
    if kind in (date, datetime):
        found = kind.fromisoformat(_is(str, value))
        if kind is datetime and found.utcoffset() is None:
            raise ValueError("a time without its offset from UTC")
        return found
    if kind is float:
        return _finite(value if type(value) is int else _is(float, value))
    if kind is str:
        _is(str, value).encode()  # half a letter is a ValueError
    return _is(kind, value)


def _is(kind: type, value: Any) -> Any:
    if type(value) is not kind:
        raise TypeError(f"{type(value).__name__} in the place of {kind.__name__}")
    return value


def _finite(value: float) -> float:
    if not abs(value) < FAR:
        raise ValueError("a number that is not finite")
    return float(value)


@cache
def hints_of(answer: type) -> Mapping[str, Any]:
    """Return the types of a dataclass's fields, also of names that only type checkers import."""
    known: dict[str, Any] = {}
    for one in reversed(answer.__mro__[:-1]):
        known |= _names(sys.modules[one.__module__])
    return get_type_hints(answer, known, include_extras=True)


def _names(module: ModuleType) -> dict[str, Any]:
    known = dict(vars(module))
    for part in ast.parse(inspect.getsource(module)).body:
        if isinstance(part, ast.If) and ast.unparse(part.test) == "TYPE_CHECKING":
            for line in part.body:
                if isinstance(line, ast.ImportFrom):
                    source = vars(import_module(str(line.module)))
                    known |= {it.asname or it.name: source.get(it.name, Any) for it in line.names}
    return known
