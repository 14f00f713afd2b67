"""The plates' rows of a day's drawing: filled for hands, hatched for waiting, a tail for float."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.out.colours import HAIR, INK
from argentry.out.day.blocks import Block, at_once, blocks, is_exposure
from argentry.out.drawing.axis import Frame
from argentry.out.drawing.svg import box, hatching, line, mark, text
from argentry.out.drawing.type import width as type_width
from argentry.records.day import DayPlan, PlannedStep

SHORTEST = 1.5  # a step that took seconds is still seen. [px]


@dataclass(frozen=True)
class Shade:
    """A column behind the drawing: night, or a break with its word. [px]."""

    left: float
    right: float
    fill: str
    word: str


@dataclass(frozen=True)
class RowSizes:
    """Row and bar height for a number of rows, in px for type of one size."""

    row: float
    bar: float

    @classmethod
    def for_rows(cls, rows: int, size: float) -> RowSizes:
        """Return generous rows for few plates and close ones for many."""
        part = 2.0 if rows <= 3 else 1.75 if rows <= 5 else 1.5 if rows <= 8 else 1.25
        return cls(part * size, 0.5 * part * size)


def plate_rows(
    plan: DayPlan, frame: Frame, shades: list[Shade], size: float
) -> tuple[float, list[str]]:
    """Return the rows of plates with the hours below them: their height and their marks."""
    numbers = sorted({step.plate for step in plan.steps})
    sizes = RowSizes.for_rows(len(numbers), size)
    high = sizes.row * len(numbers) + 0.5 * size
    parts = [box(shade.left, 0, shade.right, high, fill=shade.fill) for shade in shades]
    parts += hour_axis(frame, high, size)
    parts += [
        text((shade.left + shade.right) / 2, size, shade.word, size=size, anchor="middle")
        for shade in shades
        if numbers and shade.word and shade.right - shade.left > type_width(shade.word, size)
    ]
    pieces, bars = blocks(plan), list[str]()
    for row, number in enumerate(numbers):
        top = 0.25 * size + (row + 0.3) * sizes.row
        words = f"plate {number}" if number else "room"
        parts.append(
            text(-0.7 * size, top + sizes.bar / 2 + 0.35 * size, words, size=size, anchor="end")
        )
        before, covered = None, 0.0
        for block in (one for one in pieces if one.plate == number):
            bars += [_bar(step, frame, top, sizes) for step in block.steps]
            if before is None or not before.attended or not at_once(before, block.steps[0]):
                tail, covered = _tail(block, frame, top + sizes.bar, sizes, covered)
                bars.append(tail)
            before = block.steps[-1]
    parts.append(mark("g", "".join(bars), class_="bars"))  # a page lays the plan before over them
    return high + 1.9 * size, parts


def hour_places(frame: Frame) -> list[float]:
    """Return where each hour stands. [px]."""
    return [frame.along(minute) for minute, _ in frame.hours()]


def hour_lines(frame: Frame, high: float) -> list[str]:
    """Return a hairline at each hour."""
    return [line((x, 0), (x, high), stroke=HAIR, width=0.5) for x in hour_places(frame)]


def hour_axis(frame: Frame, high: float, size: float) -> list[str]:
    """Return the hours: a hairline each, a tick and a word below where there is room."""
    parts = []
    for x, hair in zip(hour_places(frame), hour_lines(frame, high), strict=True):
        parts += [hair, line((x, high), (x, high + 4))]
    for minute, word in frame.spaced(1.9 * size):
        x = frame.along(minute)
        parts.append(
            text(x, high + 5 + 0.85 * size, word, size=1.05 * size, anchor="middle", bold=True)
        )
    return parts


def _bar(step: PlannedStep, frame: Frame, top: float, sizes: RowSizes) -> str:
    bottom = top + sizes.bar
    left, right = max(0.0, frame.px(step.start)), min(frame.width, frame.px(step.end))
    if right <= left:
        return ""
    if not step.attended:
        return waiting(left, top, right, bottom)
    if is_exposure(step):
        top, bottom = top - 0.2 * sizes.row, bottom + 0.08 * sizes.row
    return box(left, top, right, bottom, fill=INK)


def planned_and_done(
    planned: tuple[float, float] | None,
    done: tuple[float, float] | None,
    y: float,
    bar: float,
    *,
    attended: bool,
) -> list[str]:
    """Return a step as planned, in outline, and as done, in ink below it.

    Parameters
    ----------
    planned, done : (float, float) or None
        Begin and end. [px]
    y, bar : float
        Top of the outline, and height of either. [px]
    attended : bool
        True where hands were at it.
    """
    parts = []
    if planned is not None:
        left, right = planned
        parts.append(box(left, y, max(right, left + SHORTEST), y + bar, stroke=INK, width=0.7))
    if done is not None:
        left, right, top, foot = done[0], done[1], y + bar + 2.0, y + 2.0 * bar + 2.0
        right = max(right, left + SHORTEST)
        ink = box(left, top, right, foot, fill=INK) if attended else waiting(left, top, right, foot)
        parts.append(ink)
    return parts


def waiting(left: float, top: float, right: float, bottom: float) -> str:
    """Return a hatched bar: something that goes on with no hands."""
    return hatching(left, top, right, bottom) + box(left, top, right, bottom, stroke=INK)


def _tail(
    block: Block, frame: Frame, bottom: float, sizes: RowSizes, covered: float
) -> tuple[str, float]:
    """Return the thin line from a planned start to the latest one, and where the last line ends.

    Work that follows at once shares the float of what it follows, and work that begins under an
    earlier line would only draw over it: neither gets a line of its own.
    """
    start = frame.px(block.start)
    if block.float_minutes <= 0 or start < covered:
        return "", covered
    end = min(frame.width, start + frame.along(block.float_minutes))
    return float_mark(start, end, bottom + 0.13 * sizes.row, 0.12 * sizes.row), end


def float_mark(start: float, end: float, y: float, rise: float) -> str:
    """Return the mark of float: a thin line that ends in an upright stroke."""
    upright = line((end, y - rise), (end, y + 0.4 * rise), width=0.9)
    return line((start, y), (end, y), width=0.9) + upright


def legend(
    plan: DayPlan, frame: Frame, shades: list[Shade], size: float
) -> tuple[float, list[str]]:
    """Return what each mark of the rows means, in as many lines as it takes."""
    del shades
    if not plan.steps:
        return 0.0, []
    parts: list[str] = []
    x, y, piece = 0.0, 0.0, 2.0 * size
    for kind, words in (
        ("hands", "hands at work"),
        ("exposes", "before the camera"),
        ("waits", "waits, no hands"),
        ("float", "float: may begin this much later"),
    ):
        wide = piece + 0.5 * size + type_width(words, size)
        if x and x + wide > frame.width:
            x, y = 0.0, y + 1.4 * size
        top, bottom, end = y + 0.35 * size, y + 1.05 * size, x + piece
        if kind == "hands":
            parts.append(box(x, top, end, bottom, fill=INK))
        elif kind == "exposes":
            parts.append(box(x + 0.5 * size, top - 0.2 * size, x + 1.5 * size, bottom, fill=INK))
        elif kind == "waits":
            parts.append(waiting(x, top, end, bottom))
        else:
            parts.append(float_mark(x, end, y + 0.8 * size, 0.4 * size))
        parts.append(text(end + 0.5 * size, y + size, words, size=size))
        x += wide + 1.6 * size
    return y + 1.4 * size, parts
