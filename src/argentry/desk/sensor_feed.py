"""Believed readings for the runs on the bench: only what tells a run something new."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from argentry import trade
from argentry.trade.readings import quantities

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.desk.sensors import Received, Sensors

__all__ = ["feeds", "runs_to_feed", "tells_something_new"]

LONGEST_RUN = timedelta(hours=48)  # a run that nobody closed is not fed for ever
RUNS_LOOKED_AT = 50


def tells_something_new(
    what: str, value: float, at: datetime, last: tuple[float, datetime] | None
) -> bool:
    """Tell whether a run's log should take a value.

    Parameters
    ----------
    what : str
        Quantity.
    value : float
        [the quantity's unit]
    at : datetime
        When it was taken, UTC.
    last : tuple of (float, datetime) or None
        The value the run took last, and when that was taken.

    Returns
    -------
    bool
        False for a quantity that changes nothing on the bench, for one that comes too soon after
        the last, and for one that says the same while the last is fresh.
    """
    data = trade.toml("sensors")
    worth = data["worth"].get(what)
    if worth is None:
        return False
    if last is None:
        return True
    before, then = last
    age = (at - then).total_seconds()
    if age < data["fed_every_s"]["value"]:
        return False
    moved = abs(value - before) >= max(worth["step"], worth["part"] * abs(before))
    return moved or age >= quantities()[what].stale_after_s / 2.0


def runs_to_feed(sensors: Sensors, received: Received, now: datetime) -> list[str]:
    """Return the open runs that should take a reading, and remember that they took it.

    Parameters
    ----------
    sensors : Sensors
        Memory of the server.
    received : Received
        From `sensors.receive`; one in doubt, sent again or too old feeds nothing.
    now : datetime
        The house's steady clock, UTC.
    """
    from argentry.book.log import runs

    reading = received.reading
    if reading.doubt or received.duplicate or reading.what not in trade.toml("sensors")["worth"]:
        return []
    if (now - reading.at).total_seconds() > quantities()[reading.what].stale_after_s:
        return []
    chosen = []
    for head in runs(sensors.book, RUNS_LOOKED_AT):
        is_open = head.closed_at is None and now - head.opened_at <= LONGEST_RUN
        if not is_open or (reading.run is not None and reading.run != head.run):
            continue
        key = (head.run, reading.what)
        with sensors.lock:
            if tells_something_new(reading.what, reading.value, reading.at, sensors.fed.get(key)):
                sensors.fed[key] = (reading.value, reading.at)
                chosen.append(head.run)
    return chosen


def feeds(received: Received, now: datetime) -> dict[str, Any]:
    """Return a reading as the body of the event ``reading_taken`` and its age.

    Parameters
    ----------
    received : Received
        From `sensors.receive`.
    now : datetime
        The house's steady clock, UTC.

    Returns
    -------
    dict
        ``kind``, ``body`` and ``age_s``.
    """
    reading = received.reading
    return {
        "kind": "reading_taken",
        "plate": reading.plate,
        "body": {
            "what": reading.what,
            "value": reading.value,
            "unit": reading.unit,
            "source": reading.source,
            "reading": reading.id,
        },
        "age_s": max(0.0, (now - reading.at).total_seconds()),
    }
