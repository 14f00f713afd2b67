"""How much a book holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from argentry.book import tables
from argentry.book.engine import reading
from argentry.book.forms import revision
from argentry.records.plate import WITHDRAWN

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from argentry.book.engine import Book

COUNTED = {
    "plates": tables.plate,
    "outcomes": tables.making,
    "baths": tables.bath,
    "lots": tables.lot,
    "pictures": tables.photograph,
}


@dataclass(frozen=True)
class Holds:
    """How much a book holds.

    Attributes
    ----------
    form : str
        Form of its tables, as a number of four digits.
    runs : int
        Runs.
    events : int
        Events of the runs.
    readings : int
        Readings.
    plates : int
        Plates.
    outcomes : int
        Makings of plates.
    baths : int
        Baths.
    lots : int
        Lots of stock.
    pictures : int
        Photographs.
    """

    form: str
    runs: int
    events: int
    readings: int
    plates: int
    outcomes: int
    baths: int
    lots: int
    pictures: int


def sizes(book: Book) -> Holds:
    """Return the form of a book and how many runs, events, readings, plates... it holds."""
    with reading(book) as connection:
        return counts(connection)


def counts(connection: Connection) -> Holds:
    """Return how many rows there are of each kind; the logs are counted by their last place."""
    event, reading_ = tables.event, tables.reading
    runs = select(func.count()).select_from(event).where(event.c.kind == "run_opened")
    found = {
        "runs": connection.execute(runs).scalar() or 0,
        "events": connection.execute(select(func.max(event.c.seq))).scalar() or 0,
        "readings": connection.execute(select(func.max(reading_.c.seq))).scalar() or 0,
    }
    for name, table in COUNTED.items():
        query = select(func.count()).select_from(table)
        if "state" in table.c:
            query = query.where(table.c.state != WITHDRAWN)
        found[name] = connection.execute(query).scalar() or 0
    return Holds(revision(connection) or "", **found)
