"""Readings that come in at the open studio: by the API, by a form, by a feed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput
from argentry.keeping.sensors.devices import device_of_token
from argentry.keeping.sensors.intake import Measurement, ReadingNow, Received, current, receive
from argentry.records.plain import Time

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.desk.house import House


@dataclass(frozen=True)
class KeptReading:
    """A reading as it was kept.

    Attributes
    ----------
    id : str
        Id of the reading, UUID version 7.
    seq : int
        Its place among the readings of the book.
    at : str
        When it was taken.
    value : float
        What was read, in its unit.
    unit : str
        Unit of the value: the quantity's own, whatever it was given in.
    used : bool
        True when it is taken into account.
    doubt : str
        Why it is not used; empty when it is.
    duplicate : bool
        True when the book held it already.
    """

    id: str
    seq: int
    at: Time
    value: float
    unit: str
    used: bool
    doubt: str
    duplicate: bool


def add_reading(house: House, given: dict[str, Any], source: str) -> KeptReading:
    """Keep one reading.

    Parameters
    ----------
    house : House
        The open studio.
    given : dict
        ``what``, ``value`` and, each or None, ``unit``, ``at`` (datetime), ``age_s``, ``id``,
        ``run``, ``plate``.
    source : str
        Who sends it.

    Raises
    ------
    BadInput
        If the quantity or unit is not known, or the time cannot be.
    """
    from argentry.bench.state_json import iso

    at = given["at"]
    if at is not None and not 2000 <= at.year <= 2200:
        raise BadInput(
            "at", "the year {year} is not possible", "set the clock of the sender", year=at.year
        )
    measured = Measurement(
        what=given["what"],
        value=float(given["value"]),
        unit=given["unit"] or "",
        source=source,
        at=at,
        age_s=given["age_s"],
        id=given["id"],
        run=given["run"],
        plate=given["plate"],
    )
    received = receive(house.sensors, measured, house.clock.now())
    _heard(house, received)
    reading = received.reading
    return KeptReading(
        id=reading.id,
        seq=received.seq,
        at=iso(reading.at),
        value=reading.value,
        unit=reading.unit,
        used=not reading.doubt,
        doubt=reading.doubt,
        duplicate=received.duplicate,
    )


def _heard(house: House, received: Received) -> None:
    """Let a believed new reading tell on the runs that are open."""
    from argentry.desk.bench.run import refresh_open

    if not received.duplicate and not received.reading.doubt:
        refresh_open(house.book, house.taught, house.clock, received.reading.what)


def latest_readings(house: House) -> dict[str, ReadingNow]:
    """Return the latest reading of each quantity, and whether it may be used."""
    return current(house.book, house.clock.now())


def sensor_sink(
    house: House, after: Callable[[], None]
) -> Callable[[Measurement, str | None], None]:
    """Return what takes the readings of a feed: the token is checked, the reading judged and kept.

    Parameters
    ----------
    house : House
        The open studio.
    after : callable
        Called after each reading, from the feed's thread.
    """

    def take(measured: Measurement, token: str | None) -> None:
        if token is not None:  # None: the broker vouches for whoever it lets in
            device = device_of_token(house.book, token)
            if device is None:
                raise BadInput("token", "no device has it", "argentry device new-sensor NAME")
            measured = replace(measured, source=device.name)
        _heard(house, receive(house.sensors, measured, house.clock.now()))
        after()

    return take
