"""What was learned, drawn: ranges as bars, the exposure curve with its plates, drift over the days.

Every chart is made for the width it is shown at. Below `NARROW` a row's name stands above its range
rather than left of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from argentry.out.colours import HAIR, INK, SHADE, SOFT, VIOLET
from argentry.out.drawing.axis import Axis
from argentry.out.drawing.svg import (
    box,
    dot,
    drawing,
    line,
    path,
    smooth,
    straight,
    text,
)
from argentry.out.drawing.type import width as type_width
from argentry.out.drawing.type import wrap

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from argentry.desk.numbers.own_numbers import ExposureCurve
    from argentry.desk.pages.learning import JudgedExposure
    from argentry.learn.stages.trend import TrendPoint
    from argentry.records.causes import Chart

NARROW = 500.0  # px
SIZE = 13.0  # of the type. [px]
SMALL = 12.0
GAP = 10.0  # between words and what they belong to. [px]
LEADING = 17.0


@dataclass(frozen=True)
class RangeRow:
    """One range to be drawn.

    Attributes
    ----------
    name : str
        What it is.
    low, middle, high : float
        80 % range.
    behind : str
        How many plates stand behind it.
    was : tuple of (float, float) or None
        What was assumed before: its 80 % range.
    """

    name: str
    low: float
    middle: float
    high: float
    behind: str
    was: tuple[float, float] | None = None


def _soft(x: float, y: float, words: str, anchor: str = "start") -> str:
    return text(x, y, words, size=SMALL, anchor=anchor, fill=SOFT)


def _hair(start: tuple[float, float], end: tuple[float, float]) -> str:
    return line(start, end, stroke=HAIR, width=0.75)


def range_chart(
    title: str,
    rows: Sequence[RangeRow],
    ends: tuple[float, float],
    ticks: Sequence[tuple[float, str]],
    foot: str,
    width: float,
) -> str:
    """Return ranges below each other on one axis: dot and line, what was believed as a grey band.

    Parameters
    ----------
    title : str
        Read to those who cannot see it.
    rows : sequence of RangeRow
        From top to bottom.
    ends : tuple of (float, float)
        Of the axis; what lies beyond is drawn at its end with an arrow.
    ticks : sequence of (float, str)
        Places with words.
    foot : str
        What the axis means.
    width : float
        Of the drawing. [px]
    """
    narrow = width < NARROW
    count = max(type_width(row.behind, SMALL) for row in rows) + GAP
    most = width - 2 * GAP if narrow else 0.4 * width
    names = [wrap(row.name, most, SIZE) for row in rows]
    left = GAP if narrow else max(type_width(part, SIZE) for name in names for part in name) + 16
    axis = Axis(ends[0], ends[1], left, width - count - GAP)
    parts: list[str] = []
    y = 0.0
    for row, name in zip(rows, names, strict=True):
        if narrow:
            parts += [
                text(0, y + LEADING * (i + 1), part, size=SIZE) for i, part in enumerate(name)
            ]
            middle = y + LEADING * len(name) + 14
            y = middle + 12
        else:
            high = max(28.0, LEADING * len(name) + 6)
            middle = y + high / 2
            first = middle - LEADING * (len(name) - 1) / 2 + 0.35 * SIZE
            parts += [text(0, first + LEADING * i, part, size=SIZE) for i, part in enumerate(name)]
            y += high
        parts += _range(row, axis, middle)
        parts.append(_soft(width, middle + 0.35 * SMALL, row.behind, "end"))
    grid = [_hair((axis.at(value), 2), (axis.at(value), y + 4)) for value, _ in ticks]
    parts += [_soft(axis.at(value), y + 20, word, "middle") for value, word in ticks]
    lines = wrap(foot, width if narrow else width - left, SMALL)
    start = 0.0 if narrow else left
    parts += [_soft(start, y + 24 + LEADING * (i + 1), part) for i, part in enumerate(lines)]
    return drawing(width, y + 30 + LEADING * len(lines), title, [*grid, *parts])


def _range(row: RangeRow, axis: Axis, y: float) -> list[str]:
    parts = []
    if row.was is not None:
        parts.append(box(axis.at(row.was[0]), y - 5, axis.at(row.was[1]), y + 5, fill=SHADE))
    parts.append(line((axis.at(row.low), y), (axis.at(row.high), y), width=2))
    for value, word, beyond in (
        (row.low, "‹", row.low < axis.low),
        (row.high, "›", row.high > axis.high),
    ):
        if beyond:
            parts.append(text(axis.at(value), y + 5, word, size=SIZE, anchor="middle"))
    parts.append(dot(axis.at(row.middle), y, 4))
    return parts


def _share_grid(across: Axis, up: Axis) -> list[str]:
    """Return lines and words at none, half and all of a share."""
    parts = []
    for value in (0.0, 0.5, 1.0):
        y = up.at(value)
        parts.append(_hair((across.left, y), (across.right, y)))
        parts.append(_soft(across.left - GAP, y + 4, f"{100 * value:.0f} %", "end"))
    return parts


def _curve(across: Axis, up: Axis, xs: Sequence[float], ys: Sequence[float]) -> list[Any]:
    return [(across.at(x), up.at(y)) for x, y in zip(xs, ys, strict=True)]


def exposure_chart(curve: ExposureCurve, plates: Sequence[JudgedExposure], width: float) -> str:
    """Return the chance of a right exposure by light given, with the judged plates below it.

    Parameters
    ----------
    curve : ExposureCurve
        Against the day plan's exposure.
    plates : sequence of JudgedExposure
        Each plate judged.
    width : float
        Of the drawing. [px]
    """
    stops = curve.stops
    left = type_width("solarised, 000", SIZE) + GAP
    across, up = Axis(stops[0], stops[-1], left, width - 14), Axis(0.0, 1.0, 190, 14)
    parts = _share_grid(across, up)
    high, low, right = (
        _curve(across, up, stops, one) for one in (curve.right_high, curve.right_low, curve.right)
    )
    band = straight(high) + straight(low[::-1], "L")
    parts.append(path(f"{band}Z", fill=VIOLET, opacity=0.14))
    parts.append(path(smooth(right), stroke=VIOLET, width=1.8))
    parts += [
        text(0, 62 + LEADING * i, part, size=SIZE)
        for i, part in enumerate(wrap("judged right", left - 3 * GAP, SIZE))
    ]
    lanes = (("under", ("blank", "under")), ("right", ("right",)), ("over", ("over",)),
             ("solarised", ("solarised",)))  # fmt: skip
    for place, (name, verdicts) in enumerate(lanes):
        y = 222 + 20 * place
        mine = [plate for plate in plates if plate.verdict in verdicts]
        parts.append(text(0, y + 4, f"{name}, {len(mine)}", size=SIZE))
        parts.append(_hair((across.left, y), (across.right, y)))
        parts += [line((across.at(p.stops), y - 7), (across.at(p.stops), y + 7)) for p in mine]
    foot = 222 + 20 * len(lanes) + 6
    for value in range(round(across.low), round(across.high) + 1):
        word = "plan" if value == 0 else f"{value:+d}"
        parts.append(_soft(across.at(value), foot, word, "middle"))
        parts.append(_hair((across.at(value), 14), (across.at(value), foot - 14)))
    words = "stops more or less light than the day plan gives"
    lines = wrap(words, width - 14, SMALL)
    start = across.left if len(lines) == 1 and width >= NARROW else 0.0
    parts += [_soft(start, foot + 4 + LEADING * (i + 1), part) for i, part in enumerate(lines)]
    title = "Chance of a right exposure by light given, from {plates_count} judged plates".format(
        plates_count=len(plates)
    )
    return drawing(width, foot + 10 + LEADING * len(lines), title, parts)


def _day_words(days: Sequence[date], axis: Axis, y: float) -> list[str]:
    return [
        _soft(axis.left, y, days[0].isoformat()),
        _soft(axis.right, y, days[-1].isoformat(), "end"),
    ]


def trend_chart(points: Sequence[TrendPoint], width: float) -> str:
    """Return how the share of good plates went, each plate as a tick above or below."""
    across = Axis(0.0, float(max(len(points) - 1, 1)), _beside("100 %", "failed"), width - 14)
    up = Axis(0.0, 1.0, 150, 30)
    places = range(len(points))
    high, low, share = (
        _curve(across, up, places, [getattr(point, key) for point in points])
        for key in ("high", "low", "share")
    )
    band = straight(high) + straight(low[::-1], "L")
    parts = [path(f"{band}Z", fill=SHADE), *_share_grid(across, up)]
    parts.append(path(straight(share), stroke=INK, width=1.25))
    for place, point in enumerate(points):
        x, y = across.at(place), 8 if point.good else 160
        parts.append(line((x, y), (x, y + 12)))
    parts += [text(0, 18, "good", size=SIZE), text(0, 171, "failed", size=SIZE)]
    parts += _day_words([point.day for point in points], across, 192)
    title = "Share of good plates among the last dozen, over {points_count} plates".format(
        points_count=len(points)
    )
    return drawing(width, 200, title, parts)


def _beside(*words: str) -> float:
    return max(type_width(word, SIZE) for word in words) + 1.5 * GAP


def drift_chart(chart: Chart, width: float) -> str:
    """Return what was measured day by day, four in five of the days as a band, drift as a line."""
    values, days = list(chart.values), list(chart.days)
    low, high = min(values), max(values)
    first, last = days[0].toordinal(), days[-1].toordinal()
    left = _beside(f"{low:.3g}", f"{high:.3g}")
    across = Axis(float(first), float(max(last, first + 1)), left, width - 14)
    room = 0.08 * ((high - low) or abs(high) or 1.0)
    up = Axis(low - room, high + room, 120, 24)
    ordered = sorted(values)
    usual = [ordered[round(share * (len(ordered) - 1))] for share in (0.1, 0.9)]
    parts = [box(across.left, up.at(usual[1]), across.right, up.at(usual[0]), fill=SHADE)]
    for value in sorted({low, high}):
        parts.append(_hair((across.left, up.at(value)), (across.right, up.at(value))))
        parts.append(_soft(across.left - GAP, up.at(value) + 4, f"{value:.3g}", "end"))
    points = [(across.at(d.toordinal()), up.at(v)) for d, v in zip(days, values, strict=True)]
    parts.append(path(straight(points), stroke=INK, width=1.25))
    parts += [dot(x, y, 2.6) for x, y in points]
    if chart.since is not None:
        x = across.at(chart.since.toordinal())
        after = x < (across.left + across.right) / 2
        way = "higher" if chart.toward == "above" else "lower"
        parts.append(line((x, 4), (x, 126), width=1.5, dash="4 3"))
        parts.append(
            text(x + (6 if after else -6), 14, f"{way} since {chart.since}", size=SMALL,
                 anchor="start" if after else "end", bold=True)
        )  # fmt: skip
    parts += _day_words(days, across, 144)
    words = f"{chart.title}, {len(days)} days. {chart.words}"
    return drawing(width, 152, words, parts)
