"""What waits for a grade."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from argentry.book.engine import Book
from argentry.book.makings import makings
from argentry.book.plate_list import labels_of

LOOKED_AT = 100  # makings, the newest


@dataclass(frozen=True)
class Waiting:
    """One making that waits for a grade.

    Attributes
    ----------
    making : str
        Its id.
    label : str
        Of the plate.
    day : date
        When it was made.
    """

    making: str
    label: str
    day: date


def waiting_for_grade(book: Book) -> tuple[Waiting, ...]:
    """Return the finished makings that nobody graded, the newest first.

    A plate given up says by that how it came out, and does not wait.
    """
    due = [
        one
        for one in makings(book, newest=LOOKED_AT)[::-1]
        if one.state == "finished" and one.grade is None and one.run is not None
    ]
    labels = labels_of(book, [one.plate for one in due])
    return tuple(Waiting(one.id, labels[one.plate], one.day) for one in due)
