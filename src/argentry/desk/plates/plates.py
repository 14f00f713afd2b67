"""Plates of the book: put one in, list them, show one, note work on one."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from argentry.desk.book import studio_book
from argentry.desk.moments import past_moment, zone_or_own
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.records.plate_work import WORKS, PlateWork

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime
    from pathlib import Path

    from argentry.book.engine import Book


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
) -> dict[str, Any]:
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

    Returns
    -------
    dict
        ``plates``: the plates as kept.

    Raises
    ------
    BadInput
        If a label is empty or taken, or a value is out of range.
    """
    from argentry.book.plates import add_plates
    from argentry.trade.sizes import plate_size

    named = plate_size(size or usual_size(folder)).name
    doubled = next((label for i, label in enumerate(labels) if label in labels[:i]), None)
    if doubled is not None:
        raise BadInput("plate", f"{doubled!r} is named twice", "name each plate once")
    made = [
        Plate(new_id(), label.strip(), named, made_on, silver_um, silver_source, remark=remark)
        for label in labels
    ]
    with studio_book(folder, address) as book:
        add_plates(book, made)
    return {"plates": [asdict(plate) for plate in made]}


def usual_size(folder: Path | None) -> str:
    """Return the plate size the studio makes most, or a quarter plate without a studio."""
    from argentry.desk.studio import load_studio

    return Plate("", "").size if folder is None else load_studio(folder).habits.plate_size


def list_plates(folder: Path | None, address: str | None = None) -> dict[str, Any]:
    """Return every plate with what came of it last.

    Returns
    -------
    dict
        ``plates``: each the plate's own values and ``day``, ``session``, ``grade``, ``verdict``,
        ``defects`` (list of key and origin) of its last making, null without one.
    """
    from argentry.book.plates import makings, plates

    with studio_book(folder, address) as book:
        last = {making.plate: making for making in makings(book)}
        return {"plates": [_summary(plate, last.get(plate.id)) for plate in plates(book)]}


def _summary(plate: Plate, last: Making | None) -> dict[str, Any]:
    return {
        **asdict(plate),
        "day": last and last.day,
        "session": last and last.session,
        "grade": last and last.grade,
        "verdict": last and last.verdict,
        "defects": [list(pair) for pair in last.defects] if last else [],
    }


def show_plate(folder: Path | None, label: str, address: str | None = None) -> dict[str, Any]:
    """Return all that the book knows of one plate.

    Returns
    -------
    dict
        The plate's own values; ``work`` (polish history, in the studio's zone); ``makings``, the
        latest last, each with ``conditions``, with ``known`` (the same for reading: ``words``,
        ``value``, ``unit``) and with ``defects`` as ``defect``, ``from``, ``look``, ``causes``,
        ``remedy`` and ``mends``; ``pictures``.

    Raises
    ------
    BadInput
        If there is no such plate.
    """
    from argentry.book.pictures import pictures
    from argentry.book.plates import makings, works

    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        return {
            **asdict(plate),
            "work": [
                {**asdict(work), "at": work.at.astimezone(zone_or_own(folder))}
                for work in works(book, plate.id)
            ],
            "outcomes": [_making(one) for one in makings(book, plate.id)],
            "pictures": [asdict(picture) for picture in pictures(book, plate.id)],
        }


def _making(one: Making) -> dict[str, Any]:
    from argentry.trade.defects import defects

    known = defects()
    rows = []
    for key, origin in one.defects:
        row: dict[str, Any] = {"defect": key, "from": origin}
        if key in known:
            entry = known[key]
            row |= {"look": entry.look, "causes": list(entry.causes), "remedy": entry.remedy}
            row["mends"] = entry.mends
        rows.append(row)
    return {**asdict(one), "defects": rows, "known": known_conditions(one.conditions)}


def known_conditions(conditions: Mapping[str, float | str]) -> list[dict[str, Any]]:
    """Return conditions in the order of the work, as ``words``, ``value`` and ``unit``."""
    from argentry.exchange.plates.columns import columns

    units = {column.name: column.unit for column in columns()}
    named = [name for name in units if name in conditions]
    named += [name for name in conditions if name not in units]
    return [
        {"words": _words(name, units), "value": conditions[name], "unit": units.get(name, "")}
        for name in named
    ]


def _words(name: str, units: Mapping[str, str]) -> str:
    """Return a column's name as words, without the unit at its end."""
    if not units.get(name):
        return name.replace("_", " ") if name in units else name
    for end in ("_rh_pct", "_us_cm"):
        if name.endswith(end):
            return name.removesuffix(end).replace("_", " ") + (" humidity" if "rh" in end else "")
    return name.rpartition("_")[0].replace("_", " ")


def note_work(
    folder: Path | None,
    label: str,
    kind: str,
    address: str | None = None,
    *,
    at: datetime | None = None,
    by: str = "",
    remark: str = "",
) -> dict[str, Any]:
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

    Returns
    -------
    dict
        As `show_plate`.

    Raises
    ------
    BadInput
        If the plate or the kind of work is not known, or it is still to come.
    """
    from difflib import get_close_matches

    from argentry.book.plates import add_work

    word = kind.strip().casefold().replace("-", "_").replace(" ", "_")
    if word not in WORKS:
        near = get_close_matches(word, WORKS, n=1)
        right = f"did you mean {near[0]}" if near else f"use {', '.join(WORKS)}"
        raise BadInput("work", f"{kind[:40]!r} is no work on a plate", right)
    moment = past_moment("--at", folder, at)
    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        add_work(book, PlateWork(new_id(), plate.id, word, moment, by, remark))
    return show_plate(folder, label, address)


def find_plate(book: Book, label: str) -> Plate:
    """Return the plate of a label.

    Raises
    ------
    BadInput
        If there is none; the sentence names one that is near.
    """
    from difflib import get_close_matches

    from argentry.book.plates import plate_by_label, plates

    found = plate_by_label(book, label)
    if found is None:
        near = get_close_matches(label, [plate.label for plate in plates(book)], n=1, cutoff=0.5)
        right = f"did you mean {near[0]}" if near else f"add it: argentry plate new {label}"
        raise BadInput("plate", f"{label!r} is not in the book", right)
    return found
