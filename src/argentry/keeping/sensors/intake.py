"""Readings of sensors: judged, kept in the book, the latest believed one for the bench."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import isfinite
from threading import Lock
from typing import TYPE_CHECKING
from uuid import UUID

from argentry import trade
from argentry.errors import BadInput
from argentry.keeping.clock import FAR
from argentry.keeping.sensors.check import Doubt, Seen, clock_doubt, judge, stale_words
from argentry.records.event import OLDEST_S
from argentry.records.ids import is_id, make_id, new_id
from argentry.records.plate import Reading
from argentry.trade.readings import quantities, quantity, value_in

if TYPE_CHECKING:
    from argentry.book.engine import Book

MOST_REMEMBERED = 2000  # pairs of sensor and quantity; a studio has a few dozen


@dataclass(frozen=True)
class Measurement:
    """What a sensor or a person says it measured, not judged yet.

    Attributes
    ----------
    what : str
        Quantity, a key of ``readings.toml``.
    value : float
        [unit]
    unit : str
        One of the quantity's units; empty for its own.
    source : str
        Sensor or person.
    at : datetime or None
        The sensor's own stamp, UTC; None for now.
    age_s : float or None
        How long ago by the sender's steady clock, instead of a stamp. [s]
    id : str or None
        UUID; None to have one made.
    run, plate : str or None
        Where it belongs, when it does.
    """

    what: str
    value: float
    unit: str
    source: str
    at: datetime | None = None
    age_s: float | None = None
    id: str | None = None
    run: str | None = None
    plate: str | None = None


@dataclass(frozen=True)
class Received:
    """What became of a measurement.

    Attributes
    ----------
    reading : Reading
        As kept; `doubt` says why it is not used.
    seq : int
        Place in the book.
    duplicate : bool
        True when the book had it already.
    """

    reading: Reading
    seq: int
    duplicate: bool


@dataclass
class Sensors:
    """What a running server remembers of its sensors.

    Attributes
    ----------
    book : Book
        Where readings are kept.
    seen : dict of (str, str) to Seen
        Sensor and quantity to what it said last.
    read : set of str
        Quantities whose last day was read from the book.
    lock : Lock
        Readings come from several threads; they are judged one after the other.
    """

    book: Book
    seen: dict[tuple[str, str], Seen] = field(default_factory=dict)
    read: set[str] = field(default_factory=set)
    lock: Lock = field(default_factory=Lock)


def receive(sensors: Sensors, given: Measurement, now: datetime) -> Received:
    """Judge one measurement and keep it, believed or not.

    Parameters
    ----------
    sensors : Sensors
        Memory of the server; a fresh one reads the last day from the book.
    given : Measurement
        As sent.
    now : datetime
        The house's steady clock, UTC.

    Raises
    ------
    BadInput
        If the quantity or unit is not known, or the value or age is not a finite number.
    ArgentryError
        If the book cannot be written.
    """
    from argentry.book.readings import add_readings, series

    asked = quantity("what", given.what)
    if not isfinite(given.value):
        raise BadInput("value", "it is not a finite number", "send a number such as 21.4")
    value = value_in("unit", asked, given.value, given.unit)
    at, doubt = _time_of(given, now)
    with sensors.lock:
        _remember_the_last_day(sensors, given.what, now)
        key = (given.source, given.what)
        before = sensors.seen.get(key, Seen())
        found, after = (doubt, before) if doubt else judge(asked, before, value, at)
        reading = Reading(
            id=_id_of(given, value),
            what=given.what,
            value=value,
            unit=asked.unit,
            at=at,
            source=given.source,
            run=given.run,
            plate=given.plate,
            doubt=found.words if found else "",
        )
        stored = add_readings(sensors.book, [reading])[0]
        if not stored.duplicate:
            _remember(sensors, key, after)
    if stored.duplicate:  # the answer is what was kept at the first sending
        kept = series(sensors.book, given.what, stored.at, stored.at)
        reading = next((each for each in kept if each.id == reading.id), reading)
    return Received(reading, stored.seq, stored.duplicate)


def _time_of(given: Measurement, now: datetime) -> tuple[datetime, Doubt | None]:
    """Return when it was taken and the doubt about that; a stamp ahead becomes now."""
    if given.age_s is not None:
        if not (isfinite(given.age_s) and 0.0 <= given.age_s <= OLDEST_S):
            raise BadInput(
                "age_s", "{age_s:g} s is out of range", "give 0 to 2592000 s", age_s=given.age_s
            )
        return now - timedelta(seconds=given.age_s), None
    if given.at is None:
        return now, None
    return min(given.at, now), clock_doubt(given.at, now)


def _id_of(given: Measurement, value: float) -> str:
    """Return an id that is the same whenever the same reading is sent again.

    With an id of its own it is that; with a stamp it is made from what was said; a reading with
    neither is a new one each time.
    """
    if given.id is not None and is_id(given.id):
        return given.id
    if given.id is not None:
        said = str(UUID(given.id))
    elif given.at is not None:
        said = f"{given.what}|{given.source}|{given.at.isoformat()}|{value!r}"
    else:
        return new_id()
    milliseconds = 0 if given.at is None else int(given.at.timestamp() * 1000)
    digest = hashlib.sha256(said.encode()).digest()
    bits = int.from_bytes(digest[:10], "big") & ((1 << 74) - 1)
    return make_id(min(max(milliseconds, 0), (1 << 48) - 1), bits)


def _remember_the_last_day(sensors: Sensors, what: str, now: datetime) -> None:
    """Follow what each sensor said in the last day, once after the server's start."""
    from argentry.book.readings import series

    if what in sensors.read:
        return
    asked = quantities()[what]
    span = timedelta(hours=trade.value("sensors", "stuck_whole_h"))
    for reading in series(sensors.book, what, now - span, now):
        key = (reading.source, what)
        _, seen = judge(asked, sensors.seen.get(key, Seen()), reading.value, reading.at)
        _remember(sensors, key, seen)
    sensors.read.add(what)


def _remember(sensors: Sensors, key: tuple[str, str], seen: Seen) -> None:
    if len(sensors.seen) >= MOST_REMEMBERED and key not in sensors.seen:
        sensors.seen.pop(next(iter(sensors.seen)))  # whoever invents names loses only memory
    sensors.seen[key] = seen


def usable(book: Book, what: str, now: datetime) -> Reading | None:
    """Return the latest believed reading of a quantity that is not too old, or None.

    Raises
    ------
    BadInput
        If there is no such quantity.
    """
    from argentry.book.readings import latest

    since = now - timedelta(seconds=quantity("what", what).stale_after_s)
    return latest(book, what, since, now + FAR, trusted=True)


@dataclass(frozen=True)
class ReadingNow:
    """The latest reading of a quantity, with what to think of it.

    Attributes
    ----------
    title : str
        The quantity in words.
    value : float
        What was read, in its unit.
    unit : str
        Its unit.
    at : datetime
        When it was taken.
    source : str
        Who sent it.
    age_s : float
        How old it is. [s]
    usable : bool
        True when it is taken into account.
    doubt : str
        Why it is not; empty when it is.
    newest_doubt : str
        When a believed one is fresh it stands even if a newer one is doubted: why the newer one is
        not used.
    """

    title: str
    value: float
    unit: str
    at: datetime
    source: str
    age_s: float
    usable: bool
    doubt: str
    newest_doubt: str


def current(book: Book, now: datetime) -> dict[str, ReadingNow]:
    """Return the latest reading of every quantity that has one, with what to think of it."""
    from argentry.book.readings import latest

    found: dict[str, ReadingNow] = {}
    for what, asked in quantities().items():
        newest = latest(book, what, until=now + FAR, trusted=False)
        if newest is None:
            continue
        shown = newest if not newest.doubt else usable(book, what, now) or newest
        doubt = shown.doubt or stale_words(asked, shown.at, now)
        found[what] = ReadingNow(
            title=asked.title,
            value=shown.value,
            unit=shown.unit,
            at=shown.at,
            source=shown.source,
            age_s=max(0.0, round((now - shown.at).total_seconds(), 3)),
            usable=not doubt,
            doubt=doubt,
            newest_doubt=newest.doubt if newest is not shown else "",
        )
    return found
