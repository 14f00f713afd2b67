"""A planned day as plain values, as ``argentry day --json`` prints it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from argentry.records.plain import plain

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
    said: dict[str, Any] = plain(plan)
    said["date"] = f"{plan.date:%Y-%m-%d}"
    said["time_zone"] = str(plan.date.tzinfo)
    said["breaks"] = [{"start": plain(low), "end": plain(high)} for low, high in plan.breaks]
    said["materials"] = [{"name": name, "amount": amount} for name, amount in plan.materials]
    said["coat"] = dict(plan.coat)
    return said
