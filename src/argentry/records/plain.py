"""Answers as plain values: what goes into JSON, whatever dataclass it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from math import isfinite
from pathlib import PurePath
from typing import Annotated, Any

Time = Annotated[str, "date-time"]  # ISO 8601 as it was written, with its offset


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
        return {key_of(one.name): plain(getattr(value, one.name)) for one in fields(value)}
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


def key_of(field: str) -> str:
    """Return the key of a field: ``from_`` is written without its underscore."""
    return field.removesuffix("_")
