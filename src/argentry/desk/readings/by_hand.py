"""A reading noted by hand: judged like a sensor's, kept, and told to the runs that are open."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from argentry.desk.readings.at_house import KeptReading, add_reading
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.records.event import OLDEST_S
from argentry.records.units import typed_unit
from argentry.trade.readings import quantities, quantity


@dataclass(frozen=True)
class NotedReading(KeptReading):
    """A reading by hand, as it was kept.

    Attributes
    ----------
    what : str
        Key of the quantity.
    title : str
        The quantity in words.
    """

    what: str
    title: str


@dataclass(frozen=True)
class Quantity:
    """What may be read.

    Attributes
    ----------
    what : str
        Key of the quantity.
    title : str
        The quantity in words.
    unit : str
        Unit it is kept in.
    units : tuple of str
        Units it may be given in, its own first.
    low : float
        Lowest value that can be true, in its unit.
    high : float
        Highest value that can be true, in its unit.
    """

    what: str
    title: str
    unit: str
    units: tuple[str, ...]
    low: float
    high: float


@dataclass(frozen=True)
class Quantities:
    """What may be read.

    Attributes
    ----------
    quantities : tuple of Quantity
        The quantities.
    """

    quantities: tuple[Quantity, ...]


def note_reading(
    folder: Path,
    what: str,
    value: float,
    unit: str = "",
    address: str | None = None,
    *,
    at: datetime | None = None,
    source: str = "by hand",
    run: str | None = None,
    plate: str | None = None,
) -> NotedReading:
    """Keep one reading in the book.

    Parameters
    ----------
    folder : Path
        Studio folder.
    what : str
        Quantity, a key of ``readings.toml``.
    value : float
        [unit]
    unit : str
        One of the quantity's units; empty for its own, or degrees as the studio reads them.
    address : str, optional
        Of a PostgreSQL book.
    at : datetime, optional
        When, without an offset in the studio's zone; None for now.
    source : str
        Who read it, or on what.
    run : str, optional
        Id of a run it belongs to.
    plate : str, optional
        Label of a plate it belongs to.

    Raises
    ------
    BadInput
        If the quantity, unit, run or plate is not known, or it would be taken in the future.
    """
    from argentry.desk.house import open_house
    from argentry.desk.runs import has_run
    from argentry.keeping.plates.plates import find_plate

    asked = quantity("what", what)
    with studio_book(folder, address) as book:
        house = open_house(folder, book)
        if run is not None and not has_run(house, run):
            raise BadInput("--run", "there is no run {run!r}", "see: argentry bench", run=run)
        given = {
            "what": what,
            "value": value,
            "unit": unit or typed_unit(asked.unit, house.studio.units),
            "at": None,
            "age_s": _age_s(at, house.studio.site.time_zone),
            "id": None,
            "run": run,
            "plate": None if plate is None else find_plate(book, plate).id,
        }
        kept = add_reading(house, given, source)
    return NotedReading(**vars(kept), what=what, title=asked.title)


def _age_s(at: datetime | None, time_zone: str) -> float | None:
    if at is None:
        return None
    moment = at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(time_zone))
    age = (datetime.now(UTC) - moment).total_seconds()
    if age < 0:
        raise BadInput(
            "--at", "{at} is in the future", "give a time in the past", at=at.isoformat()
        )
    if age > OLDEST_S:
        raise BadInput(
            "--at",
            "{at} is more than {oldest_age_s:g} days ago",
            "put old readings into a table of plates (docs/import.md)",
            at=at.isoformat(),
            oldest_age_s=OLDEST_S / 86400,
        )
    return age


def quantities_known() -> Quantities:
    """Return what may be read."""
    return Quantities(
        tuple(
            Quantity(one.key, one.title, one.unit, (one.unit, *one.also), one.low, one.high)
            for one in quantities().values()
        )
    )
