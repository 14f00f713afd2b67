"""Time stamps of a weather table as starts of intervals in UTC."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from argentry.arrays import Floats, Times, Whole
from argentry.errors import BadInput
from argentry.zones import check_year, is_skipped, zone_named

SHORTEST_S, LONGEST_S = 60.0, 3 * 3600.0
# A typical year is made of months of several years; only month, day and hour count. All of it is
# put into this year, which has no 29 February (that day is left out).
TYPICAL_YEAR = 2001
# By its stamp, from the start of an interval to the time that names it. [intervals]
SHIFT = {"start": 0.0, "middle": 0.5, "end": 1.0}


def starts(
    wheres: Sequence[str],
    cells: Sequence[Any],
    form: str,
    time_zone: str | None,
    stamp: str,
    step_s: float | None,
    *,
    gaps: bool,
) -> tuple[Times, float]:
    """Return the start of each interval in UTC, and the length of the intervals.

    Parameters
    ----------
    wheres : sequence of str
        Where each time stands, for the sentence.
    cells : sequence
        Times as given.
    form : str
        ``"ISO"``, ``"unix"`` (seconds) or a pattern such as ``"%d.%m.%Y %H:%M"``.
    time_zone : str or None
        IANA zone of times without an offset. An hour that the clocks repeat in autumn is told
        apart by the order of the rows.
    stamp : str
        ``"start"``, ``"middle"`` or ``"end"`` of the interval.
    step_s : float or None
        Length of an interval; None: the commonest difference. [s]
    gaps : bool
        True when intervals may be missing.

    Returns
    -------
    start_utc : NDArray[datetime64[s]], shape (n,)
        Starts in UTC, rising.
    step_s : float
        Length of an interval. [s]

    Raises
    ------
    BadInput
        If a time cannot be read, does not exist in the zone, repeats, goes back, or leaves a gap.
    """
    zone = None if time_zone is None else zone_named("time_zone", time_zone)
    moments: list[datetime] = []
    for where, cell in zip(wheres, cells, strict=True):
        moment = _moment(where, cell, form, zone, moments[-1] if moments else None)
        if moments and moment <= moments[-1]:
            order = "is the same as in" if moment == moments[-1] else "is before"
            raise BadInput(
                where,
                "the time {cell} {order} the row above",
                "give times in rising order",
                cell=cell,
                order=order,
            )
        moments.append(moment)
    seconds = np.array([moment.timestamp() for moment in moments])
    step = _step(wheres, seconds, step_s, gaps=gaps)
    return np.round(seconds - SHIFT[stamp] * step).astype("datetime64[s]"), step


def _moment(
    where: str, cell: Any, form: str, zone: ZoneInfo | None, previous: datetime | None
) -> datetime:
    when = _read(where, cell, form)
    if when.tzinfo is not None:
        return when.astimezone(UTC)
    if zone is None:
        raise BadInput(
            where,
            "the time {cell} has no offset from UTC",
            "name its time_zone, such as Europe/Madrid",
            cell=cell,
        )
    if is_skipped(when, zone):
        raise BadInput(
            where,
            "the time {cell} does not exist in {key}, where the clocks are set forward then",
            "check time_zone: the file may keep UTC or winter time all year",
            cell=cell,
            key=zone.key,
        )
    utc = when.replace(tzinfo=zone).astimezone(UTC)
    if previous is not None and utc <= previous:
        return when.replace(tzinfo=zone, fold=1).astimezone(UTC)  # the repeated hour in autumn
    return utc


def _read(where: str, cell: Any, form: str) -> datetime:
    text = "" if cell is None else str(cell).strip()
    try:
        if form == "unix":
            return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=float(text))
        when = datetime.fromisoformat(text) if form == "ISO" else datetime.strptime(text, form)  # noqa: DTZ007
    except (ValueError, OverflowError):
        shown = "{text!r} is not a time".format(text=text) if text else "the time is missing"
        pattern = "2026-06-21T13:00" if form == "ISO" else form
        raise BadInput(
            where, shown, "write every time in the form {pattern}".format(pattern=pattern)
        ) from None
    check_year(where, when)
    return when


def _step(wheres: Sequence[str], seconds: Floats, step_s: float | None, *, gaps: bool) -> float:
    differences = np.diff(seconds)
    if step_s is None:
        if differences.size == 0:
            raise BadInput(
                wheres[0], "there is only one row", "say how long it lasts: step_minutes"
            )
        lengths, counts = np.unique(differences, return_counts=True)
        step_s = float(lengths[np.argmax(counts)])
    if not SHORTEST_S <= step_s <= LONGEST_S:
        raise BadInput(
            wheres[-1],
            "rows are {step_s:g} min apart",
            "give intervals of 1 to 180 minutes",
            step_s=step_s / 60,
        )
    for number, difference in enumerate(differences, 1):
        if difference == step_s:
            continue
        if gaps and difference > step_s and difference % step_s == 0:
            continue
        raise BadInput(
            wheres[number],
            "this row is {difference:g} min after the one above, others {step_s:g} min",
            "cut the file here, or set gaps = true when rows are only missing",
            difference=difference / 60,
            step_s=step_s / 60,
        )
    return step_s


def into_typical_year(name: str, start_utc: Times) -> tuple[Times, Whole]:
    """Return intervals moved into `TYPICAL_YEAR` by month, day and hour, in rising order.

    Parameters
    ----------
    name : str
        Name of the file, for the sentence.
    start_utc : NDArray[datetime64[s]], shape (n,)
        Starts in any year or years.

    Returns
    -------
    moved : NDArray[datetime64[s]], shape (m,)
        Starts in `TYPICAL_YEAR`; 29 February is left out.
    order : Whole, shape (m,)
        Number of the interval each comes from.

    Raises
    ------
    BadInput
        If a month, day and hour comes twice.
    """
    month = start_utc.astype("datetime64[M]")
    number = (month - month.astype("datetime64[Y]").astype("datetime64[M]")).astype(np.int64)
    within = start_utc - month.astype("datetime64[s]")
    day = within.astype("timedelta64[D]").astype(np.int64)
    first = np.datetime64(f"{TYPICAL_YEAR}-01", "M")
    moved = (first + number).astype("datetime64[s]") + within
    kept = np.flatnonzero((number != 1) | (day < 28))
    order = kept[np.argsort(moved[kept], kind="stable")]
    moved = moved[order]
    if np.any(np.diff(moved) <= np.timedelta64(0, "s")):
        raise BadInput(
            name,
            "a typical year has the same day and hour twice",
            "cut it to one year, or say kind",
        )
    return moved, order
