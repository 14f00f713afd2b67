"""The few marks that every drawing is made of, as SVG text.

Every mark carries its own look (no style sheet, no ids), so that one drawing can stand on paper
and, once or twice, in a page. Lengths are in px on a page and in pt on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise

from argentry.out.colours import FONT, INK

Point = tuple[float, float]


def figure(value: float) -> str:
    """Return a length as SVG writes it: two decimals at most, no trailing zeros."""
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def mark(name: str, content: str = "", **attributes: float | str | None) -> str:
    """Return one element; attributes of None are left out, underscores become hyphens."""
    parts = [
        f' {key.strip("_").replace("_", "-")}="'
        f'{escape(value) if isinstance(value, str) else figure(value)}"'
        for key, value in attributes.items()
        if value is not None
    ]
    return (
        f"<{name}{''.join(parts)}>{content}</{name}>" if content else f"<{name}{''.join(parts)}/>"
    )


def moved(left: float, top: float, marks: Sequence[str]) -> str:
    """Return marks moved as one."""
    return mark("g", "".join(marks), transform=f"translate({left:g},{top:g})")


def text(
    x: float,
    y: float,
    words: str,
    *,
    size: float,
    anchor: str = "start",
    fill: str = INK,
    bold: bool = False,
) -> str:
    """Return words on the baseline `y`; `anchor` is ``start``, ``middle`` or ``end``."""
    return mark(
        "text",
        escape(words, quote=False),
        x=x,
        y=y,
        font_size=size,
        text_anchor=None if anchor == "start" else anchor,
        fill=fill,
        font_weight="bold" if bold else None,
    )


def line(
    start: Point, end: Point, *, stroke: str = INK, width: float = 1.0, dash: str | None = None
) -> str:
    """Return a straight stroke."""
    (x1, y1), (x2, y2) = start, end
    return mark(
        "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, stroke_dasharray=dash
    )


def box(
    left: float,
    top: float,
    right: float,
    bottom: float,
    *,
    fill: str = "none",
    stroke: str | None = None,
    width: float = 0.8,
    dash: str | None = None,
) -> str:
    """Return a rectangle between its edges."""
    return mark(
        "rect",
        x=left,
        y=top,
        width=max(0.0, right - left),
        height=max(0.0, bottom - top),
        fill=fill,
        stroke=stroke,
        stroke_width=width if stroke else None,
        stroke_dasharray=dash,
    )


def dot(x: float, y: float, radius: float, *, fill: str = INK, stroke: str | None = None) -> str:
    """Return a filled circle."""
    return mark("circle", cx=x, cy=y, r=radius, fill=fill, stroke=stroke)


def path(
    way: str,
    *,
    fill: str = "none",
    stroke: str | None = None,
    width: float = 1.0,
    dash: str | None = None,
    opacity: float | None = None,
) -> str:
    """Return a free line or area by its path data."""
    return mark(
        "path",
        d=way,
        fill=fill,
        stroke=stroke,
        stroke_width=width if stroke else None,
        stroke_dasharray=dash,
        fill_opacity=opacity,
    )


def straight(points: Sequence[Point], start: str = "M") -> str:
    """Return path data of straight pieces through points."""
    steps = [f"{figure(x)} {figure(y)}" for x, y in points]
    return f"{start}{'L'.join(steps)}" if steps else ""


def smooth(points: Sequence[Point], start: str = "M") -> str:
    """Return path data of a smooth line through points that never swings beyond its neighbours.

    Parameters
    ----------
    points : sequence of (float, float)
        In order of x, rising or falling throughout.
    start : str
        ``"M"`` for a new line, ``"L"`` to go on from the last point of another.

    Notes
    -----
    Cubic pieces with slopes limited to monotone ones [1]_.

    References
    ----------
    .. [1] F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer.
       Anal. 17 (1980) 238-246.
    """
    if len(points) < 3:
        return straight(points, start)
    rises = [(y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in pairwise(points)]
    slopes = [rises[0]]
    for before, after in pairwise(rises):
        slopes.append(0.0 if before * after <= 0 else 2.0 * before * after / (before + after))
    slopes.append(rises[-1])
    way = [straight(points[:1], start)]
    for place, ((x1, y1), (x2, y2)) in enumerate(pairwise(points)):
        third = (x2 - x1) / 3.0
        corners = (
            (x1 + third, y1 + third * slopes[place]),
            (x2 - third, y2 - third * slopes[place + 1]),
            (x2, y2),
        )
        way.append("C" + " ".join(f"{figure(x)} {figure(y)}" for x, y in corners))
    return "".join(way)


GAP = 4.0  # between slanted strokes. [px]


def hatching(left: float, top: float, right: float, bottom: float) -> str:
    """Return slanted strokes inside a bar, as one path.

    Written out rather than as a pattern: a pattern needs an id, and a page that holds one drawing
    twice would hold that id twice.
    """
    height = bottom - top
    strokes = []
    for number in range(1, int((right - left + height) / GAP) + 2):
        foot = left - height + number * GAP  # where the stroke would meet the bar's foot
        low, high = max(foot, left), min(foot + height, right)
        if high > low:
            strokes.append(straight([(low, bottom - (low - foot)), (high, bottom - (high - foot))]))
    return path("".join(strokes), stroke=INK, width=0.7)


def window(left: float, top: float, right: float, bottom: float, parts: Iterable[str]) -> str:
    """Return marks that are cut at the edges of a panel; their places count from its corner."""
    return mark(
        "svg", "".join(parts), x=left, y=top, width=right - left, height=bottom - top,
        overflow="hidden",
    )  # fmt: skip


def drawing(width: float, height: float, title: str, parts: Iterable[str]) -> str:
    """Return the whole drawing.

    Parameters
    ----------
    width, height : float
        Its size; a page shows it at least that large.
    title : str
        Read to those who cannot see it.
    parts : iterable of str
        Its marks.
    """
    return mark(
        "svg",
        "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        class_="chart",
        viewBox=f"0 0 {figure(width)} {figure(height)}",
        width=width,
        height=height,
        role="img",
        aria_label=title,
        font_family=FONT,
    )
