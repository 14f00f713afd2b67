"""How a plate came out: its grade, its exposure, its stages and its defects."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from argentry.desk.book import studio_book
from argentry.desk.moments import zone_or_own
from argentry.desk.plates.plates import find_plate, show_plate
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import GRADES, STAGES, VERDICTS, Making, Plate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import tzinfo
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.book.log import RunHead

NONE = "none"  # takes a judgement back


def grade_plate(
    folder: Path | None,
    label: str,
    address: str | None = None,
    *,
    grade: str | None = None,
    verdict: str | None = None,
    stages: Mapping[str, str] | None = None,
    by: str = "",
    day: date | None = None,
) -> dict[str, Any]:
    """Say how a plate came out; what was said before stays in the book, the last counts.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    label : str
        The plate.
    address : str, optional
        Of a PostgreSQL book.
    grade : str, optional
        One of ``GRADES``, or ``"none"`` to take it back.
    verdict : str, optional
        On the exposure: one of ``VERDICTS``, or ``"none"``.
    stages : Mapping[str, str], optional
        Stage to ``"ok"``, ``"fault"`` or ``"none"``.
    by : str
        Who says so.
    day : date, optional
        Which making of the plate, by its day; None: the last. When the plate has none of that
        day, one is made.

    Returns
    -------
    dict
        As `show_plate`.

    Raises
    ------
    BadInput
        If there is no such plate, or a word is not known.
    """
    from argentry.book.plates import set_grade, set_stage, set_verdict

    stages = stages or {}
    if grade is None and verdict is None and not stages:
        raise BadInput("grade", "nothing is said", f"give one of {', '.join(GRADES)}")
    _word("grade", grade, GRADES)
    _word("--verdict", verdict, VERDICTS)
    for stage, state in stages.items():
        _word("--stage", stage, STAGES)
        _word(f"--stage {stage}", state, ("ok", "fault"))
    with studio_book(folder, address) as book:
        making = _making_of(book, find_plate(book, label), day, zone_or_own(folder))
        if grade is not None:
            set_grade(book, making, _taken_back(grade), by)
        if verdict is not None:
            set_verdict(book, making, _taken_back(verdict), by)
        for stage, state in stages.items():
            set_stage(book, making, stage, _taken_back(state), by)
    return show_plate(folder, label, address)


def note_defect(
    folder: Path | None,
    label: str,
    defect: str,
    address: str | None = None,
    *,
    origin: str = "",
    withdraw: bool = False,
    by: str = "",
    day: date | None = None,
) -> dict[str, Any]:
    """Note a defect of a plate and where it came from, or take one back.

    Parameters
    ----------
    folder, label, address, by, day
        As `grade_plate`.
    defect : str
        A key of the catalogue.
    origin : str
        Step or stage it is put down to; may be left out when there is one stage only.
    withdraw : bool
        True to take it back.

    Returns
    -------
    dict
        As `show_plate`.

    Raises
    ------
    BadInput
        If the plate, defect or origin is not known, or there is none to take back.
    """
    from argentry.book.plates import add_defect, makings, withdraw_defect
    from argentry.trade.defects import check_origin

    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        if withdraw:
            found = [
                (one.id, at)
                for one in makings(book, plate.id)
                for key, at in one.defects
                if key == defect and origin in ("", at) and day in (None, one.day)
            ]
            if not found:
                raise BadInput(f"plate {label}", f"it has no {defect!r} to take back", "name one")
            withdraw_defect(book, found[-1][0], defect, found[-1][1], by)
        else:
            at = check_origin("defect", defect, origin)
            add_defect(book, _making_of(book, plate, day, zone_or_own(folder)), defect, at, by)
    return show_plate(folder, label, address)


def defect_catalogue() -> dict[str, Any]:
    """Return every defect: ``defects``, each with look, origins, causes, remedy and source."""
    from argentry.trade.defects import defects

    return {"defects": [asdict(entry) for entry in defects().values()]}


def _making_of(book: Book, plate: Plate, day: date | None, zone: tzinfo | None) -> str:
    """Return the id of the plate's making on a day (None: the last), making one if need be.

    Without a day it is that of the plate's last run, where the studio is; else today there.
    """
    from argentry.book.makings import last_place
    from argentry.book.plates import add_making, makings

    own = [one for one in makings(book, plate.id) if day in (None, one.day)]
    if own:
        return own[-1].id
    run = _run_of(book, plate)
    when = day or (run.opened_at if run else datetime.now(UTC)).astimezone(zone).date()
    session = when.isoformat()
    order = 1 + last_place(book, session)
    made = Making(new_id(), plate.id, run.run if run else None, session, order, when)
    add_making(book, made)
    return made.id


def _run_of(book: Book, plate: Plate) -> RunHead | None:
    """Return the last run of a plate, None when it was never on the bench."""
    from argentry.book.log import runs

    return next((run for run in runs(book) if plate.label in run.plates), None)


def _word(where: str, word: str | None, known: Sequence[str]) -> None:
    if word is not None and word not in (*known, NONE):
        raise BadInput(where, f"{word[:40]!r} is not known", f"use {', '.join(known)} or {NONE}")


def _taken_back(word: str) -> str | None:
    return None if word == NONE else word
