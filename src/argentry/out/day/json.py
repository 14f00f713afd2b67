"""A planned day as plain values, as ``argentry day --json`` prints it."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from argentry.records.day import Range

if TYPE_CHECKING:
    from argentry.records.day import DayPlan


def day_dict(plan: DayPlan) -> dict[str, Any]:
    """Return a day as JSON-ready values under the names of the record.

    Parameters
    ----------
    plan : DayPlan
        The planned day.

    Returns
    -------
    dict
        Times as ISO 8601 text with the offset of the studio's zone, lengths in minutes, shares
        from 0 to 1; what is endless is None. ``docs/json.md`` tells every key.
    """
    plain = {field.name: _plain(getattr(plan, field.name)) for field in fields(plan)}
    plain["date"] = f"{plan.date:%Y-%m-%d}"
    plain["time_zone"] = str(plan.date.tzinfo)
    plain["breaks"] = [{"start": _plain(low), "end": _plain(high)} for low, high in plan.breaks]
    plain["materials"] = [{"name": name, "amount": amount} for name, amount in plan.materials]
    plain["coat"] = dict(plan.coat)
    return plain


def _plain(value: Any) -> Any:
    if isinstance(value, date) and not isinstance(value, datetime):
        value = str(value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, Range):
        return {
            "low": _plain(value.low),
            "middle": _plain(value.middle),
            "high": _plain(value.high),
        }
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, bool) or value is None or isinstance(value, (str, int)):
        return value
    number = float(value)
    return number if math.isfinite(number) else None
