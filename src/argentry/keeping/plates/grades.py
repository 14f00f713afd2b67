"""How a making came out: grade, exposure, stages, defects; and that it was given up.

Of a making of the bench this is an event of its run, so that the log keeps what was said before; of
a row of a notebook it is a row of the book's judgements.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from argentry.book.engine import Book
from argentry.book.judgements import Judgement, judgement_of
from argentry.book.log import append
from argentry.book.makings import add_making, last_place, makings, rejudge
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.house_clock import agreed_clock
from argentry.keeping.moments import past_day, zone_or_own
from argentry.keeping.plates.makings import Chosen, chosen, numbered
from argentry.keeping.plates.plates import find_plate
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import GRADES, STAGES, VERDICTS, Making, Plate
from argentry.records.run import OUTWARD
from argentry.trade.defects import Defect, check_origin, defects
from argentry.trade.defects import defect as known_defect

NONE = "none"  # takes a judgement back
TERMINAL = "terminal"
STILL_GOING = "{words}: it is still on the bench"
GRADE_LATER = "end its steps, close the run or give the plate up first"
NOT_GOING = "plate {label} is not on the bench"


@dataclass(frozen=True)
class Catalogue:
    """Every defect known here.

    Attributes
    ----------
    defects : tuple of Defect
        In the order of the work.
    """

    defects: tuple[Defect, ...]


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
    number: int | None = None,
) -> Chosen:
    """Say how a making came out; what was said before stays in the book, the last counts.

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
        Which making, by its day; None: the newest. When the plate has none of that day, one without
        a run is made.
    number : int, optional
        Which making of the plate, by its number.

    Raises
    ------
    BadInput
        If no plate or making is known by it, it is still on the bench, a word is not known, or a
        plate that has none of a day would be made on one to come.
    """
    stages = stages or {}
    if grade is None and verdict is None and not stages:
        raise BadInput(
            "grade", "no grade is given", "give one of {grades}", grades=", ".join(GRADES)
        )
    _word("grade", grade, GRADES)
    _word("--verdict", verdict, VERDICTS)
    for stage, state in stages.items():
        _word("--stage", stage, STAGES)
        _word(f"--stage {stage}", state, ("ok", "fault"))
    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        which = _which(book, plate, day, number, folder)
        now = judgement_of(which.making)
        if grade is not None:
            now = replace(now, grade=_taken_back(grade))
        if verdict is not None:
            now = replace(now, verdict=_taken_back(verdict))
        said = {**now.stages, **stages}
        now = replace(now, stages={key: word for key, word in said.items() if word != NONE})
        say(book, which, now, by)
        return which


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
    number: int | None = None,
) -> Chosen:
    """Note a defect of a making and where it came from, or take one back.

    Parameters
    ----------
    folder, label, address, by, day, number
        As `grade_plate`.
    defect : str
        A key of the catalogue.
    origin : str
        Step or stage it is put down to; may be left out when there is one stage only.
    withdraw : bool
        True to take it back.

    Raises
    ------
    BadInput
        If the plate, making, defect or origin is not known, or there is none to take back.
    """
    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        if withdraw:
            which, pair = _having(book, plate, defect, origin, day, number)
            now = judgement_of(which.making)
            now = replace(now, defects=tuple(one for one in now.defects if one != pair))
        else:
            known = known_defect("defect", defect)
            pair = (known.key, check_origin("--from", known.key, origin))
            which = _which(book, plate, day, number, folder)
            now = judgement_of(which.making)
            now = replace(now, defects=tuple(dict.fromkeys([*now.defects, pair])))
        say(book, which, now, by)
        return which


def give_up(
    folder: Path | None,
    label: str,
    address: str | None = None,
    *,
    stage: str,
    defect: str | None = None,
    outward: str | None = None,
    why: str = "",
    by: str = "",
) -> Chosen:
    """Give up a plate that is on the bench: for a fault, or for an outward reason.

    Parameters
    ----------
    folder, label, address, by
        As `grade_plate`.
    stage : str
        Where it stands: one of ``STAGES``.
    defect : str, optional
        What was wrong, a key of the catalogue.
    outward : str, optional
        One of ``OUTWARD``: it teaches nothing of the stages not reached.
    why : str
        In words.

    Raises
    ------
    BadInput
        If a word is not known, both kinds of reason or none are given, or the plate is not on the
        bench.
    """
    if stage not in STAGES:
        raise BadInput(
            "--stage",
            "{stage!r} is not a stage",
            "use {stages}",
            stage=stage[:20],
            stages=", ".join(STAGES),
        )
    if outward is not None and outward not in OUTWARD:
        right = f"use {', '.join(OUTWARD)}"
        raise BadInput("--outward", "{outward!r} is not known".format(outward=outward[:20]), right)
    if outward is not None and defect is not None:
        raise BadInput("reason", "two are given", "give --fault or --outward, not both")
    if outward is None and defect is None and not why:
        raise BadInput("reason", "none is given", "give --fault DEFECT, --outward WORD or --why")
    if defect is not None:
        check_origin("--fault", defect, stage)
    body = {
        "stage": stage,
        "reason": "fault" if outward is None else "outward",
        "defect": defect,
        "outward": outward,
        "why": why,
    }
    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        which = chosen(book, plate)
        if which is None or which.making.run is None or which.making.state != "going":
            what = NOT_GOING.format(label=label)
            raise BadInput("plate", what, "only a plate with a step begun can be given up")
        add_event(book, which.making.run, "plate_abandoned", plate.id, body, by)
        return which


def say(book: Book, which: Chosen, now: Judgement, by: str, at: datetime | None = None) -> None:
    """Say how a making is judged from now on.

    Raises
    ------
    BadInput
        If it is still on the bench.
    """
    one = which.making
    if one.run is None:
        rejudge(book, one.id, now, by, at)
        return
    if one.state == "going":
        raise BadInput("grade", STILL_GOING, GRADE_LATER, words=which.words)
    body = {
        "grade": now.grade,
        "verdict": now.verdict,
        "defects": [list(pair) for pair in now.defects],
        "stages": dict(now.stages),
        "words": one.remark,
    }
    add_event(book, one.run, "making_graded", one.plate, body, by, at)


def add_event(
    book: Book,
    run: str,
    kind: str,
    plate: str | None,
    body: Mapping[str, Any],
    by: str,
    at: datetime | None = None,
) -> None:
    """Add an event to a run from outside the bench, after all that the book holds."""
    when = at or agreed_clock(book).now()
    append(book, [Event(new_id(), run, kind, when, plate, body=body, device=by or TERMINAL)])


def defect_catalogue() -> Catalogue:
    """Return every defect, each with look, origins, causes, remedy and source."""
    return Catalogue(tuple(defects().values()))


def _which(
    book: Book, plate: Plate, day: date | None, number: int | None, folder: Path | None
) -> Chosen:
    """Return the making meant; of a plate that has none one is made, without a run."""
    found = chosen(book, plate, number=number, day=day)
    if found is not None:
        return found
    if day is None:
        when = datetime.now(UTC).astimezone(zone_or_own(folder)).date()
    else:
        when = past_day("--day", folder, day)
    session = when.isoformat()
    made = Making(new_id(), plate.id, None, session, 1 + last_place(book, session), when)
    add_making(book, made)
    found = chosen(book, plate, day=when)
    assert found is not None
    return found


def _having(
    book: Book, plate: Plate, defect: str, origin: str, day: date | None, number: int | None
) -> tuple[Chosen, tuple[str, str]]:
    """Return the newest making that has a defect, and the defect with its origin."""
    own = numbered(plate, makings(book, plate.id))
    found = [
        (one, (key, of))
        for one in own
        for key, of in one.making.defects
        if key == defect and origin in ("", of)
        if day in (None, one.making.day) and number in (None, one.number)
    ]
    if not found:
        raise BadInput(
            "plate {plate}".format(plate=plate.label),
            "it has no {defect!r} to take back",
            "name one",
            defect=defect,
        )
    return found[-1]


def _word(where: str, word: str | None, known: Sequence[str]) -> None:
    if word is not None and word not in (*known, NONE):
        raise BadInput(
            where,
            "{word!r} is not known",
            "use {known} or {none}",
            word=word,
            known=", ".join(known),
            none=NONE,
        )


def _taken_back(word: str) -> str | None:
    return None if word == NONE else word
