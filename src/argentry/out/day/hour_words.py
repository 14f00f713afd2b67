"""The odds hour by hour, set in words under the hours of the day's drawing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from argentry.out.colours import FONT, INK
from argentry.out.wording import clock, percent

if TYPE_CHECKING:
    from argentry.out.day.bars import Frame
    from argentry.records.day import DayPlan, HourLight

ROW_HEIGHT = 8.8
ROWS = ("exposed %", "camera min", "ripe %", "ripe at")
CAPTION = "begun then: odds of an exposure in time, its length (80 %), odds of ripe by the end"
ROOM_PX = 25.0  # for one hour's figures


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


def hour_words(plan: DayPlan, frame: Frame, scale: Any) -> Any:
    """Return the rows of figures as a chart; None when no hour of the frame has light.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    frame : Frame
        The drawn part of it.
    scale : altair.Scale
        The shared time axis.

    Returns
    -------
    altair.LayerChart or None
    """
    import altair as alt

    hours = [hour for hour in lit_hours(plan) if 0 <= frame.at(hour.time) <= frame.minutes]
    if not hours:
        return None
    if 60.0 / frame.minutes * frame.width < ROOM_PX:
        hours = hours[::2]
    cells = [
        {"x": frame.at(hour.time), "y": (row + 1.5) * ROW_HEIGHT, "word": word}
        for hour in hours
        for row, word in enumerate(figures(hour, plan.days_simulated))
    ]
    names = [{"y": (row + 1.5) * ROW_HEIGHT, "word": word} for row, word in enumerate(ROWS)]
    high = ROW_HEIGHT * (len(ROWS) + 1)
    y = alt.Y("y:Q", scale=alt.Scale(domain=[0, high], range=[0, high], nice=False), axis=None)

    def words(data: list[dict[str, Any]], align: str, size: float) -> Any:
        return alt.Chart(alt.InlineData(values=data)).mark_text(
            align=align, baseline="middle", fontSize=size, color=INK, font=FONT
        )

    return alt.layer(
        words(cells, "center", 7.5).encode(
            x=alt.X("x:Q", scale=scale, axis=None), y=y, text="word:N"
        ),
        words(names, "right", 7.5).encode(x=alt.value(-15), y=y, text="word:N"),
        words([{"y": 0.45 * ROW_HEIGHT, "word": CAPTION}], "left", 7.5).encode(
            x=alt.value(0), y=y, text="word:N"
        ),
    ).properties(width=frame.width, height=high)
