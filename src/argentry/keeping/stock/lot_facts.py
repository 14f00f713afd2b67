"""What is known of a lot besides its amount: checked, and written down."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from argentry.errors import BadInput, check_range
from argentry.records.plate import LOT, LotFacts, MaterialNote

if TYPE_CHECKING:
    from argentry.book.engine import Book


def check_facts(facts: LotFacts, received_on: date) -> None:
    """Refuse facts that cannot be.

    Raises
    ------
    BadInput
        If a number is out of range, or a day lies before the lot came in.
    """
    checks = (("--purity", facts.purity, 1.0), ("--price", facts.price, 1e8))
    for where, value, most in (*checks, ("--lead-days", facts.lead_days, 1000.0)):
        if value is not None:
            check_range(where, value, 0.0, most, "", open_low=where == "--purity")
    for where, day in (("--opened", facts.opened_on), ("--expires", facts.expires_on)):
        if day is not None and day < received_on:
            right = "give {day} or a later day".format(day=received_on)
            raise BadInput(where, "it is before the lot came in", right)


def note_facts(book: Book, lot: str, facts: LotFacts, by: str) -> None:
    """Write the facts that are known down."""
    from argentry.book.materials.notes import add_notes, noted

    now = datetime.now(UTC)
    add_notes(book, [MaterialNote(LOT, lot, k, v, now, by) for k, v in noted(facts).items()])
