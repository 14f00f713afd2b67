"""Notes on lots, baths and the waste: only added, of several the last counts."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from argentry.book import tables
from argentry.book.engine import reading, writing
from argentry.book.rows import add_rows
from argentry.book.times import clean_text, from_us, to_us
from argentry.records.material import (
    EXPIRES,
    LEAD,
    LOT,
    OPENED,
    PRICE,
    PURITY,
    LotFacts,
    MaterialNote,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy import Connection

    from argentry.book.engine import Book

LONGEST = 200


def add_notes(book: Book, notes: Sequence[MaterialNote]) -> None:
    """Add notes, all or none."""
    with writing(book) as connection:
        put_notes(connection, notes)


def put_notes(connection: Connection, notes: Sequence[MaterialNote]) -> None:
    """Add notes within a writing transaction."""
    rows = [
        {
            "about": note.about,
            "of": clean_text("note", note.of, LONGEST),
            "what": note.what,
            "value": clean_text(note.what, note.value, LONGEST),
            "at_us": to_us(note.at),
            "who": clean_text("by", note.who, LONGEST),
        }
        for note in notes
    ]
    add_rows(connection, tables.material_note, rows)


def notes(book: Book, about: str) -> list[MaterialNote]:
    """Return the notes on lots, baths or the waste, the oldest first."""
    with reading(book) as connection:
        return notes_there(connection, about)


def notes_there(
    connection: Connection, about: str, of: Sequence[str] | None = None
) -> list[MaterialNote]:
    """Return the same within a transaction; with ids, of these alone."""
    table = tables.material_note
    query = select(table).where(table.c.about == about).order_by(table.c.seq)
    if of is not None:
        query = query.where(table.c.of.in_(of))
    return [
        MaterialNote(row.about, row.of, row.what, row.value, from_us(row.at_us), row.who)
        for row in connection.execute(query)
    ]


def lot_facts(book: Book) -> Mapping[str, LotFacts]:
    """Return what is noted of each lot, by its id; a lot of which nothing is noted is left out."""
    with reading(book) as connection:
        return facts_there(connection)


def facts_there(connection: Connection) -> Mapping[str, LotFacts]:
    """Return the same within a transaction."""
    found: dict[str, dict[str, str]] = {}
    for note in notes_there(connection, LOT):
        found.setdefault(note.of, {})[note.what] = note.value
    return {of: facts_of(values) for of, values in found.items()}


def facts_of(values: Mapping[str, str]) -> LotFacts:
    """Return facts from what was noted, each in the form that `noted` gives it."""

    def number(name: str) -> float | None:
        text = values.get(name, "")
        return float(text) if text else None

    def day(name: str) -> date | None:
        text = values.get(name, "")
        return date.fromisoformat(text) if text else None

    return LotFacts(
        purity=number(PURITY),
        price=number(PRICE),
        opened_on=day(OPENED),
        expires_on=day(EXPIRES),
        lead_days=number(LEAD),
    )


def noted(facts: LotFacts) -> Mapping[str, str]:
    """Return the facts that are known as they are noted."""
    return {
        name: value.isoformat() if isinstance(value, date) else repr(float(value))
        for name, value in vars(facts).items()
        if value is not None
    }
