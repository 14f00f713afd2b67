"""What is put right about a lot: its price and dates, a weighing, what was taken by mistake."""

from __future__ import annotations

from pathlib import Path

from argentry.errors import BadInput, check_range
from argentry.keeping.book import studio_book
from argentry.keeping.stock.lot_facts import LotNow, check_facts, note_facts
from argentry.keeping.stock.lots import find_lot, told
from argentry.records.material import RUN, UNDONE, WEIGHED, LotFacts

UNDO_RIGHT = "name a lot from which something was taken"


def note_lot(
    folder: Path | None, name: str, facts: LotFacts, address: str | None = None, *, by: str = ""
) -> LotNow:
    """Note what is known of a lot besides its amount; of several notes the last counts.

    Parameters
    ----------
    folder, address
        As `new_lot`.
    name : str
        Of the lot, or its id.
    facts : LotFacts
        What is None is left as it was.
    by : str
        Who.

    Raises
    ------
    BadInput
        If no one lot is meant, nothing is said, or a value is out of range.
    """
    from argentry.book.lots import lots

    if facts == LotFacts():
        raise BadInput("stock note", "nothing is noted", "give --price, --purity or another")
    with studio_book(folder, address) as book:
        lot = find_lot(lots(book), name)
        check_facts(facts, lot.received_on, folder)
        note_facts(book, lot.id, facts, by)
        return told(folder, book, lot.id)


def weigh_lot(
    folder: Path | None, name: str, weighed: float, address: str | None = None, *, by: str = ""
) -> LotNow:
    """Note what a weighing says is left of a lot: the difference is booked as taken or put back.

    Raises
    ------
    BadInput
        If no one lot is meant, or it is less than nothing or more than ever came in.
    """
    from argentry.book.lots import lots, use_lot

    with studio_book(folder, address) as book:
        lot = find_lot(lots(book), name)
        check_range("amount", weighed, 0.0, lot.amount, lot.unit)
        change = lot.amount - lot.used - weighed
        if change:
            use_lot(book, lot.id, change, by, remark=WEIGHED)
        return told(folder, book, lot.id)


def undo_lot(folder: Path | None, name: str, address: str | None = None, *, by: str = "") -> LotNow:
    """Take back what was taken from a lot last, by hand or by weighing; the row stays written.

    Raises
    ------
    BadInput
        If no one lot is meant, nothing was taken from it, or the bench booked it by itself.
    """
    from argentry.book.lots import last_use, lots, use_lot

    with studio_book(folder, address) as book:
        lot = find_lot(lots(book), name)
        found = last_use(book, lot.id)
        if found is None or found[2].startswith(UNDONE):
            raise BadInput(
                "lot", "nothing was taken from {name!r} since", UNDO_RIGHT, name=lot.name
            )
        if found[2].startswith(RUN.format(run="")):
            raise BadInput("lot", "the bench booked that by itself", "undo the step at the bench")
        use_lot(book, lot.id, -found[0], by, remark=UNDONE)
        return told(folder, book, lot.id)
