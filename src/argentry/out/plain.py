"""Answers as plain values, as ``--json`` prints them: one way for all of them."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Any


def plain(value: Any) -> Any:
    """Return an answer as JSON-ready values under the names of its record.

    Parameters
    ----------
    value : Any
        A dataclass, a sequence or mapping, a time, a number or text.

    Returns
    -------
    Any
        Times as ISO 8601 text with their offset, to the second; what is not finite is None.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    return _one(value)


def _one(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, (bool, str, int)):
        return value
    number = float(value)
    return number if math.isfinite(number) else None
