"""A season drawn: days across, hours up, the darker the likelier; below, the plates of a day."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from argentry.arrays import Floats
from argentry.out.colours import HAIR, INK, RED, SHADE, SOFT, VIOLET
from argentry.out.drawing.axis import Axis, round_steps
from argentry.out.drawing.svg import box, drawing, figure, line, path, straight, text
from argentry.out.drawing.type import width as width_of
from argentry.records.answers.season import SeasonPlace

SIZE, LEFT, RIGHT = 12.0, 40.0, 6.0  # [px]
HEAD, HOUR, GAP, PLATES = 22.0, 13.0, 14.0, 70.0  # heights [px]
NARROW = 500.0  # under it a column is a week [px]
DEPTHS = (0.1, 0.3, 0.5, 0.7, 0.9)  # odds from which a cell is one shade deeper
EXPOSURE, FINISHED, COUNTED = (
    "Light enough for an exposure",
    "Plate exposed then is finished that day",
    "Plates a day holds",
)
TITLE = (
    "{place}: odds by day and hour of enough light and of a finished plate; in the middle year "
    "{low:.0f} to {high:.0f} plates a day"
)
LEGEND = ("10 %", "30", "50", "70", "90 %")
WEEKLY = "each column a week", "means of a week"


def season_map(place: SeasonPlace, width: float) -> str:
    """Return a season at a place as a drawing."""
    every = 7 if width < NARROW else 1
    across = Axis(0.0, float(len(place.days)), LEFT, width - RIGHT)
    parts: list[str] = []
    top = 0.0
    for name, odds, ink in (
        (EXPOSURE, [day.exposure_odds for day in place.days], VIOLET),
        (FINISHED, [day.finished_odds for day in place.days], RED),
    ):
        foot = top + HEAD + HOUR * len(place.hours)
        parts.append(text(LEFT, top + 15.0, name, size=SIZE, fill=ink, bold=True))
        parts += _months(place, across, top + HEAD, foot)
        parts += _cells(np.array(odds), across, foot, every, ink)
        parts += _hours(place.hours, foot)
        top = foot + GAP
    parts += _legend(top, width, every)
    top += HEAD
    parts += _plates(place, across, top)
    foot = top + HEAD + PLATES
    parts += _month_names(place, across, foot + 16.0)
    middles = [day.plates.middle for day in place.days]
    title = TITLE.format(place=place.place, low=min(middles), high=max(middles))
    return drawing(width, foot + 24.0, title, parts)


def _months(place: SeasonPlace, across: Axis, top: float, foot: float) -> list[str]:
    edges = [at for at, day in enumerate(place.days) if day.date.day == 1]
    lines = [line((across.at(at), top), (across.at(at), foot), stroke=HAIR) for at in edges]
    return [box(across.left, top, across.right, foot, stroke=HAIR), *lines]


def _month_names(place: SeasonPlace, across: Axis, y: float) -> list[str]:
    """Return the months' names: three letters where there is room, else one."""
    months = []
    for _, days in groupby(
        enumerate(place.days), key=lambda one: (one[1].date.year, one[1].date.month)
    ):
        rows = list(days)
        low, high = across.at(rows[0][0]), across.at(rows[-1][0] + 1)
        months.append((low, high, f"{rows[0][1].date:%b}"))
    whole = [month for month in months if month[1] - month[0] > 27 * across.at(1) - 27 * LEFT]
    short = any(width_of(word, SIZE) > high - low - 3.0 for low, high, word in whole)
    names = []
    for low, high, word in months:
        said = word[0] if short else word
        if width_of(said, SIZE) <= high - low:
            names.append(text((low + high) / 2, y, said, size=SIZE, anchor="middle", fill=SOFT))
    return names


def _cells(odds: Floats, across: Axis, foot: float, every: int, ink: str) -> list[str]:
    """Return the cells, one path a shade: a browser draws five paths sooner than 4000 boxes."""
    days = len(odds)
    starts = np.arange(0, days, every)
    ends = np.minimum(starts + every, days)
    means = _smooth(odds)[np.minimum(starts + every // 2, days - 1)]
    shades = np.searchsorted(DEPTHS, means + 1e-9, side="right")
    ways: dict[int, list[str]] = {shade: [] for shade in range(1, len(DEPTHS) + 1)}
    for hour in range(means.shape[1]):
        y = foot - HOUR * (hour + 1)
        at = 0
        for shade, run in groupby(shades[:, hour].tolist()):
            count = len(list(run))
            if shade:
                left, right = across.at(starts[at]), across.at(ends[at + count - 1])
                ways[shade].append(
                    f"M{figure(left)} {figure(y)}h{figure(right - left)}v{figure(HOUR)}"
                    f"h{figure(left - right)}z"
                )
            at += count
    return [
        path("".join(way), fill=ink, opacity=shade / len(DEPTHS))
        for shade, way in ways.items()
        if way
    ]


def _hours(hours: Sequence[str], foot: float) -> list[str]:
    each = 2 if len(hours) > 6 else 1
    return [
        text(LEFT - 5.0, foot - HOUR * at + 4.0, word, size=SIZE, anchor="end", fill=SOFT)
        for at, word in enumerate(hours)
        if at % each == 0
    ]


def _legend(top: float, width: float, every: int) -> list[str]:
    parts, x = [], LEFT
    for shade, word in enumerate(LEGEND, 1):
        for ink, low in ((VIOLET, 0.0), (RED, 6.0)):
            way = f"M{figure(x)} {figure(top + low)}h14v6h-14z"
            parts.append(path(way, fill=ink, opacity=shade / len(DEPTHS)))
        parts.append(text(x + 18.0, top + 10.5, word, size=SIZE, fill=SOFT))
        x += 24.0 + width_of(word, SIZE)
    said = WEEKLY[0] if every > 1 else WEEKLY[1]
    if x + width_of(said, SIZE) < width - RIGHT:
        parts.append(text(width - RIGHT, top + 10.5, said, size=SIZE, anchor="end", fill=SOFT))
    return parts


def _plates(place: SeasonPlace, across: Axis, top: float) -> list[str]:
    """Return the plates a day holds: the middle year, and where four years of five lie."""
    parts = [text(LEFT, top + 15.0, COUNTED, size=SIZE, fill=INK, bold=True)]
    foot = top + HEAD + PLATES
    most = max(1.0, *(day.plates.high for day in place.days))
    up = Axis(0.0, most, foot, top + HEAD)
    parts += _months(place, across, top + HEAD, foot)
    low, middle, high = (
        _smooth(np.array([getattr(day.plates, part) for day in place.days]))
        for part in ("low", "middle", "high")
    )
    at = [across.at(one + 0.5) for one in range(len(place.days))]
    above = [(x, up.at(y)) for x, y in zip(at, high, strict=True)]
    below = [(x, up.at(y)) for x, y in zip(at, low, strict=True)]
    parts.append(path(straight([*above, *below[::-1]]) + "z", fill=SHADE))
    parts.append(
        path(straight([(x, up.at(y)) for x, y in zip(at, middle, strict=True)]), stroke=INK)
    )
    for value in round_steps(most, 3):
        if value == round(value):
            word = f"{value:.0f}"
            parts.append(
                text(LEFT - 5.0, up.at(value) + 4.0, word, size=SIZE, anchor="end", fill=SOFT)
            )
    return parts


def _smooth(values: Floats) -> Floats:
    """Return means over the week about each day: single days of 20 years are chance."""
    sums = np.concatenate((np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)))
    days = len(values)
    low = np.maximum(np.arange(days) - 3, 0)
    high = np.minimum(np.arange(days) + 4, days)
    count = (high - low).reshape(-1, *[1] * (values.ndim - 1))
    return np.asarray((sums[high] - sums[low]) / count)
