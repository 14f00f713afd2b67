"""What the pages and the API ask of the studio: one studio, one open book, one steady clock.

Thin on purpose: each function joins the book and the bench and answers JSON-ready values.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from argentry.book.engine import Book
from argentry.desk.sensors import Measurement, Sensors
from argentry.errors import BadInput

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.desk.clock import SteadyClock
    from argentry.records.studio import Studio

__all__ = ["Book", "House", "open_house"]


@dataclass(frozen=True)
class House:
    """A studio that is open.

    Attributes
    ----------
    studio_dir : Path
        Its folder.
    studio : Studio
        Its values.
    book : Book
        Its open book.
    clock : SteadyClock
        Never jumps, never goes back.
    sensors : Sensors
        What the sensors said last.
    """

    studio_dir: Path
    studio: Studio
    book: Book
    clock: SteadyClock
    sensors: Sensors


def open_house(studio_dir: Path, book: Book) -> House:
    """Return the open studio, its clock set after the last event of the book.

    Raises
    ------
    BadInput
        If the studio cannot be read.
    """
    from argentry.book.log import last_at
    from argentry.desk.clock import steady_clock
    from argentry.desk.studio import load_studio

    clock = steady_clock(last_at(book))
    return House(studio_dir, load_studio(studio_dir), book, clock, Sensors(book))


def time_text(house: House) -> str:
    """Return the steady time as ISO 8601 with microseconds, UTC."""
    from argentry.desk.bench_dict import iso

    return iso(house.clock.now())


def last_seq(house: House) -> int:
    """Return the place of the last event in the log."""
    from argentry.book.log import last_seq as last

    return last(house.book)


def has_run(house: House, run: str) -> bool:
    """Return True when the book holds this run."""
    from argentry.book.log import run_exists

    return run_exists(house.book, run)


def events_after(house: House, run: str, seq: int) -> list[dict[str, Any]]:
    """Return the events of a run after a place in the log."""
    from argentry.book.log import events
    from argentry.desk.bench_dict import event_dict

    return [event_dict(event) for event in events(house.book, run, seq)]


def run_rows(house: House, limit: int = 200) -> list[dict[str, Any]]:
    """Return the runs, the one opened last first."""
    from argentry.book.log import runs
    from argentry.desk.bench_dict import iso

    return [
        {
            "run": head.run,
            "title": head.title,
            "opened": iso(head.opened_at),
            "closed": None if head.closed_at is None else iso(head.closed_at),
            "plates": list(head.plates),
            "last_seq": head.last_seq,
        }
        for head in runs(house.book, limit)
    ]


def run_answer(house: House, run: str) -> dict[str, Any] | None:
    """Return a run's events and state as JSON values, None when the book does not hold it."""
    from argentry.book.fold import fold
    from argentry.book.log import events
    from argentry.desk.bench_dict import event_dict, iso, state_dict

    found = events(house.book, run)
    if not found:
        return None
    now = house.clock.now()
    return {
        "run": run,
        "seq": max(event.seq for event in found),
        "server_now": iso(now),
        "events": [event_dict(event) for event in found],
        "state": state_dict(fold(found, now=now)),
    }


def add_reading(house: House, given: dict[str, Any], source: str) -> dict[str, Any]:
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

    Returns
    -------
    dict
        ``id``, ``seq``, ``at``, ``value``, ``unit``, ``used``, ``doubt``, ``duplicate``.

    Raises
    ------
    BadInput
        If the quantity or unit is not known, or the time cannot be.
    """
    from argentry.desk.bench_dict import iso
    from argentry.desk.sensors import receive

    at = given["at"]
    if at is not None and not 2000 <= at.year <= 2200:
        raise BadInput("at", f"the year {at.year} cannot be", "set the clock of the sender")
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
    reading = received.reading
    return {
        "id": reading.id,
        "seq": received.seq,
        "at": iso(reading.at),
        "value": reading.value,
        "unit": reading.unit,
        "used": not reading.doubt,
        "doubt": reading.doubt,
        "duplicate": received.duplicate,
    }


def latest_readings(house: House) -> dict[str, dict[str, Any]]:
    """Return the latest reading of each quantity, and whether it may be used."""
    from argentry.desk.bench_dict import iso
    from argentry.desk.sensors import current

    found = current(house.book, house.clock.now())
    return {
        what: {**row, "at": iso(row["at"]), "age_s": round(row["age_s"], 3)}
        for what, row in found.items()
    }


def add_events(
    house: House, run: str, incoming: list[dict[str, Any]], device: str
) -> dict[str, Any] | None:
    """Add events as a device reported them; None when the book does not hold the run.

    Parameters
    ----------
    house : House
        The open studio.
    run : str
        Id of the run.
    incoming : list of dict
        ``id``, ``kind``, ``plate``, ``step``, ``body``, ``age_s``, in the order they happened.
    device : str
        Who reports them.

    Returns
    -------
    dict or None
        ``stored``: id, seq, at, duplicate; ``refused``: id, why.
    """
    from argentry.book.log import append, run_exists
    from argentry.desk.bench_dict import iso
    from argentry.records.event import Event

    if not run_exists(house.book, run):
        return None
    stored, refused = [], []
    now = house.clock.now()
    for one in incoming:
        try:
            kept = append(
                house.book,
                [
                    Event(
                        one["id"],
                        run,
                        one["kind"],
                        now - timedelta(seconds=one["age_s"]),
                        one["plate"],
                        one["step"],
                        one["body"],
                        device,
                    )
                ],
            )[0]
        except BadInput as error:
            refused.append({"id": one["id"], "why": str(error)})
        else:
            stored.append(
                {"id": kept.id, "seq": kept.seq, "at": iso(kept.at), "duplicate": kept.duplicate}
            )
    return {"stored": stored, "refused": refused}
