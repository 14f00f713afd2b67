"""What was read out of a picture, drawn: marks over the picture itself, and a plate's curve.

Both take the answer as the book keeps it, which may come from an older argentry.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from math import ceil, floor
from typing import Any

from argentry.out.colours import HAIR, INK, SOFT, VIOLET
from argentry.out.drawing.axis import Axis, round_steps
from argentry.out.drawing.svg import box, dot, drawing, line, mark, path, smooth, straight, text
from argentry.out.drawing.type import wrap

SIZE, SMALL, LEADING = 13.0, 12.0, 17.0
PAPER, LIGHT = "#ffffff", "#ffd54a"  # a mark over a photograph: a light stroke on a dark one
HIGH = 200.0  # of the curve's field. [px]
CURVE = "Density above the veil by log exposure; {steps} steps"
ACROSS = "log exposure, against the light of the plate's exposure"
RIGHT, PEAK = "right", "peak"


def marked_picture(
    href: str,
    answer: Mapping[str, Any],
    marks: Sequence[Mapping[str, Any]],
    title: str,
    across: float = 320.0,
) -> str:
    """Return a picture with marks over it.

    Parameters
    ----------
    href : str
        Where the picture is had.
    answer : Mapping
        What was read, with its size and the plate's corners.
    marks : sequence of Mapping
        ``px`` (x, y), ``radius_px`` and ``words`` of each; a line has ``to_px``.
    title : str
        Read to those who cannot see it.
    across : float
        Thicknesses of a thin stroke that go along its longer side.
    """
    width, height = answer["width_px"], answer["height_px"]
    unit = max(width, height) / across  # a px of a small screen
    parts = [mark("image", href=href, width=width, height=height)]
    if answer.get("plate"):
        parts += _twice(straight(answer["plate"]["corners_px"]) + "Z", 1.2 * unit)
    for one in marks:
        (x, y), radius = one["px"], round(max(one.get("radius_px") or 0.0, 3.0 * unit))
        if one.get("to_px"):
            way, thick = straight([one["px"], one["to_px"]]), 0.8 * unit
        else:
            thick = 1.2 * unit
            way = (
                f"M{x - radius:.0f} {y:.0f}a{radius} {radius} 0 1 0 {2 * radius} 0"
                f"a{radius} {radius} 0 1 0 {-2 * radius} 0Z"
            )
        parts += _twice(way, thick)
        if one.get("words"):
            size = 9.0 * unit
            right = x < 0.7 * width
            where = {
                "x": x + (1.4 if right else -1.4) * radius, "y": y + 0.35 * size, "font_size": size,
                "text_anchor": "start" if right else "end",
            }  # fmt: skip
            words = escape(one["words"])
            parts.append(mark("text", words, stroke=INK, stroke_width=0.35 * size,
                              stroke_linejoin="round", **where))  # fmt: skip
            parts.append(mark("text", words, fill=LIGHT, **where))
    return mark(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", class_="shot",
        viewBox=f"0 0 {width} {height}", role="img", aria_label=title,
        font_family="B612, Verdana, sans-serif",
    )  # fmt: skip


def marks_of(answer: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the places of an answer as `marked_picture` takes them: steps, spots, areas, lines."""
    marks: list[Mapping[str, Any]] = [{"px": step["px"]} for step in answer.get("steps", ())]
    marks += [
        {"px": spot["px"], "radius_px": 0.8 * spot["diameter_px"]}
        for spot in (*answer.get("spots", ()), *answer.get("areas", ()))
    ]
    marks += [
        {"px": line["from_px"], "to_px": line["to_px"]}
        for line in (*answer.get("scratches", ()), *(answer.get("blur") or {}).get("edges", ()))
    ]
    return marks


def _twice(way: str, width: float) -> list[str]:
    return [
        path(way, stroke=INK, width=2.2 * width), path(way, stroke=LIGHT, width=width),
    ]  # fmt: skip


def wedge_chart(answer: Mapping[str, Any], width: float) -> str:
    """Return the steps of a wedge with the curve through them."""
    steps, curve = answer["steps"], answer["curve"]
    xs = [one["log_exposure"] for one in steps]
    top = max(*(one["density"] + one["doubt"] for one in steps), 0.2)
    across, up = Axis(min(xs), max(xs), 38.0, width - 14.0), Axis(0.0, top, HIGH, 24.0)
    parts: list[str] = []
    right = answer.get("right_stops")
    if right:
        low, high = (across.at(one * 0.30103) for one in right)
        parts.append(
            path(straight([(low, 24), (high, 24), (high, HIGH), (low, HIGH)]) + "Z",
                 fill=VIOLET, opacity=0.14)
        )  # fmt: skip
        parts.append(_soft((low + high) / 2, 16, RIGHT, "middle"))
    for value in round_steps(top, 4):
        parts.append(line((across.left, up.at(value)), (across.right, up.at(value)), stroke=HAIR))
        parts.append(_soft(across.left - 6, up.at(value) + 4, f"{value:.1f}", "end"))
    for whole in range(ceil(across.low), floor(across.high) + 1):
        parts.append(line((across.at(whole), 24), (across.at(whole), HIGH), stroke=HAIR))
        parts.append(_soft(across.at(whole), HIGH + 16, f"{whole:+d}" if whole else "0", "middle"))
    points = [(across.at(one["log_exposure"]), up.at(one["density"])) for one in curve]
    parts.append(path(smooth(points), stroke=VIOLET, width=1.8))
    for one in steps:
        x = across.at(one["log_exposure"])
        low, high = (up.at(one["density"] + sign * one["doubt"]) for sign in (-1, 1))
        parts.append(line((x, low), (x, high)))
        parts.append(dot(x, up.at(one["density"]), 2.2))
    peak = answer.get("peak_log_exposure")
    if peak is not None:
        parts.append(line((across.at(peak), 24), (across.at(peak), HIGH), stroke=SOFT, dash="3 3"))
        parts.append(_soft(across.at(peak), 16, PEAK, "middle"))
    parts.append(box(across.left, 24, across.right, HIGH, stroke=INK, width=0.8))
    lines = wrap(ACROSS, width - 14, SMALL)
    foot = HIGH + 20
    parts += [_soft(0.0, foot + LEADING * (i + 1), part) for i, part in enumerate(lines)]
    title = CURVE.format(steps=len(steps))
    return drawing(width, foot + 8 + LEADING * len(lines), title, parts)


def _soft(x: float, y: float, words: str, anchor: str = "start") -> str:
    return text(x, y, words, size=SMALL, anchor=anchor, fill=SOFT)
