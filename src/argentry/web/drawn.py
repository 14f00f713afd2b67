"""Drawings in a page: each made twice, for a phone and for a wider screen, one of them shown.

A server does not know how wide the screen is that asks; a style rule does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from markupsafe import Markup

from argentry.keeping.seeing.blur import blur_figure
from argentry.keeping.seeing.change import carried
from argentry.out.learning.charts import RangeRow, range_chart
from argentry.out.plates.seen_pictures import marked_picture, marks_of, wedge_chart
from argentry.records.plate import Judged

SHOWN = "/pictures/{}/1600.jpg"
AFTER = "The picture after, with the same places"
READ = "The picture with what was read out of it: {line}"
PHONE, WIDE = 340.0, 700.0  # px; a screen of 320 px shows type of 12 px at 11


def drawn(draw: Callable[[float], str]) -> Markup:
    """Return what `draw` makes for a width, for both widths."""
    both = f'<div class="phone">{draw(PHONE)}</div><div class="wide">{draw(WIDE)}</div>'
    return Markup(both)  # noqa: S704 - the drawing escapes every word


def drawn_ranges(
    title: str,
    rows: Sequence[Any],
    ends: tuple[float, float],
    ticks: Sequence[tuple[float, str]],
    foot: str,
    fields: tuple[str, str, str] = ("low", "probability", "high"),
) -> Markup | str:
    """Return ranges drawn, each of a record with its plates; nothing when there is none."""
    if not rows:
        return ""
    shown = [row if isinstance(row, RangeRow) else range_row(row, fields) for row in rows]
    return drawn(lambda width: range_chart(title, shown, ends, ticks, foot, width))


def drawn_reading(one: Judged) -> Mapping[str, Any]:
    """Return a reading of a picture with its drawings: marks over the picture, a wedge's curve."""
    steps = one.answer.get("steps", ())
    title = READ.format(line=one.answer["line"])
    marks = marks_of(one.answer)
    shots = [marked_picture(SHOWN.format(one.picture), one.answer, marks, title)]
    if one.second_picture and "after" in one.answer:
        turn = one.answer.get("before_to_after")
        there = [{**mark, **carried(turn, mark)} for mark in marks if turn]
        second = SHOWN.format(one.second_picture)
        shots.append(marked_picture(second, one.answer["after"], there, AFTER))
    return {
        "of": one,
        "shots": [Markup(shot) for shot in shots],  # noqa: S704 - the drawing escapes every word
        "chart": drawn(partial(wedge_chart, one.answer)) if steps else "",
        "blur": blur_figure(blur) if (blur := one.answer.get("blur")) else "",
    }


def range_row(
    row: Any, fields: tuple[str, str, str] = ("low", "probability", "high"), name: str = ""
) -> RangeRow:
    """Return the range of a record, with what was assumed before when it says so."""
    low, middle, high = (getattr(row, field) for field in fields)
    believed = hasattr(row, "believed_low")
    return RangeRow(
        name or getattr(row, "title", "") or row.stage,
        low,
        middle,
        high,
        _plates(row.plates),
        (row.believed_low, row.believed_high) if believed else None,
    )


def _plates(count: float) -> str:
    return f"{count:.0f} plate{'' if round(count) == 1 else 's'}"
