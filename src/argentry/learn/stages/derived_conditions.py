"""Conditions worked out from columns of a plate by a law, such as the dew margin."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import cache
from math import isfinite, log2

from argentry import trade
from argentry.errors import BadInput
from argentry.trade.conditions import Condition, conditions

Known = Mapping[str, float | str]
Columns = tuple[str, ...]


def number(known: Known, column: str) -> float | None:
    """Return the finite number of a column, or None."""
    value = known.get(column)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if isfinite(value) else None


def measure(condition: Condition, known: Known) -> float | None:
    """Return a condition's value standardised by its centre and width.

    Parameters
    ----------
    condition : Condition
        What is asked for.
    known : Mapping[str, float or str]
        What was written down of the plate, by column of the table of plates.

    Returns
    -------
    float or None
        (value - centre)/width, or its doublings; 0 or 1 for a switch; None when not known.
        Held within 3 widths, so that a slip of the pen does not decide.
    """
    if condition.form == "switch":
        word = known.get(condition.columns[0])
        if not isinstance(word, str) or not word:
            return None
        return float(word in condition.words)
    value = value_of(condition.key, known, condition.columns[0])
    if value is None:
        return None
    if condition.scale == "doublings":
        if value < 0.0:
            return None
        # nothing at all counts as far below, not as infinitely far
        scaled = log2(max(value, condition.centre / 1024.0) / condition.centre)
    else:
        scaled = value - condition.centre
    return min(max(scaled / condition.width, -3.0), 3.0)


def value_of(key: str, known: Known, column: str = "") -> float | None:
    """Return the value of a condition as it is, in its own unit, or None when not known.

    Parameters
    ----------
    key : str
        Key of the condition.
    known : Mapping[str, float or str]
        What was written down of the plate.
    column : str
        Where it is read from when it is not worked out from others.
    """
    value = number(known, key)  # a worked-out condition may also be given as it is
    if value is not None:
        return value
    stated = _stated().get(key)
    if stated is None or not stated.law:
        return number(known, column or key)
    return _WORKERS[stated.law](known, stated.columns)


@cache
def _stated() -> Mapping[str, Condition]:
    return {condition.key: condition for condition in conditions()}


def _dew_margin(known: Known, columns: Columns) -> float | None:
    from argentry.physics.room.air import dew_margin_k

    return _physics(dew_margin_k, known, *columns)


def _coat_thickness(known: Known, columns: Columns) -> float | None:
    from argentry.physics.coat.coat_words import thickness_for

    nm, word, cycle = number(known, columns[0]), known.get(columns[1]), number(known, columns[2])
    if nm is not None or not isinstance(word, str):
        return nm
    try:
        return thickness_for(word, None if cycle is None else int(cycle))
    except BadInput:
        return None


def _at_20c(known: Known, columns: Columns) -> float | None:
    from argentry.physics.constants import kelvin
    from argentry.physics.vapour.iodine import sublimation_pressure_pa

    seconds, box = (number(known, column) for column in columns)
    if seconds is None or box is None or not -10.0 <= box <= 60.0:
        return None
    warm, reference = sublimation_pressure_pa(
        kelvin([box, trade.value("fuming", "box_temperature")])
    )
    return float(seconds * warm / reference)


def _stops(known: Known, columns: Columns) -> float | None:
    from argentry.physics.picture.exposure import effective_speed_iso

    shown = _physics(effective_speed_iso, known, *columns)
    return None if not shown else log2(trade.value("exposure", "plate_speed") / shown)


def _minutes_between(known: Known, columns: Columns) -> float | None:
    start, end = (_moment(known, column) for column in columns)
    if start is None or end is None or (start.tzinfo is None) != (end.tzinfo is None):
        return None
    minutes = (end - start).total_seconds() / 60.0
    return minutes if minutes >= 0.0 else None


def _hour_of_day(known: Known, columns: Columns) -> float | None:
    start = _moment(known, columns[0])
    return None if start is None else start.hour + start.minute / 60.0


def _moment(known: Known, column: str) -> datetime | None:
    text = known.get(column)
    if not isinstance(text, str):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _physics(formula: Callable[..., object], known: Known, *columns: str) -> float | None:
    """Return a formula's value, or None where a column is missing or cannot be true."""
    values = [number(known, column) for column in columns]
    if any(value is None for value in values):
        return None
    try:
        return float(formula(*values))  # type: ignore[arg-type]
    except BadInput:
        return None


_WORKERS: Mapping[str, Callable[[Known, Columns], float | None]] = {
    "dew margin": _dew_margin,
    "coat thickness": _coat_thickness,
    "at 20 °C": _at_20c,
    "stops": _stops,
    "minutes between": _minutes_between,
    "hour of day": _hour_of_day,
}
