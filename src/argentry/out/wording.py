"""Times, minutes and odds as every sheet says them: one way, with the range, never too precise."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from argentry.records.day import IN_SECONDS, Range
from argentry.trade.defects import defect_look


def minutes_between(start: datetime, end: datetime) -> float:
    """Return the real minutes from `start` to `end`.

    Two times of one zone subtract by the wall clock in Python, which is an hour wrong across a
    change of the clocks; this goes through UTC.
    """
    return (end.timestamp() - start.timestamp()) / 60.0


def later(when: datetime, minutes: float) -> datetime:
    """Return the time `minutes` real minutes after `when`, in the zone of `when`."""
    return (when.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(when.tzinfo)


def clock(when: datetime | None) -> str:
    """Return the wall clock to the nearest minute, ``13:20``; a dash for None."""
    if when is None:
        return "–"
    return f"{later(when, 0.5):%H:%M}"


def deadline(when: datetime) -> str:
    """Return a latest time as the wall clock, rounded down so that it stays safe."""
    return f"{when:%H:%M}"


def clock_range(low: datetime | None, high: datetime | None) -> str:
    """Return two wall-clock times, ``13:05–13:40``; one when both round to the same minute.

    None stands for a time that never comes and is told as ``never``.
    """
    if high is None:
        return f"{clock(low)}–never" if low is not None else "never"
    first, last = clock(low), clock(high)
    return first if first == last else f"{first}–{last}"


def length(minutes: float) -> str:
    """Return a length of time in words: ``45 s``, ``7 min``, ``2 h 05``; a dash when endless."""
    if not math.isfinite(minutes):
        return "–"
    if 0.0 < minutes < 1.5:
        return f"{max(5, 5 * round(minutes * 12))} s"
    whole = round(minutes)
    if whole < 100:
        return f"{whole} min"
    return f"{whole // 60} h {whole % 60:02d}"


def step_length(seconds: float) -> str:
    """Return the length of a step at the bench: ``67 s``, ``7 min``, ``2 h 05``."""
    return f"{seconds:.0f} s" if seconds < IN_SECONDS else length(seconds / 60.0)


def step_range(middle: float, low: float, high: float) -> str:
    """Return a step's length with its range as the bench says it: ``67 s (59–77)``. [s]."""
    whole, ends = step_length(middle), [step_length(end) for end in (low, high)]
    if middle < IN_SECONDS:
        ends = [f"{end:.0f}" for end in (low, high)]
    elif whole.endswith(" min"):
        ends = [f"{end / 60.0:.0f}" for end in (low, high)]
    return whole if ends[0] == ends[1] else f"{whole} ({ends[0]}–{ends[1]})"


def length_range(span: Range) -> tuple[str, str]:
    """Return the middle length with its unit, and its 80 % range in the same unit.

    Parameters
    ----------
    span : Range
        Length of time. [min]

    Returns
    -------
    tuple of (str, str)
        ``("6 min", "4–11")``, ``("75 s", "60–95")``; the range is empty when it has no width. Steps
        are always in minutes, so that they add up in the head; only what is over in three minutes
        or less is in seconds.
    """
    if not math.isfinite(span.middle):
        return "–", ""
    if span.high <= 3.0:
        low, middle, high = (
            f"{5 * round(12 * part):d}" for part in (span.low, span.middle, span.high)
        )
        unit = "s"
    else:
        low, middle, high = (
            (f"{part:.1f}".removesuffix(".0") if part < 1.95 else f"{part:.0f}")
            if math.isfinite(part)
            else "∞"
            for part in (span.low, span.middle, span.high)
        )
        unit = "min"
    return f"{middle} {unit}", "" if low == high else f"{low}–{high}"


def count_range(span: Range) -> str:
    """Return a number of plates with its 80 % range: ``3 (2–3)``, ``0.8 (0–2)`` on average."""
    low, high = (f"{value:.0f}" for value in (span.low, span.high))
    middle = f"{span.middle:.1f}".removesuffix(".0")
    return low if low == high else f"{middle} ({low}–{high})"


def counted(number: int, one: str) -> str:
    """Return ``1 bath``, ``3 baths``."""
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def looks(defects: Iterable[str]) -> str:
    """Return defects by their looks, each once: ``"grey veil overall, faint or blank"``."""
    return ", ".join(dict.fromkeys(defect_look(key) for key in defects))


def plates(number: int) -> str:
    """Return ``1 plate``, ``3 plates``."""
    return counted(number, "plate")


def ranged(middle: float, low: float, high: float, unit: str = "") -> str:
    """Return a number with its 80 % range and unit: ``1.215 (1.193–1.237)``.

    All three to the place that the width of the range makes worth telling: its second digit, or
    up to three more where an end would else look like 0 and is not.
    """
    width = abs(high - low)
    places = max(0, 1 - math.floor(math.log10(width))) if width > 0.0 else 2
    for _ in range(3):
        places += any(end and not round(end, places) for end in (low, high))
    told, *ends = (f"{round(one, places) + 0.0:.{places}f}" for one in (middle, low, high))
    between = " to " if any(end.startswith("-") for end in ends) else "–"
    return f"{told} ({between.join(ends)}) {shown_unit(unit)}".strip()


def shown_unit(unit: str) -> str:
    """Return a unit as it is written for eyes: ``kJ/m²``; nothing for a plain number."""
    return "" if unit == "1" else unit.replace("m2", "m²").replace("m3", "m³")
