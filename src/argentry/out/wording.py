"""Times, minutes and odds as every sheet says them: one way, with the range, never too precise."""

from __future__ import annotations

import math
from datetime import UTC, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.records.day import Range


def minutes_between(start: datetime, end: datetime) -> float:
    """Return the real minutes from `start` to `end`. [min]

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


def clock_range(low: datetime, high: datetime) -> str:
    """Return two wall-clock times, ``13:05–13:40``; one when both round to the same minute."""
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


def length_range(span: Range) -> str:
    """Return the middle length with its 80 % range: ``6 (4–11) min``, ``2 h 00 (1 h 25–3 h 10)``."""
    low, middle, high = length(span.low), length(span.middle), length(span.high)
    if low == high:
        return middle
    units = {text.split(" ", 1)[1] for text in (low, middle, high) if text != "–"}
    if len(units) == 1 and "h" not in next(iter(units)):
        unit = units.pop()
        low, middle, high = (text.split(" ")[0] for text in (low, middle, high))
        return f"{middle} ({low}–{high}) {unit}"
    return f"{middle} ({low}–{high})"


def percent(share: float, samples: int = 0) -> str:
    """Return a share in percent, never more sure than the days behind it.

    Parameters
    ----------
    share : float
        0 to 1. [1]
    samples : int
        Number of simulated days behind it; 0 when it is not a count.

    Returns
    -------
    str
        ``91 %``; ``>99 %`` or ``<1 %`` near certainty, since a few hundred days prove no more.
    """
    if not math.isfinite(share):
        return "–"
    whole = round(100.0 * share)
    if whole >= 100 and (share < 1.0 or samples):
        return ">99 %"
    if whole <= 0 and (share > 0.0 or samples):
        return "<1 %"
    return f"{whole} %"


def count_range(span: Range) -> str:
    """Return a number of plates with its 80 % range: ``3 (2–3)``."""
    low, middle, high = (f"{value:.0f}" for value in (span.low, span.middle, span.high))
    return middle if low == high else f"{middle} ({low}–{high})"


def plates(number: int) -> str:
    """Return ``1 plate``, ``3 plates``."""
    return f"{number} plate" if number == 1 else f"{number} plates"
