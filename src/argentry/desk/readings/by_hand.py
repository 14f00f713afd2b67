"""A reading noted by hand: judged like a sensor's, kept, and told to the runs that are open."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from argentry.desk.book import studio_book
from argentry.errors import BadInput

if TYPE_CHECKING:
    from pathlib import Path


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
) -> dict[str, Any]:
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
        One of the quantity's units; empty for its own.
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

    Returns
    -------
    dict
        ``id``, ``seq``, ``at``, ``title``, ``value``, ``unit``, ``used``, ``doubt`` (why it is not
        used) and ``duplicate``.

    Raises
    ------
    BadInput
        If the quantity, unit, run or plate is not known, or it would be taken in the future.
    """
    from argentry.desk.house import has_run, open_house
    from argentry.desk.plates.plates import find_plate
    from argentry.desk.readings.at_house import add_reading
    from argentry.trade.readings import quantity

    asked = quantity("what", what)
    with studio_book(folder, address) as book:
        house = open_house(folder, book)
        if run is not None and not has_run(house, run):
            raise BadInput("--run", f"there is no run {run[:40]!r}", "see: argentry bench")
        given = {
            "what": what,
            "value": value,
            "unit": unit,
            "at": None,
            "age_s": _age_s(at, house.studio.site.time_zone),
            "id": None,
            "run": run,
            "plate": None if plate is None else find_plate(book, plate).id,
        }
        return {"what": what, "title": asked.title, **add_reading(house, given, source)}


def _age_s(at: datetime | None, time_zone: str) -> float | None:
    from argentry.desk.sensors.intake import OLDEST_AGE_S

    if at is None:
        return None
    moment = at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(time_zone))
    age = (datetime.now(UTC) - moment).total_seconds()
    if age < 0:
        raise BadInput("--at", f"{at.isoformat()} is still to come", "give a time that has been")
    if age > OLDEST_AGE_S:
        raise BadInput(
            "--at",
            f"{at.isoformat()} is more than {OLDEST_AGE_S / 86400:g} days ago",
            "put old readings into a table of plates (docs/import.md)",
        )
    return age


def quantities_known() -> dict[str, Any]:
    """Return what may be read: ``quantities``, each ``what``, ``title``, ``units``, ``low``..."""
    from argentry.trade.readings import quantities

    return {
        "quantities": [
            {
                "what": each.key,
                "title": each.title,
                "unit": each.unit,
                "units": [each.unit, *each.also],
                "low": each.low,
                "high": each.high,
            }
            for each in quantities().values()
        ]
    }
