"""What the bench noted of baths: the coats that pictures showed, and the clearing times."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from math import isfinite
from typing import NamedTuple

from argentry.book.engine import Book, reading
from argentry.book.materials.notes import notes_there
from argentry.book.rows import AT_ONCE
from argentry.records.material import BATH, BY_HAND, KIND, MaterialNote

COAT = "{area!r} {nm!r} {half!r} {passes}"
TIMED = "clearing {run} {event}"


class NotedCoat(NamedTuple):
    """A coat that a picture showed and that went into a bath.

    Attributes
    ----------
    area_cm2 : float
        That went through, every time that it did. [cm2]
    nm : float
        The coat by each time that it went through: it goes in once. [nm]
    half_nm : float
        Half of the 80 % range that the picture told; 0: it told none. [nm]
    passes : float
        How often it went through.
    """

    area_cm2: float
    nm: float
    half_nm: float = 0.0
    passes: float = 1.0


class BenchNotes(NamedTuple):
    """What the bench noted of a bath.

    Attributes
    ----------
    coats : tuple of NotedCoat
        What pictures showed of the coats that went into it.
    clearing : tuple of (datetime, float)
        When a clearing time was told, and how long it was. [s]
    """

    coats: tuple[NotedCoat, ...]
    clearing: tuple[tuple[datetime, float], ...]


NOTHING_NOTED = BenchNotes((), ())


def bench_notes(book: Book, baths: Sequence[str]) -> dict[str, BenchNotes]:
    """Return what the bench noted of some baths; those of which it noted nothing are left out."""
    noted: list[MaterialNote] = []
    with reading(book) as connection:
        for start in range(0, len(baths), AT_ONCE):
            noted += notes_there(connection, BATH, baths[start : start + AT_ONCE])
    last = {(one.of, one.what): one for one in noted}
    found: dict[str, tuple[list[NotedCoat], list[tuple[datetime, float]]]] = {}
    for (bath, what), one in last.items():
        if not one.value or what in (KIND, BY_HAND):
            continue
        coats, timed = found.setdefault(bath, ([], []))
        numbers = numbers_noted(what, one.value)
        if len(numbers) == 1:
            timed.append((one.at, numbers[0]))
        else:
            coats.append(NotedCoat(*numbers))
    return {
        bath: BenchNotes(tuple(coats), tuple(sorted(timed)))
        for bath, (coats, timed) in found.items()
    }


def numbers_noted(what: str, value: str) -> tuple[float, ...]:
    """Return the numbers of a note on a bath: a clearing time, or those of a `NotedCoat`.

    Raises
    ------
    ValueError
        If it does not hold them.
    """
    if what in (KIND, BY_HAND) or not value:
        return ()
    numbers = tuple(map(float, value.split()))
    wanted = (1,) if what.startswith(TIMED.partition("{")[0]) else (2, 4)  # 2: before 0.5
    sound = [
        isfinite(one) and (one > 0.0 or (one == 0.0 and n == 2)) for n, one in enumerate(numbers)
    ]
    if len(numbers) not in wanted or not all(sound):
        raise ValueError(value)
    return numbers
