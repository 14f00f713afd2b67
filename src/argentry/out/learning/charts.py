"""What was learned, drawn: ranges as bars, the exposure curve with its plates, drift over the days.

Plain SVG as text, so that the server needs no drawing library; the words stay words.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from argentry.out.colours import VIOLET

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

WIDTH = 720
LABEL = 276  # px for a row's name
SIDE = 112  # px for the words beside a curve
COUNT = 86  # px for the plates behind it
ROW = 28
FOOT = 30


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
        What was believed before: its 80 % range.
    """

    name: str
    low: float
    middle: float
    high: float
    behind: str
    was: tuple[float, float] | None = None


@dataclass(frozen=True)
class Axis:
    """A straight axis.

    Attributes
    ----------
    low, high : float
        Its ends.
    left, right : float
        Where they are drawn. [px]
    """

    low: float
    high: float
    left: float
    right: float

    def at(self, value: float) -> float:
        """Return where a value is drawn; one beyond the ends at the end. [px]."""
        held = min(max(value, self.low), self.high)
        share = (held - self.low) / ((self.high - self.low) or 1.0)
        return round(self.left + share * (self.right - self.left), 1)


def _text(x: float, y: float, words: str, anchor: str = "start", kind: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}"{named}>{escape(words)}</text>'


def _line(x: float, y: float, x2: float, y2: float, kind: str) -> str:
    return f'<line x1="{x:g}" y1="{y:g}" x2="{x2:g}" y2="{y2:g}" class="{kind}"/>'


def _svg(height: float, title: str, parts: Sequence[str]) -> str:
    return (
        f'<svg class="chart" viewBox="0 0 {WIDTH} {height:g}" role="img" '
        f'aria-label="{escape(title)}">{"".join(parts)}</svg>'
    )


def _short(words: str, most: int = 40) -> str:
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}…"


def _share_grid(across: Axis, up: Axis) -> list[str]:
    """Return lines and words at none, half and all of a share."""
    parts = []
    for value in (0.0, 0.5, 1.0):
        parts.append(_line(across.left, up.at(value), across.right, up.at(value), "hair"))
        parts.append(
            _text(across.left - 8, up.at(value) + 4, f"{100 * value:.0f} %", "end", "soft")
        )
    return parts


def _points(across: Axis, up: Axis, xs: Sequence[float], ys: Sequence[float]) -> str:
    return " ".join(f"{across.at(x):g},{up.at(y):g}" for x, y in zip(xs, ys, strict=True))


def _band(
    across: Axis, up: Axis, xs: Sequence[float], low: Sequence[float], high: Sequence[float]
) -> str:
    """Return the corners of the area between two curves: along the upper, back by the lower."""
    return f"{_points(across, up, xs, high)} {_points(across, up, xs[::-1], low[::-1])}"


def range_chart(
    title: str,
    rows: Sequence[RangeRow],
    ends: tuple[float, float],
    ticks: Sequence[tuple[float, str]],
    foot: str,
) -> str:
    """Return ranges below each other on one axis: dot and line, what was believed as a grey band.

    Parameters
    ----------
    title : str
        Told to those who cannot see it.
    rows : sequence of RangeRow
        From top to bottom.
    ends : tuple of (float, float)
        Of the axis; what lies beyond is drawn at its end with an arrow.
    ticks : sequence of (float, str)
        Places with words.
    foot : str
        What the axis means.
    """
    axis = Axis(ends[0], ends[1], LABEL, WIDTH - COUNT - 14)
    height = ROW * len(rows) + FOOT + 18
    bottom = ROW * len(rows) + 4
    parts = [_line(axis.at(value), 4, axis.at(value), bottom, "hair") for value, _ in ticks]
    for place, row in enumerate(rows):
        y = ROW * place + ROW / 2 + 4
        parts.append(_text(0, y + 4, _short(row.name)))
        if row.was is not None:
            parts.append(_line(axis.at(row.was[0]), y, axis.at(row.was[1]), y, "was"))
        parts.append(_line(axis.at(row.low), y, axis.at(row.high), y, "span"))
        for value, word, beyond in (
            (row.low, "‹", row.low < axis.low),
            (row.high, "›", row.high > axis.high),
        ):
            if beyond:
                parts.append(_text(axis.at(value), y + 5, word, "middle"))
        parts.append(f'<circle cx="{axis.at(row.middle):g}" cy="{y:g}" r="4" class="dot"/>')
        parts.append(_text(WIDTH, y + 4, row.behind, "end", "soft"))
    parts += [_text(axis.at(v), bottom + 16, word, "middle", "soft") for v, word in ticks]
    parts.append(_text(LABEL, bottom + 36, foot, "start", "soft"))
    return _svg(height + 6, title, parts)


def exposure_chart(curve: Mapping[str, Any], plates: Sequence[Mapping[str, Any]]) -> str:
    """Return the chance of a right exposure by light given, with the judged plates below it.

    Parameters
    ----------
    curve : Mapping
        ``stops``, ``right``, ``right_low``, ``right_high``: against the day plan's exposure.
    plates : sequence of Mapping
        ``stops`` and ``verdict`` of each plate.
    """
    stops = curve["stops"]
    across = Axis(stops[0], stops[-1], SIDE, WIDTH - 14)
    up = Axis(0.0, 1.0, 190, 14)
    parts = _share_grid(across, up)
    band = _band(across, up, stops, curve["right_low"], curve["right_high"])
    line = _points(across, up, stops, curve["right"])
    parts.append(f'<polygon points="{band}" fill="{VIOLET}" fill-opacity="0.14"/>')
    parts.append(f'<polyline points="{line}" fill="none" stroke="{VIOLET}" stroke-width="1.8"/>')
    parts.append(_text(0, 62, "judged right"))
    lanes = (("under", ("blank", "under")), ("right", ("right",)), ("over", ("over",)),
             ("solarised", ("solarised",)))  # fmt: skip
    for place, (name, verdicts) in enumerate(lanes):
        y = 222 + 20 * place
        mine = [plate for plate in plates if plate["verdict"] in verdicts]
        parts.append(_text(0, y + 4, f"{name}, {len(mine)}"))
        parts.append(_line(across.left, y, across.right, y, "hair"))
        parts += [
            _line(across.at(p["stops"]), y - 7, across.at(p["stops"]), y + 7, "tick") for p in mine
        ]
    foot = 222 + 20 * len(lanes) + 6
    for value in range(round(across.low), round(across.high) + 1):
        word = "plan" if value == 0 else f"{value:+d}"
        parts.append(_text(across.at(value), foot, word, "middle", "soft"))
        parts.append(_line(across.at(value), 14, across.at(value), foot - 14, "hair"))
    parts.append(_text(across.left, foot + 20, "stops more or less light than the day plan gives",
                       "start", "soft"))  # fmt: skip
    title = f"Chance of a right exposure by light given, from {len(plates)} judged plates"
    return _svg(foot + 28, title, parts)


def _days(days: Sequence[date], left: float, right: float) -> Axis:
    first, last = days[0].toordinal(), days[-1].toordinal()
    return Axis(float(first), float(max(last, first + 1)), left, right)


def _day_words(days: Sequence[date], axis: Axis, y: float) -> list[str]:
    first, last = days[0], days[-1]
    return [
        _text(axis.left, y, first.isoformat(), "start", "soft"),
        _text(axis.right, y, last.isoformat(), "end", "soft"),
    ]


def trend_chart(points: Sequence[Mapping[str, Any]]) -> str:
    """Return how the share of good plates went, each plate as a tick above or below.

    Parameters
    ----------
    points : sequence of Mapping
        ``day``, ``good``, ``share``, ``low``, ``high``, ``plates`` in order of time; at least one.
    """
    across = Axis(0.0, float(max(len(points) - 1, 1)), SIDE, WIDTH - 14)
    up = Axis(0.0, 1.0, 150, 30)
    parts = _share_grid(across, up)
    places = range(len(points))
    low, share, high = ([point[key] for point in points] for key in ("low", "share", "high"))
    parts.append(f'<polygon points="{_band(across, up, places, low, high)}" class="band"/>')
    parts.append(f'<polyline points="{_points(across, up, places, share)}" class="run"/>')
    for place, point in enumerate(points):
        x = across.at(place)
        parts.append(_line(x, 8, x, 20, "tick") if point["good"] else _line(x, 160, x, 172, "tick"))
    parts += [_text(0, 20, "good"), _text(0, 172, "failed")]
    days = [point["day"] for point in points]
    parts += _day_words(days, across, 192)
    title = f"Share of good plates among the last dozen, over {len(points)} plates"
    return _svg(200, title, parts)


def drift_chart(chart: Mapping[str, Any]) -> str:
    """Return what was measured day by day, four in five of the days as a band, drift as a line.

    Parameters
    ----------
    chart : Mapping
        Of a control chart: ``days``, ``values``, ``unit``, ``title``, ``since``, ``toward``.
    """
    values, days = list(chart["values"]), list(chart["days"])
    across = _days(days, SIDE, WIDTH - 14)
    low, high = min(values), max(values)
    room = 0.08 * ((high - low) or abs(high) or 1.0)
    up = Axis(low - room, high + room, 110, 14)
    parts = []
    for value in sorted({low, high}):
        parts.append(_line(across.left, up.at(value), across.right, up.at(value), "hair"))
        parts.append(_text(across.left - 8, up.at(value) + 4, f"{value:.3g}", "end", "soft"))
    ordered = sorted(values)
    usual = [ordered[round(share * (len(ordered) - 1))] for share in (0.1, 0.9)]
    parts.append(
        f'<rect x="{across.left:g}" y="{up.at(usual[1]):g}" class="band" '
        f'width="{across.right - across.left:g}" height="{up.at(usual[0]) - up.at(usual[1]):g}"/>'
    )
    points = [(across.at(d.toordinal()), up.at(v)) for d, v in zip(days, values, strict=True)]
    line = " ".join(f"{x:g},{y:g}" for x, y in points)
    parts.append(f'<polyline points="{line}" class="run"/>')
    parts += [f'<circle cx="{x:g}" cy="{y:g}" r="2.6" class="dot"/>' for x, y in points]
    if chart["since"] is not None:
        x = across.at(chart["since"].toordinal())
        side = "start" if x < (across.left + across.right) / 2 else "end"
        nudge = 6 if side == "start" else -6
        way = "higher" if chart["toward"] == "above" else "lower"
        parts.append(_line(x, 6, x, 116, "mark"))
        parts.append(_text(x + nudge, 12, f"{way} since {chart['since']}", side, "loud"))
    parts += _day_words(days, across, 134)
    words = f"{chart['title']}, {len(days)} days. {chart['words']}"
    return _svg(142, words, parts)
