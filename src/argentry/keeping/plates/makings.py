"""The makings of a plate, and which one is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from argentry.book.engine import Book
from argentry.book.makings import makings
from argentry.errors import BadInput
from argentry.records.day import day_in_words
from argentry.records.plate import Making, Plate

ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"),
    "tenth",
)
ENDINGS = {1: "st", 2: "nd", 3: "rd"}
OF_RUN = "plate {label}, {which} making, run of {day}"
BY_HAND = "plate {label}, {which} making, of {day}, without a run"
NONE_OF_DAY = "plate {label} has no making of {day}"
NO_SUCH = "plate {label} has {count} makings"
HAS_ONE = "plate {label} has one making"


@dataclass(frozen=True)
class Chosen:
    """One making of a plate, and which of them it is.

    Attributes
    ----------
    making : Making
        The making.
    number : int
        Its number among the makings of the plate, in order of time; the first is 1.
    count : int
        How many the plate has.
    words : str
        Which it is: the plate, the number, the day.
    """

    making: Making
    number: int
    count: int
    words: str


def numbered(plate: Plate, own: Sequence[Making]) -> list[Chosen]:
    """Return the makings of a plate in order of time, each with its number and words."""
    return [
        Chosen(one, number, len(own), _which(plate.label, number, one))
        for number, one in enumerate(own, 1)
    ]


def ordinal(number: int) -> str:
    """Return which one in words up to the tenth, then in figures: 11th, 21st, 22nd."""
    if number <= len(ORDINALS):
        return ORDINALS[number - 1]
    teens = 11 <= number % 100 <= 13
    return f"{number}{'th' if teens else ENDINGS.get(number % 10, 'th')}"


def _which(label: str, number: int, one: Making) -> str:
    template = BY_HAND if one.run is None else OF_RUN
    return template.format(label=label, which=ordinal(number), day=day_in_words(one.day))


def chosen(
    book: Book, plate: Plate, *, number: int | None = None, day: date | None = None
) -> Chosen | None:
    """Return one making of a plate: the newest, or the one of a number or a day.

    Parameters
    ----------
    book : Book
        Open.
    plate : Plate
        The plate.
    number : int, optional
        Which of its makings, the first is 1.
    day : date, optional
        Of which day; the newest of that day.

    Returns
    -------
    Chosen or None
        None when the plate has none, or none of that day.

    Raises
    ------
    BadInput
        If it has no making of that number.
    """
    own = numbered(plate, makings(book, plate.id))
    if number is not None:
        if not 1 <= number <= len(own):
            what = (HAS_ONE if len(own) == 1 else NO_SUCH).format(label=plate.label, count=len(own))
            raise BadInput("--making", what, "see them with argentry plate show")
        own = [own[number - 1]]
    of_day = [one for one in own if day in (None, one.making.day)]
    if own and not of_day and number is not None and day is not None:
        what = NONE_OF_DAY.format(label=plate.label, day=day_in_words(day))
        raise BadInput("--day", what, "name a day or a number, not both")
    return of_day[-1] if of_day else None
