"""The plates' rows of a day's drawing: filled for hands, hatched for waiting, a tail for float."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from argentry.out.colours import FONT, INK
from argentry.out.day.blocks import Block, at_once, blocks, is_exposure
from argentry.out.wording import minutes_between

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.records.day import DayPlan, PlannedStep

HATCH_PX = 4.0  # between two strokes of a hatching
LEGEND_HEIGHT = 11

Mark = dict[str, Any]  # one mark of the drawing: places and words


@dataclass(frozen=True)
class Frame:
    """The drawn part of a day.

    Attributes
    ----------
    left : datetime
        Left edge.
    minutes : float
        Length in real minutes. [min]
    width : float
        Width of the drawing. [px]
    """

    left: datetime
    minutes: float
    width: float

    def at(self, when: datetime) -> float:
        """Return the place of `when` on the time axis, real minutes from the left edge, in min."""
        return minutes_between(self.left, when)

    def px(self, when: datetime) -> float:
        """Return the place of `when` on the page, in px."""
        return self.at(when) / self.minutes * self.width


@dataclass(frozen=True)
class RowSizes:
    """Row and bar height for a number of rows, in px."""

    row: float
    bar: float
    label: float

    @classmethod
    def for_rows(cls, rows: int) -> RowSizes:
        """Return generous rows for few plates and close ones for many."""
        if rows <= 3:
            return cls(18.0, 9.0, 9.0)
        if rows <= 5:
            return cls(15.5, 7.5, 8.5)
        if rows <= 8:
            return cls(13.5, 6.5, 8.5)
        return cls(10.5, 5.0, 7.5)


def hatching(x0: float, x1: float, top: float, bottom: float, per_px: float) -> list[Mark]:
    """Return slanted strokes clipped to a bar, since the drawing library has no patterns.

    Parameters
    ----------
    x0, x1 : float
        Ends of the bar on the time axis. [min]
    top, bottom : float
        Its edges. [px]
    per_px : float
        Minutes to a pixel. [min/px]

    Returns
    -------
    list of dict
        One stroke each, at 45 degrees: ``x``, ``x2`` [min], ``y``, ``y2`` [px], inside the bar.
    """
    height = bottom - top
    strokes = []
    step, lean = HATCH_PX * per_px, height * per_px
    count = int((x1 - x0 + lean) / step) + 1
    for number in range(1, count + 1):
        foot = x0 - lean + number * step  # where the stroke would meet the bar's foot
        low, high = max(foot, x0), min(foot + lean, x1)
        if high > low:
            strokes.append(
                {
                    "x": low,
                    "x2": high,
                    "y": bottom - (low - foot) / per_px,
                    "y2": bottom - (high - foot) / per_px,
                }
            )
    return strokes


def plate_rows(plan: DayPlan, frame: Frame, x: Any, shades: list[Mark]) -> Any:
    """Return the rows of plates as a layered chart.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    frame : Frame
        The drawn part of it.
    x : altair.X
        The shared time axis.
    shades : list of dict
        Night and breaks.

    Returns
    -------
    altair.LayerChart
    """
    import altair as alt

    numbers = sorted({step.plate for step in plan.steps}) or [1]
    sizes = RowSizes.for_rows(len(numbers))
    height = sizes.row * len(numbers) + 4
    y = alt.Y("y:Q", scale=alt.Scale(domain=[0, height], range=[0, height], nice=False), axis=None)
    pieces = blocks(plan)
    fills: list[Mark] = []
    edges: list[Mark] = []
    strokes: list[Mark] = []
    tails: list[Mark] = []
    labels: list[Mark] = []
    for row, number in enumerate(numbers):
        top = 2 + row * sizes.row + 0.30 * sizes.row
        labels.append({"word": f"plate {number}" if number else "room", "y": top + sizes.bar / 2})
        before, covered = None, 0.0
        for block in (one for one in pieces if one.plate == number):
            for step in block.steps:
                _draw(step, frame, top, sizes, (fills, edges, strokes))
            if before is None or not before.attended or not at_once(before, block.steps[0]):
                covered = _tail(block, frame, top + sizes.bar, sizes, tails, covered)
            before = block.steps[-1]
    layers = [
        shade_layer(shades, x, height),
        _rect(fills, x, y, fill=INK, stroke=None),
        _rule(strokes, x, y, 0.7),
        _rect(edges, x, y, fill=None, stroke=INK),
        _rule(tails, x, y, 0.9),
        alt.Chart(alt.InlineData(values=labels))
        .mark_text(align="right", baseline="middle", fontSize=sizes.label, color=INK, font=FONT)
        .encode(x=alt.value(-6), y=y, text="word:N"),
    ]
    breaks = [{**shade, "xm": (shade["x"] + shade["x2"]) / 2} for shade in shades if shade["word"]]
    wide = [one for one in breaks if (one["x2"] - one["x"]) / frame.minutes * frame.width > 24]
    if wide:
        layers.append(
            alt.Chart(alt.InlineData(values=[{"x": one["xm"], "word": "break"} for one in wide]))
            .mark_text(baseline="top", fontSize=7.5, color=INK, font=FONT)
            .encode(x=x, y=alt.value(1), text="word:N")
        )
    return alt.layer(*layers).properties(width=frame.width, height=height)


def _draw(
    step: PlannedStep,
    frame: Frame,
    top: float,
    sizes: RowSizes,
    kinds: tuple[list[Mark], ...],
) -> None:
    fills, edges, strokes = kinds
    bottom = top + sizes.bar
    x0, x1 = max(0.0, frame.at(step.start)), min(frame.minutes, frame.at(step.end))
    if x1 <= x0:
        return
    box = {"x": x0, "x2": x1, "y": top, "y2": bottom}
    if not step.attended:
        edges.append(box)
        strokes += hatching(x0, x1, top, bottom, frame.minutes / frame.width)
    elif is_exposure(step):
        fills.append({**box, "y": top - 0.2 * sizes.row, "y2": bottom + 0.08 * sizes.row})
    else:
        fills.append(box)


def _tail(
    block: Block,
    frame: Frame,
    bottom: float,
    sizes: RowSizes,
    tails: list[Mark],
    covered: float,
) -> float:
    """Add the thin line from a planned start to the latest one, for what waits to be begun.

    Work that follows at once shares the float of what it follows, and work that begins under an
    earlier line would only draw over it: neither gets a line of its own. Returns where the row's
    last line ends, in minutes from the left edge.
    """
    start = frame.at(block.start)
    if block.float_minutes <= 0 or start < covered:
        return covered
    low = bottom + 0.13 * sizes.row
    end = min(frame.minutes, start + block.float_minutes)
    tails.append({"x": start, "x2": end, "y": low, "y2": low})
    tails.append({"x": end, "x2": end, "y": low - 0.12 * sizes.row, "y2": low + 0.05 * sizes.row})
    return end


def shade_layer(shades: list[Mark], x: Any, height: float) -> Any:
    """Return night and breaks as grey columns.

    Parameters
    ----------
    shades : list of dict
        ``x``, ``x2`` [min] and ``fill`` of each.
    x : altair.X
        The shared time axis.
    height : float
        Of the panel they stand behind. [px]

    Returns
    -------
    altair.Chart
    """
    import altair as alt

    return (
        alt.Chart(alt.InlineData(values=shades))
        .mark_rect()
        .encode(
            x=x,
            x2="x2:Q",
            y=alt.value(0),
            y2=alt.value(height),
            color=alt.Color("fill:N", scale=None),
        )
    )


def _rect(data: list[Mark], x: Any, y: Any, *, fill: str | None, stroke: str | None) -> Any:
    import altair as alt

    return (
        alt.Chart(alt.InlineData(values=data))
        .mark_rect(
            fill=fill or "transparent",
            stroke=stroke or "transparent",
            strokeWidth=0.8 if stroke else 0,
        )
        .encode(x=x, x2="x2:Q", y=y, y2="y2:Q")
    )


def _rule(data: list[Mark], x: Any, y: Any, width: float) -> Any:
    import altair as alt

    return (
        alt.Chart(alt.InlineData(values=data))
        .mark_rule(color=INK, strokeWidth=width)
        .encode(x=x, x2="x2:Q", y=y, y2="y2:Q")
    )


def legend(frame: Frame, scale: Any) -> Any:
    """Return one line that says what each mark of the rows means."""
    import altair as alt

    per_px = frame.minutes / frame.width
    items = (
        (0, "hands at work"),
        (92, "before the camera"),
        (205, "waits, no hands"),
        (304, "float: may begin so much later"),
    )
    fills = [
        {"x": 0.0, "x2": 16.0, "y": 2.0, "y2": 9.0},
        {"x": 100.0, "x2": 108.0, "y": 0.0, "y2": 10.0},
    ]
    box = {"x": 205.0, "x2": 223.0, "y": 2.0, "y2": 9.0}
    tails = [
        {"x": 304.0, "x2": 322.0, "y": 7.0, "y2": 7.0},
        {"x": 322.0, "x2": 322.0, "y": 3.0, "y2": 8.0},
    ]

    def timed(marks: list[Mark]) -> list[Mark]:
        return [{**mark, "x": mark["x"] * per_px, "x2": mark["x2"] * per_px} for mark in marks]

    x = alt.X("x:Q", scale=scale, axis=None)
    high = LEGEND_HEIGHT
    y = alt.Y("y:Q", scale=alt.Scale(domain=[0, high], range=[0, high], nice=False), axis=None)
    bar = timed([box])[0]
    words = [{"x": (at + 22) * per_px, "y": 6.0, "word": word} for at, word in items]
    return alt.layer(
        _rect(timed(fills), x, y, fill=INK, stroke=None),
        _rect([bar], x, y, fill=None, stroke=INK),
        _rule(hatching(bar["x"], bar["x2"], 2.0, 9.0, per_px), x, y, 0.7),
        _rule(timed(tails), x, y, 0.9),
        alt.Chart(alt.InlineData(values=words))
        .mark_text(align="left", baseline="middle", fontSize=8, color=INK, font=FONT)
        .encode(x=x, y=y, text="word:N"),
    ).properties(width=frame.width, height=high)
