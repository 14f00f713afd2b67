"""The odds hour by hour, in words."""

from __future__ import annotations

import math

from argentry.needs.doubt.percent import percent
from argentry.out.wording import clock
from argentry.records.day import DayPlan, HourLight

ROWS = ("exposed %", "camera min", "ripe %", "ripe at")
MOST_HOURS = 16  # that find room side by side on a page


def lit_hours(plan: DayPlan) -> tuple[HourLight, ...]:
    """Return the hours that have any light to work with."""
    return tuple(
        hour for hour in plan.hours if hour.exposure_w_m2.high > 0 or hour.development_w_m2.high > 0
    )


def camera_minutes(hour: HourLight) -> str:
    """Return the 80 % range of the minutes before the camera; a dash where it cannot be done."""
    low, high = hour.exposure_minutes.low, hour.exposure_minutes.high
    if not math.isfinite(hour.exposure_minutes.middle):
        return "–"
    first, last = (
        f"{part:.1f}" if part < 3.0 else f"{part:.0f}" if math.isfinite(part) else "∞"
        for part in (low, high)
    )
    return first if first == last else f"{first}–{last}"


def figures(hour: HourLight, days: int) -> tuple[str, str, str, str]:
    """Return the four figures of one hour, in the order of `ROWS`."""
    exposed, ripe = hour.exposure_suffices, hour.development_suffices
    return (
        percent(exposed, days).removesuffix(" %"),
        camera_minutes(hour),
        percent(ripe, days).removesuffix(" %"),
        clock(hour.development_end),
    )


def hour_table(plan: DayPlan) -> list[tuple[str, ...]]:
    """Return the figures with hours across: a row of hours, then one for each of `ROWS`.

    Returns
    -------
    list of tuple of str
        Each row begins with its name; hours are left out evenly where there are too many for a
        page. Empty when no hour has light.
    """
    hours = lit_hours(plan)
    if not hours:
        return []
    hours = hours[:: math.ceil(len(hours) / MOST_HOURS)]
    cells = [(clock(hour.time), *figures(hour, plan.days_simulated)) for hour in hours]
    return [
        (name, *row)
        for name, row in zip(("begun at", *ROWS), zip(*cells, strict=True), strict=True)
    ]
