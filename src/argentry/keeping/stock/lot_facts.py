"""What is known of a lot: as it stands now; what is noted of it besides its amount, checked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from argentry.errors import BadInput, check_range
from argentry.keeping.moments import past_day
from argentry.records.material import LOT, Lot, LotFacts, MaterialNote

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.book.engine import Book


@dataclass(frozen=True, kw_only=True)
class LotNow(LotFacts, Lot):
    """A lot of stock as it stands now.

    Attributes
    ----------
    left : float
        What is left. [unit]
    material : str or None
        The material of the trade that it is or gives, in words; null when plates are not known to
        use it up.
    plates_left : float or None
        Plates of the studio's usual size that it will do; null when that is not known, also by
        its unit, and of what is cut for plates of another size. [plates]
    plates_left_low : float or None
        Low end of its range: the share that gives least, and the most that a plate uses up.
        [plates]
    plates_left_high : float or None
        High end of its range. [plates]
    runs_out : bool
        True when something is left, and it does fewer plates than are looked ahead.
    expired : bool
        True when its last day is over: it counts for no plate.
    key : str
        Key of that material in the trade's data; empty when there is none.
    each : float
        How much of it, in the unit of the trade's data, one unit of the lot holds; 0 without one.
    then : tuple of str
        Names of other lots of that material of which something is left.
    """

    left: float
    material: str | None
    plates_left: float | None
    plates_left_low: float | None
    plates_left_high: float | None
    runs_out: bool
    expired: bool = False
    key: str = ""
    each: float = 0.0
    then: tuple[str, ...] = ()


def check_facts(facts: LotFacts, received_on: date, folder: Path | None) -> None:
    """Refuse facts that cannot be; `folder`, the studio's, says what day it is.

    Raises
    ------
    BadInput
        If a number is out of range, a day lies before the lot came in, or it was opened on a day
        to come.
    """
    checks = (("--purity", facts.purity, 1.0), ("--price", facts.price, 1e8))
    for where, value, most in (*checks, ("--lead-days", facts.lead_days, 1000.0)):
        if value is not None:
            check_range(where, value, 0.0, most, "", open_low=where == "--purity")
    for where, day in (("--opened", facts.opened_on), ("--expires", facts.expires_on)):
        if day is not None and day < received_on:
            right = "give {day} or a later day".format(day=received_on)
            raise BadInput(where, "it is before the lot came in", right)
    if facts.opened_on is not None:
        past_day("--opened", folder, facts.opened_on)


def note_facts(book: Book, lot: str, facts: LotFacts, by: str) -> None:
    """Write the facts that are known down."""
    from argentry.book.materials.notes import add_notes

    add_notes(book, facts_noted(lot, facts, datetime.now(UTC), by))


def facts_noted(lot: str, facts: LotFacts, now: datetime, by: str) -> list[MaterialNote]:
    """Return the facts that are known as the notes that keep them."""
    from argentry.book.materials.notes import noted

    return [MaterialNote(LOT, lot, key, value, now, by) for key, value in noted(facts).items()]
