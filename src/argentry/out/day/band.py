"""The day as one horizontal band: light above, plates below, on the studio's own wall clock.

The time axis is real minutes since the left edge, with ticks and words placed here from the
studio's zone. No date ever reaches the drawing library, so neither the machine's zone nor a change
of the clocks can move a bar (a day with a change simply has 23 or 25 hours on it).
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

from argentry.out.colours import FONT, HAIR, INK, NIGHT, PAPER, RED, REST, VIOLET
from argentry.out.day.bars import Frame, legend, plate_rows, shade_layer
from argentry.out.day.hour_words import hour_words
from argentry.out.wording import clock, later, minutes_between

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.records.day import DayPlan, Range

LIGHT_HEIGHT = 46
WIDTH = 460.0  # of the time axis; the words beside it come on top. [px]


def frame_of(plan: DayPlan, width: float = WIDTH) -> Frame:
    """Return the part of the day that is drawn: whole wall-clock hours around the work.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    width : float
        Of the time axis. [px]

    Returns
    -------
    Frame
        Left edge and length in real minutes.
    """
    starts = [plan.begin, *(step.start for step in plan.steps)]
    ends = [plan.end, *(step.end for step in plan.steps)]
    first = min(starts, key=lambda when: when.timestamp())
    last = max(ends, key=lambda when: when.timestamp())
    left = later(first, -(first.minute + first.second / 60.0))
    right = later(last, (60.0 - last.minute - last.second / 60.0) % 60.0)
    return Frame(left, minutes_between(left, right), width)


def hour_ticks(frame: Frame) -> list[tuple[float, str]]:
    """Return each wall-clock hour in the frame: real minutes from its left edge, and its word.

    A skipped hour is absent and a repeated one stands twice, as on the studio's clock.
    """
    ticks = []
    for quarter in range(int(frame.minutes // 15) + 1):
        when = later(frame.left, 15.0 * quarter)
        if when.minute == 0:
            ticks.append((15.0 * quarter, f"{when:%H}"))
    return ticks


def day_chart(plan: DayPlan, width: float = WIDTH) -> Any:
    """Build the drawing of a day.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    width : float
        Of the time axis. [px]

    Returns
    -------
    altair.VConcatChart
        Light above, plates below, the marks' meaning at the foot.
    """
    import altair as alt

    frame = frame_of(plan, width)
    ticks = hour_ticks(frame)
    names = ticks if frame.width / max(len(ticks), 1) > 14 else ticks[::2]
    axis = alt.Axis(
        values=[minute for minute, _ in ticks],
        labelExpr=f"{ {f'{minute:g}': word for minute, word in names} }[datum.value] || ''",
        title=None,
        tickSize=4,
        domain=False,
        tickColor=INK,
        grid=True,
        gridColor=HAIR,
        gridWidth=0.5,
        labelFontSize=10,
        labelFontWeight="bold",
        labelPadding=2,
        labelFlush=False,
        labelOverlap=False,
    )
    scale = alt.Scale(domain=[0, frame.minutes], nice=False, zero=False)
    silent = alt.Axis(
        values=[minute for minute, _ in ticks],
        labels=False,
        ticks=False,
        title=None,
        domain=False,
        gridColor=HAIR,
        gridWidth=0.5,
    )
    light = _light(plan, frame, alt.X("x:Q", scale=scale, axis=silent))
    rows = plate_rows(plan, frame, alt.X("x:Q", scale=scale, axis=axis), _shades(plan, frame))
    words = hour_words(plan, frame, scale)
    parts = [light, rows, *([words] if words is not None else []), legend(frame, scale)]
    return (
        alt.vconcat(*parts, spacing=3)
        .configure(aria=False, font=FONT, padding={"left": 0, "right": 0, "top": 1, "bottom": 0})
        .configure_view(stroke=None)
        .configure_axis(labelColor=INK, titleColor=INK, labelFont=FONT, titleFont=FONT)
        .properties(background=PAPER)
    )


def day_svg(plan: DayPlan, width: float = WIDTH) -> str:
    """Return the drawing as SVG text.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    width : float
        Of the time axis. [px]

    Returns
    -------
    str
        An SVG document whose words stay words (font B612, any plain sans where it is missing).
    """
    svg = str(_converter().vegalite_to_svg(day_chart(plan, width).to_json()))
    # The library numbers clip paths on from one drawing to the next; the same day is the same file.
    numbers: dict[str, str] = {}
    return re.sub(r"\bclip\d+\b", lambda m: numbers.setdefault(m[0], f"clip{len(numbers)}"), svg)


def day_png(plan: DayPlan, scale: float = 2.0) -> bytes:
    """Return the drawing as a PNG picture, `scale` times its size in points."""
    return bytes(_converter().vegalite_to_png(day_chart(plan).to_json(), scale=scale))


@cache
def _converter() -> Any:
    import vl_convert

    with as_file(files("argentry.out") / "fonts") as folder:
        vl_convert.register_font_directory(str(folder))
    return vl_convert


def _shades(plan: DayPlan, frame: Frame) -> list[dict[str, Any]]:
    """Return night and breaks as spans of the frame."""
    spans: list[tuple[float, float, str, str]] = []
    if plan.sunrise is not None and plan.sunset is not None:
        spans.append((0.0, frame.at(plan.sunrise), NIGHT, ""))
        spans.append((frame.at(plan.sunset), frame.minutes, NIGHT, ""))
    else:
        spans.append((0.0, frame.minutes, NIGHT, ""))
    spans += [(frame.at(start), frame.at(end), REST, "break") for start, end in plan.breaks]
    return [
        {"x": max(0.0, low), "x2": min(frame.minutes, high), "fill": fill, "word": word}
        for low, high, fill, word in spans
        if min(frame.minutes, high) > max(0.0, low)
    ]


def _light(plan: DayPlan, frame: Frame, x: Any) -> Any:
    import altair as alt

    shades = _shades(plan, frame)
    night = [shade_layer(shades, x, LIGHT_HEIGHT)] if shades else []
    violet = _curve(plan, frame, x, "exposure", VIOLET, "left")
    red = _curve(plan, frame, x, "development", RED, "right")
    words = _light_words(plan, frame)
    return (
        alt.layer(*night, violet, red, *words)
        .resolve_scale(y="independent")
        .properties(width=frame.width, height=LIGHT_HEIGHT)
    )


def _curve(plan: DayPlan, frame: Frame, x: Any, kind: str, colour: str, side: str) -> Any:
    """Return one light curve with its 80 % band; solid for exposure, dashed for development."""
    import altair as alt

    points = []
    for hour in plan.hours:
        span: Range = hour.exposure_w_m2 if kind == "exposure" else hour.development_w_m2
        middle = frame.at(later(hour.time, 30.0))
        if -60.0 <= middle <= frame.minutes + 60.0:
            points.append({"x": middle, "low": span.low, "mid": span.middle, "high": span.high})
    top = max((point["high"] for point in points), default=0.0) or 1.0
    axis = alt.Axis(
        orient=side,
        title=None,
        tickCount=2,
        grid=False,
        domain=False,
        tickSize=3,
        tickWidth=0.6,
        tickColor=INK,
        labelFontSize=8,
        minExtent=28,
        maxExtent=28,
    )
    y_scale = alt.Scale(domain=[0, top * 1.06], nice=False)
    base = alt.Chart(alt.InlineData(values=points))
    band = base.mark_area(color=colour, opacity=0.14, interpolate="monotone", clip=True).encode(
        x=x, y=alt.Y("low:Q", scale=y_scale, axis=axis), y2="high:Q"
    )
    dash = [1, 0] if kind == "exposure" else [5, 3]
    line = base.mark_line(
        color=colour, strokeWidth=1.8, strokeDash=dash, interpolate="monotone", clip=True
    ).encode(x=x, y=alt.Y("mid:Q", scale=y_scale, axis=axis))
    return alt.layer(band, line)


def _light_words(plan: DayPlan, frame: Frame) -> list[Any]:
    """Return the curves' names above the panel, each with a piece of its line, and sun times."""
    import altair as alt

    def text(x: float, word: str, align: str, colour: str) -> Any:
        return (
            alt.Chart(alt.InlineData(values=[{"word": word}]))
            .mark_text(align=align, baseline="bottom", fontSize=9, color=colour, font=FONT)
            .encode(x=alt.value(x), y=alt.value(-5), text="word:N")
        )

    def stroke(x: float, x2: float, colour: str, dash: list[int]) -> Any:
        return (
            alt.Chart(alt.InlineData(values=[{}]))
            .mark_rule(color=colour, strokeWidth=1.8, strokeDash=dash)
            .encode(x=alt.value(x), x2=alt.value(x2), y=alt.value(-10), y2=alt.value(-10))
        )

    wide = frame.width
    words = [
        stroke(0, 18, VIOLET, [1, 0]),
        text(22, "exposure light, W/m²", "left", VIOLET),
        stroke(wide - 18, wide, RED, [5, 3]),
        text(wide - 22, "development light, W/m²", "right", RED),
    ]
    for when, name in ((plan.sunrise, "sunrise"), (plan.sunset, "sunset")):
        if when is not None and 0 < frame.at(when) < frame.minutes:
            words.append(_sun_mark(frame, when, f"{name} {clock(when)}", right=name == "sunset"))
    return words


def _sun_mark(frame: Frame, when: datetime, word: str, *, right: bool) -> Any:
    import altair as alt

    at = frame.px(when)
    room = frame.width - at if right else at
    outside = room > 70
    align = "left" if outside == right else "right"
    shift = 3 if align == "left" else -3
    return (
        alt.Chart(alt.InlineData(values=[{"word": word}]))
        .mark_text(align=align, baseline="top", fontSize=8, color=INK, font=FONT)
        .encode(x=alt.value(at + shift), y=alt.value(1), text="word:N")
    )
