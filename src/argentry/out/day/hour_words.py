"""The odds hour by hour, set in words under the hours of the day's drawing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from argentry.out.drawing.svg import text
from argentry.out.drawing.type import width as type_width
from argentry.out.drawing.type import wrap
from argentry.out.wording import clock, percent

if TYPE_CHECKING:
    from argentry.out.day.bars import Shade
    from argentry.out.drawing.axis import Frame
    from argentry.records.day import DayPlan, HourLight

ROWS = ("exposed %", "camera min", "ripe %", "ripe at")
NAMES_AWAY = 2.0  # from the first hour, in sizes of the type
CAPTION = "if begun then: odds of an exposure in time, its length (80 %), odds of ripe by the end"


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


def names_width(size: float) -> float:
    """Return the room that the names left of the hours take."""
    return NAMES_AWAY * size + max(type_width(name, size) for name in ROWS)


def hour_words(
    plan: DayPlan, frame: Frame, shades: list[Shade], size: float
) -> tuple[float, list[str]]:
    """Return the rows of figures: their height and their marks; nothing when no hour has light."""
    del shades
    hours = [hour for hour in lit_hours(plan) if 0 <= frame.at(hour.time) <= frame.minutes]
    if not hours:
        return 0.0, []
    cells = [figures(hour, plan.days_simulated) for hour in hours]
    widest = max(type_width(word, size) for column in cells for word in column)
    each = max(1, math.ceil((widest + 0.4 * size) / (60.0 / frame.minutes * frame.width)))
    leading = 1.15 * size
    lines = wrap(CAPTION, frame.width, size)
    parts = [text(0, (row + 1) * leading, words, size=size) for row, words in enumerate(lines)]
    top = len(lines) * leading
    for row, name in enumerate(ROWS):
        y = top + (row + 1) * leading
        parts.append(text(-NAMES_AWAY * size, y, name, size=size, anchor="end"))
        parts += [
            text(frame.px(hour.time), y, column[row], size=size, anchor="middle")
            for hour, column in list(zip(hours, cells, strict=True))[::each]
        ]
    return top + (len(ROWS) + 0.6) * leading, parts
