"""A short word for what a book holds to learn from: another one whenever something was added."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import func, select

from argentry.book import tables
from argentry.book.engine import reading

if TYPE_CHECKING:
    from argentry.book.engine import Book

JUDGED = (tables.grade, tables.verdict, tables.stage, tables.defect)


def mark(book: Book) -> str:
    """Return the word: it is read in a moment, however large the book is."""
    with reading(book) as connection:
        last = [
            connection.execute(select(func.max(table.c.seq))).scalar() or 0
            for table in (tables.event, *JUDGED)
        ]
        rows = connection.execute(select(func.count()).select_from(tables.making)).scalar() or 0
    return "-".join(map(str, (*last, rows)))
