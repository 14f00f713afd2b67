"""The day as one horizontal band: light above, plates below, on the studio's own wall clock.

The time axis is real minutes since the left edge, with ticks and words placed from the studio's
zone, so neither the machine's zone nor a change of the clocks can move a bar (a day with a change
simply has 23 or 25 hours on it).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from argentry.out.colours import NIGHT, RED, REST, VIOLET
from argentry.out.day.bars import Shade, hour_lines, legend, plate_rows
from argentry.out.drawing.axis import Axis, Frame, round_steps
from argentry.out.drawing.svg import (
    Point,
    box,
    drawing,
    line,
    mark,
    moved,
    path,
    smooth,
    text,
    window,
)
from argentry.out.drawing.type import width as type_width
from argentry.out.wording import clock, later
from argentry.records.day import DayPlan, Range

TITLE = "Light over the day and the plates below it."
LIGHT_HIGH = 5.4  # of the light, in heights of the type
LONGEST_NAME = "plate 12"
CURVES = (("exposure light, W/m²", VIOLET, None), ("development light, W/m²", RED, "5,3"))


def frame_of(plan: DayPlan, width: float) -> Frame:
    """Return the part of the day that is drawn: whole wall-clock hours around the work.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    width : float
        Of the time axis. [px]
    """
    starts = [step.start for step in plan.steps]
    return Frame.around([plan.begin, plan.end, *starts, *(s.end for s in plan.steps)], width)


def day_svg(plan: DayPlan, width: float, size: float) -> str:
    """Return the drawing of a day as SVG, its words set as words.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    width : float
        Of the whole drawing. [px, or pt on paper]
    size : float
        Of its type. [px, or pt on paper]
    """
    gutter, margin = 0.7 * size + type_width(LONGEST_NAME, size), 3.4 * size
    frame = frame_of(plan, width - gutter - margin)
    shades = _shades(plan, frame)
    top, names = curve_names(frame, size)
    parts = [moved(gutter, 0.0, names)]
    for draw in (_light, plate_rows, legend):
        high, marks = draw(plan, frame, shades, size)
        if high:
            parts.append(moved(gutter, top, marks))
            top += high
    parts.append(axis_told(frame, gutter, top))
    return drawing(width, top, TITLE, parts)


def axis_told(frame: Frame, left: float, high: float) -> str:
    """Return where the hours stand, for a page that draws the moment on the band."""
    return mark(
        "g",
        class_="axis",
        data_begin=frame.left.isoformat(),
        data_minutes=frame.minutes,
        data_left=left,
        data_width=frame.width,
        data_high=high,
    )


def _shades(plan: DayPlan, frame: Frame) -> list[Shade]:
    """Return night and breaks as columns of the frame."""
    night = [(0.0, frame.minutes)]
    if plan.sunrise is not None and plan.sunset is not None:
        night = [(0.0, frame.at(plan.sunrise)), (frame.at(plan.sunset), frame.minutes)]
    spans = [(low, high, NIGHT, "") for low, high in night]
    spans += [(frame.at(one.start), frame.at(one.end), REST, "break") for one in plan.breaks]
    shades = [
        Shade(frame.along(max(0.0, low)), frame.along(min(frame.minutes, high)), fill, word)
        for low, high, fill, word in spans
    ]
    return [shade for shade in shades if shade.right > shade.left]


def curve_names(frame: Frame, size: float) -> tuple[float, list[str]]:
    """Return each curve's name with a piece of its line: side by side where both find room."""
    piece = 2.0 * size
    widths = [piece + 0.4 * size + type_width(name, size) for name, _, _ in CURVES]
    beside = sum(widths) + 2.0 * size <= frame.width
    parts = []
    for row, ((name, colour, dash), wide) in enumerate(zip(CURVES, widths, strict=True)):
        left = frame.width - wide if beside and row else 0.0
        y = size if beside else size + 1.3 * size * row
        middle = y - 0.35 * size
        parts.append(
            line((left, middle), (left + piece, middle), stroke=colour, width=1.8, dash=dash)
        )
        parts.append(text(left + piece + 0.4 * size, y, name, size=size, fill=colour))
    return (1.0 if beside else 2.3) * size + 0.6 * size, parts


def _light(
    plan: DayPlan, frame: Frame, shades: list[Shade], size: float
) -> tuple[float, list[str]]:
    high = LIGHT_HIGH * size
    parts = [box(shade.left, 0, shade.right, high, fill=shade.fill) for shade in shades]
    hours = [(hour.time, hour.exposure_w_m2, hour.development_w_m2) for hour in plan.hours]
    parts += light_curves(hours, frame, size)
    parts += _sun_words(plan, frame, size)
    return high + 0.4 * size, parts


def light_curves(
    hours: Sequence[tuple[datetime, Range, Range]], frame: Frame, size: float
) -> list[str]:
    """Return both lights of some hours, each by its begin, over a hairline at each hour."""
    parts, ends = hour_lines(frame, LIGHT_HIGH * size), (0.4 * size, LIGHT_HIGH * size)
    for row, (_, colour, dash) in enumerate(CURVES):
        spans = [(later(start, 30.0), both[row]) for start, *both in hours]
        parts += _curve(spans, frame, ends, (colour, dash), size, right=bool(row))
    return parts


def _curve(
    spans: list[tuple[datetime, Range]],
    frame: Frame,
    ends: tuple[float, float],
    look: tuple[str, str | None],
    size: float,
    *,
    right: bool,
) -> list[str]:
    """Return one light curve with its 80 % band and its own axis at one side."""
    top, foot = ends
    colour, dash = look
    seen = [(when, span) for when, span in spans if -60.0 <= frame.at(when) <= frame.minutes + 60.0]
    most = max((span.high for _, span in seen), default=0.0) or 1.0
    up = Axis(0.0, most, foot, top)

    def points(side: str) -> list[Point]:
        return [(frame.px(when), up.at(getattr(span, side))) for when, span in seen]

    band = smooth(points("high")) + smooth(points("low")[::-1], "L")
    marks = []
    if seen:
        marks.append(path(f"{band}Z", fill=colour, opacity=0.14))
        marks.append(path(smooth(points("middle")), stroke=colour, width=1.8, dash=dash))
    parts = [window(0, 0, frame.width, foot, marks)]
    edge, way, anchor = (frame.width, 1, "start") if right else (0.0, -1, "end")
    for value in round_steps(most):
        y = up.at(value)
        parts.append(line((edge, y), (edge + way * 3, y), width=0.6))
        parts.append(text(edge + way * 5, y + 0.35 * size, f"{value:g}", size=size, anchor=anchor))
    return parts


def _sun_words(plan: DayPlan, frame: Frame, size: float) -> list[str]:
    """Return when the sun comes over the skyline and leaves it, each at the side that has room."""
    parts: list[str] = []
    taken, y = 0.0, size
    for when, name in ((plan.sunrise, "sun from"), (plan.sunset, "sun until")):
        if when is None or not 0 < frame.at(when) < frame.minutes:
            continue
        words, at = f"{name} {clock(when)}", frame.px(when)
        wide = type_width(words, size) + 3
        left = at + 3 if frame.width - at > at else at - wide
        y = 2.1 * size if parts and left < taken + size else size
        taken = left + wide
        parts.append(text(left, y, words, size=size))
    return parts
