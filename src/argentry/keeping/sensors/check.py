"""Whether a sensor's value may be believed: pure rules over what the same sensor said before.

A value is doubted when it cannot be true, when it came faster than the thing itself can change,
when the sensor has said the same to the last digit for hours, or when its clock is wrong. A doubted
value is kept and never used.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import isfinite

from argentry import trade
from argentry.keeping.clock import span_words
from argentry.trade.readings import Quantity

CLOCK, RANGE, JUMP, STUCK = "clock", "range", "jump", "stuck"


@dataclass(frozen=True)
class Seen:
    """What is remembered of one sensor and one quantity.

    Attributes
    ----------
    value, at : float or None, datetime or None
        The last value believed, in the quantity's own unit, and when it was taken.
    leapt_first, leapt_at, leapt_value : datetime or None, datetime or None, float or None
        When the sensor leapt away from it, when it last spoke from there, and what it said.
    same, same_since, same_count : float or None, datetime or None, int
        The value it repeats, since when, and how often it was said.
    """

    value: float | None = None
    at: datetime | None = None
    leapt_first: datetime | None = None
    leapt_at: datetime | None = None
    leapt_value: float | None = None
    same: float | None = None
    same_since: datetime | None = None
    same_count: int = 0


@dataclass(frozen=True)
class Doubt:
    """Why a value is not used.

    Attributes
    ----------
    kind : str
        ``"clock"``, ``"range"``, ``"jump"`` or ``"stuck"``.
    words : str
        The same for the maker.
    """

    kind: str
    words: str


def clock_doubt(at: datetime, now: datetime) -> Doubt | None:
    """Return the doubt about a sensor's own stamp, if there is one."""
    ahead = (at - now).total_seconds()
    if ahead > trade.value("sensors", "ahead_s"):
        return Doubt(CLOCK, "its clock is {ahead} ahead".format(ahead=span_words(ahead)))
    if -ahead > 3600.0 * trade.value("sensors", "long_past_h"):
        return Doubt(
            CLOCK,
            "its clock says {at:%Y-%m-%d}, {ahead} ago".format(at=at, ahead=span_words(-ahead)),
        )
    return None


def judge(quantity: Quantity, seen: Seen, value: float, at: datetime) -> tuple[Doubt | None, Seen]:
    """Judge one value, and remember it.

    Parameters
    ----------
    quantity : Quantity
        What is measured.
    seen : Seen
        What the same sensor said of it before.
    value : float
        [the quantity's unit]
    at : datetime
        When it was taken, UTC.

    Returns
    -------
    tuple of (Doubt or None, Seen)
        Why it is not used, and what to remember for the next one. A value out of range leaves no
        trace; one that is older than what is remembered is judged by its range alone.
    """
    if not (isfinite(value) and quantity.low <= value <= quantity.high):
        return Doubt(RANGE, _range_words(quantity, value)), seen
    newest = max((t for t in (seen.at, seen.leapt_at) if t is not None), default=None)
    if newest is not None and at <= newest:
        return None, seen
    seen = _repeated(seen, value, at)
    leapt = _leap(quantity, seen, value, at)
    if leapt is not None:
        return leapt
    if _stuck(quantity, seen, value, at):
        assert seen.same_since is not None
        span = span_words((at - seen.same_since).total_seconds())
        words = "it has sent exactly {value:g} {unit} for {span}".format(
            value=value, unit=quantity.unit, span=span
        )
        return Doubt(STUCK, words), replace(seen, at=at, value=value)
    return None, replace(
        seen, value=value, at=at, leapt_first=None, leapt_at=None, leapt_value=None
    )


def _repeated(seen: Seen, value: float, at: datetime) -> Seen:
    if seen.same == value:
        return replace(seen, same_count=seen.same_count + 1)
    return replace(seen, same=value, same_since=at, same_count=1)


def _leap(quantity: Quantity, seen: Seen, value: float, at: datetime) -> tuple[Doubt, Seen] | None:
    """Return the doubt and the memory when the value leapt, or None when it is as it may be."""
    if _reachable(quantity, seen.value, seen.at, value, at):
        return None
    follows = seen.leapt_at is not None and _reachable(
        quantity, seen.leapt_value, seen.leapt_at, value, at
    )
    first = seen.leapt_first if follows and seen.leapt_first is not None else at
    if at - first >= timedelta(seconds=trade.value("sensors", "held_s")):
        return None  # it has held: the new truth
    assert seen.value is not None
    assert seen.at is not None
    words = "it went from {seen:g} to {value:g} {unit} in {span}".format(
        seen=seen.value,
        value=value,
        unit=quantity.unit,
        span=span_words((at - seen.at).total_seconds()),
    )
    return Doubt(JUMP, words), replace(seen, leapt_first=first, leapt_at=at, leapt_value=value)


def _reachable(
    quantity: Quantity, before: float | None, then: datetime | None, value: float, at: datetime
) -> bool:
    """Tell whether the quantity can have gone so far; the last digit of a sensor never counts.

    Time is counted as a minute at least, so that a step of the last digit between two quick
    readings is not a leap.
    """
    if before is None or then is None:
        return True
    minutes = max((at - then).total_seconds() / 60.0, 1.0)
    return abs(value - before) <= quantity.longest_jump_per_minute * minutes


def _stuck(quantity: Quantity, seen: Seen, value: float, at: datetime) -> bool:
    if value in quantity.rests:
        return False
    if seen.same_since is None or seen.same_count < trade.value("sensors", "stuck_count"):
        return False
    hours = trade.value("sensors", "stuck_whole_h" if value == round(value) else "stuck_h")
    return at - seen.same_since >= timedelta(hours=hours)


def _range_words(quantity: Quantity, value: float) -> str:
    return "{value:.6g} {unit} is not possible: it is outside {low:g} to {high:g} {unit}".format(
        value=value, unit=quantity.unit, low=quantity.low, high=quantity.high
    )


def stale_words(quantity: Quantity, at: datetime, now: datetime) -> str:
    """Return why a value is too old to be used, or an empty string when it is not."""
    age = (now - at).total_seconds()
    if age <= quantity.stale_after_s:
        return ""
    return "the last one is {age} old; is the sensor alive and its clock right?".format(
        age=span_words(age)
    )
