"""Plates of the book: put one in, list them, find one, note work on one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from argentry.book.engine import Book
from argentry.book.makings import makings
from argentry.book.plates import add_plates, add_work, plate_by_label, plates
from argentry.errors import BadInput, did_you_mean
from argentry.exchange.plates.mapping import fields
from argentry.keeping.book import studio_book
from argentry.keeping.house_clock import entered_at
from argentry.keeping.moments import today_of
from argentry.keeping.plates.wear import wear_of
from argentry.keeping.studio import load_studio
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.records.plate_record import RENAMED, WORKS, KnownRecord, PlateWork
from argentry.records.studio import USUAL_SIZE
from argentry.trade.sizes import plate_size


@dataclass(frozen=True)
class NewPlates:
    """The plates as they went into the book.

    Attributes
    ----------
    plates : tuple of Plate
        The plates.
    thin : tuple of str
        Those with so little silver that they are worn once they are polished back.
    """

    plates: tuple[Plate, ...]
    thin: tuple[str, ...] = ()


@dataclass(frozen=True)
class ListedPlate(Plate):
    """A plate with what came of its newest making; null where it has none.

    Attributes
    ----------
    day : date or None
        Day of its newest making.
    session : str or None
        Session of that making.
    grade : str or None
        lost, study, good or fine; null while it is not graded.
    verdict : str or None
        On the exposure: blank, under, right, over or solarised; null without one.
    defects : tuple of (str, str)
        Defects of that making, each with the step or stage it is put down to.
    makings : int
        How often it was made.
    """

    day: date | None = None
    session: str | None = None
    grade: str | None = None
    verdict: str | None = None
    defects: tuple[tuple[str, str], ...] = ()
    makings: int = 0


@dataclass(frozen=True)
class PlateList:
    """The plates of the book with what came of each last.

    Attributes
    ----------
    plates : tuple of ListedPlate
        The plates by label.
    """

    plates: tuple[ListedPlate, ...]


def new_plates(
    folder: Path | None,
    labels: Sequence[str],
    address: str | None = None,
    *,
    size: str | None = None,
    made_on: date | None = None,
    silver_um: float | None = None,
    silver_source: str = "",
    remark: str = "",
) -> NewPlates:
    """Put plates into the book, all or none.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    labels : sequence of str
        What is scratched on their backs; each unique in the book.
    address : str, optional
        Of a PostgreSQL book.
    size : str, optional
        Plate size by name; None: the studio's usual one.
    made_on : date, optional
        When they were silvered or bought.
    silver_um : float, optional
        Silver thickness. [µm]
    silver_source, remark : str
        Who silvered them, and anything else.

    Raises
    ------
    BadInput
        If a label is empty or taken or holds a comma, a value is out of range, or the day is still
        to come.
    """
    for label in labels:
        refuse_comma(label)
    named = plate_size(size or usual_size(folder)).name
    doubled = next((label for i, label in enumerate(labels) if label in labels[:i]), None)
    if doubled is not None:
        raise BadInput(
            "plate", "{doubled!r} is named twice", "name each plate once", doubled=doubled
        )
    if made_on is not None and folder is not None and made_on > (today := today_of(folder)):
        right = "give {today} or an earlier day"
        raise BadInput("made", "{day} is still to come", right, day=made_on, today=today)
    made = [
        Plate(new_id(), label.strip(), named, made_on, silver_um, silver_source, remark=remark)
        for label in labels
    ]
    with studio_book(folder, address) as book:
        add_plates(book, made)
        silvered = set() if silver_um is None else {one.id for one in made}
        found = wear_of(book, silvered).plates if silvered else ()
    new = {one.label for one in made}
    thin = tuple(one.plate for one in found if one.worn and one.plate in new)
    return NewPlates(tuple(made), thin)


def refuse_comma(label: str) -> None:
    """Refuse a label that no list of plates could name, as labels in one stand between commas.

    Raises
    ------
    BadInput
        If it holds a comma.
    """
    if "," in label:
        right = "leave it out: where several plates are named, commas stand between them"
        raise BadInput("plate", "the label {label!r} holds a comma", right, label=label)


def usual_size(folder: Path | None) -> str:
    """Return the plate size the studio makes most, or a quarter plate without a studio."""
    return USUAL_SIZE if folder is None else load_studio(folder).habits.plate_size


def list_plates(folder: Path | None, address: str | None = None) -> PlateList:
    """Return every plate with what came of its newest making."""
    with studio_book(folder, address) as book:
        own: dict[str, list[Making]] = {}
        for making in makings(book):
            own.setdefault(making.plate, []).append(making)
        return PlateList(tuple(_listed(plate, own.get(plate.id, [])) for plate in plates(book)))


def _listed(plate: Plate, own: Sequence[Making]) -> ListedPlate:
    if not own:
        return ListedPlate(**vars(plate))
    last = own[-1]
    return ListedPlate(
        **vars(plate),
        day=last.day,
        session=last.session,
        grade=last.grade,
        verdict=last.verdict,
        defects=last.defects,
        makings=len(own),
    )


def known_conditions(conditions: Mapping[str, float | str]) -> tuple[KnownRecord, ...]:
    """Return conditions in the order of the work, each in words with its unit."""
    units = {name: column.unit for name, column in fields().items()}
    named = [name for name in units if name in conditions]
    named += [name for name in conditions if name not in units]
    return tuple(
        KnownRecord(_words(name, units), conditions[name], units.get(name, "")) for name in named
    )


_SPELT = {"f_number": "f-number", "coat_l": "coat L*", "coat_a": "coat a*", "coat_b": "coat b*"}


def _words(name: str, units: Mapping[str, str]) -> str:
    """Return a column's name as words, without the unit at its end."""
    if not units.get(name):
        return _SPELT.get(name, name.replace("_", " ")) if name in units else name
    unit = units[name].replace("µ", "u").replace("%", "pct").lower()
    end = "_" + re.sub(r"\W+", "_", unit).strip("_")  # m/s is _m_s, °C is _c
    bare = name.removesuffix(end) if name.endswith(end) else name.rpartition("_")[0]
    return bare.replace("_rh", " humidity").replace("_", " ")


def note_work(
    folder: Path | None,
    label: str,
    kind: str,
    address: str | None = None,
    *,
    at: datetime | None = None,
    by: str = "",
    remark: str = "",
) -> PlateWork:
    """Note what was done to a plate before or between its runs.

    Parameters
    ----------
    folder, label, address
        As `grade_plate`.
    kind : str
        One of ``WORKS``; a space or a hyphen serves for the underscore.
    at : datetime, optional
        When, without an offset in the studio's zone; None for now.
    by, remark : str
        Who, and with what, how long, anything else.

    Raises
    ------
    BadInput
        If the plate or the kind of work is not known, or it is in the future.
    """
    word = kind.strip().casefold().replace("-", "_").replace(" ", "_")
    by_hand = [work for work in WORKS if work != RENAMED]
    if word not in by_hand:
        right = did_you_mean(word, by_hand, f"use {', '.join(by_hand)}")
        raise BadInput(
            "work", "{kind!r} is not a kind of work on a plate".format(kind=kind[:40]), right
        )
    with studio_book(folder, address) as book:
        moment = entered_at(book, "--at", folder, at)
        done = PlateWork(new_id(), find_plate(book, label).id, word, moment, by, remark)
        add_work(book, done)
    return done


def find_plate(book: Book, label: str) -> Plate:
    """Return the plate of a label.

    Raises
    ------
    BadInput
        If there is none; the sentence names one that is near.
    """
    found = plate_by_label(book, label)
    if found is None:
        add = "add it: argentry plate new {label}".format(label=label)
        right = did_you_mean(label, (plate.label for plate in plates(book)), add, 0.5)
        raise BadInput("plate", "{label!r} is not in the book".format(label=label), right)
    return found
