"""What was named or opened by mistake: a plate renamed, a plate or a run withdrawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

from argentry.book.care.erase import Erasure, erase
from argentry.book.engine import Book
from argentry.book.log import events, run_exists, runs
from argentry.book.makings import making
from argentry.book.plates import rename
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.house_clock import agreed_clock
from argentry.keeping.plates.grades import add_event
from argentry.keeping.plates.makings import chosen
from argentry.keeping.plates.plates import find_plate, refuse_comma
from argentry.records.event import Event
from argentry.records.plate import Plate

__all__ = [
    "Erasure",
    "WithdrawnRun",
    "erase_words",
    "relabel",
    "rename_plate",
    "rename_run",
    "withdraw_making",
    "withdraw_opened",
    "withdraw_plate",
    "withdraw_run",
]

WITHDRAWN = "Plate {label} is withdrawn from the run {title}."
NO_SUCH_RUN = "{run} is not in the book"
LONGEST_WHY = 500
NO_RUN = "plate {label} is in no run"


@dataclass(frozen=True)
class WithdrawnRun:
    """A run that counts for nothing from now on.

    Attributes
    ----------
    run : str
        Its id.
    title : str
        Its name.
    plates : tuple of str
        Labels of its plates, as the run was opened with them.
    """

    run: str
    title: str
    plates: tuple[str, ...]


def rename_plate(
    folder: Path | None, old: str, new: str, address: str | None = None, *, by: str = ""
) -> Plate:
    """Give a plate another label; its work history keeps the old one.

    Raises
    ------
    BadInput
        If the plate is not in the book, or its new label is empty or taken or holds a comma.
    """
    with studio_book(folder, address) as book:
        return relabel(book, old, new, by, agreed_clock(book).now())


def relabel(book: Book, old: str, new: str, by: str, at: datetime) -> Plate:
    """Give a plate another label, in its runs too, and return it."""
    plate, label = find_plate(book, old), new.strip()
    refuse_comma(label)
    rename(book, plate.id, label, by, at)
    for head in runs(book):
        if old in head.plates:
            _relabel_in(book, head.run, plate.id, label, by, at)
    return find_plate(book, label)


def _relabel_in(book: Book, run: str, plate: str, label: str, by: str, at: datetime) -> None:
    """Give a plate its label in a run, where it was opened with it or where it was added."""
    happened = events(book, run)
    counted, _ = effective(happened)
    added = {one.id for one in counted if one.kind == "plate_added" and one.plate == plate}
    if added:
        first = next(one for one in happened if one.id in added)
        _correct(book, happened, first, lambda _: {"label": label}, by, at)
    else:
        _correct_opening(book, run, partial(_relabelled, plate, label), by, at)


def _relabelled(plate: str, label: str, body: Mapping[str, Any]) -> dict[str, Any]:
    rows = [{**one, "label": label} if one["id"] == plate else one for one in body["plates"]]
    return {"plates": rows}


def rename_run(book: Book, run: str, title: str, *, by: str, at: datetime) -> None:
    """Give a run another name.

    Raises
    ------
    BadInput
        If there is no such run, or the name is empty.
    """
    name = title.strip()[:200]
    if not name:
        raise BadInput("name of the run", "it is empty", "give one")
    _correct_opening(book, run, lambda _: {"title": name}, by, at)


def _correct_opening(
    book: Book,
    run: str,
    change: Callable[[Mapping[str, Any]], dict[str, Any]],
    by: str,
    at: datetime,
) -> None:
    happened = sorted(events(book, run), key=lambda one: (one.at, one.id))
    opening = next((one for one in happened if one.kind == "run_opened"), None)
    if opening is None:
        raise BadInput("run", NO_SUCH_RUN, "name one that is", run=run[:40])
    _correct(book, happened, opening, change, by, at)


def _correct(
    book: Book,
    happened: Iterable[Event],
    event: Event,
    change: Callable[[Mapping[str, Any]], dict[str, Any]],
    by: str,
    at: datetime,
) -> None:
    # the newest correction counts alone: it says again what an earlier one put right
    before = [
        one.body
        for one in sorted(happened, key=lambda one: (one.at, one.id))
        if one.kind == "corrected" and one.body.get("event") == event.id
        if not one.body.get("withdrawn")
    ]
    last = dict(before[-1]) if before else {}
    so_far = last.get("body") or {}
    body = {**so_far, **change({**event.body, **so_far})}
    add_event(book, event.run, "corrected", None, {**last, "event": event.id, "body": body}, by, at)


def withdraw_plate(
    folder: Path | None,
    label: str,
    address: str | None = None,
    *,
    why: str = "",
    by: str = "",
    number: int | None = None,
    day: date | None = None,
) -> str:
    """Withdraw a plate from a run it was put into by mistake: it is not a making then.

    Parameters
    ----------
    folder, address, by
        As `rename_plate`.
    label : str
        The plate.
    why : str
        In words.
    number, day
        Which of its makings; None: that of the last run it was in.

    Returns
    -------
    str
        From which run, in words.

    Raises
    ------
    BadInput
        If there is no such plate or making, or it is in no run.
    """
    with studio_book(folder, address) as book:
        plate = find_plate(book, label)
        run, title = _run_of(book, plate, number, day)
        add_event(book, run, "plate_withdrawn", plate.id, {"why": why}, by)
        return WITHDRAWN.format(label=label, title=title)


def withdraw_run(
    folder: Path | None, run: str, address: str | None = None, *, why: str = "", by: str = ""
) -> WithdrawnRun:
    """Withdraw a run opened by mistake: nothing of it is erased, and it counts for nothing.

    Parameters
    ----------
    folder, address, by
        As `rename_plate`.
    run : str
        Its id, its first letters, or its name.
    why : str
        In words.

    Raises
    ------
    BadInput
        If no run, or more than one, is called so.
    """
    with studio_book(folder, address) as book:
        found = [one for one in runs(book) if run and (one.run.startswith(run) or one.title == run)]
        if len(found) != 1:
            what = (
                "{found_count} runs have that name".format(found_count=len(found))
                if found
                else "no run is called {run!r}".format(run=run[:40])
            )
            raise BadInput("run", what, "give its whole name, or more letters of its id")
        add_event(book, found[0].run, "run_withdrawn", None, {"why": why}, by)
        return WithdrawnRun(found[0].run, found[0].title, found[0].plates)


def withdraw_making(book: Book, key: str, why: str, *, by: str, at: datetime) -> None:
    """Say that the plate of a making was in its run by mistake: it is not a making then.

    Raises
    ------
    BadInput
        If there is no such making, or it has no run.
    """
    found = making(book, key)
    if found is None or found.run is None:
        raise BadInput(
            "making", "it does not belong to a run", "name a making that was run on the bench"
        )
    body = {"why": why.strip()[:LONGEST_WHY]}
    add_event(book, found.run, "plate_withdrawn", found.plate, body, by, at)


def withdraw_opened(book: Book, run: str, why: str, *, by: str, at: datetime) -> None:
    """Say that a run was opened by mistake; it stays in the log and counts for nothing.

    Raises
    ------
    BadInput
        If there is no such run.
    """
    if not run_exists(book, run):
        raise BadInput("run", NO_SUCH_RUN, "name one that is", run=run[:40])
    add_event(book, run, "run_withdrawn", None, {"why": why.strip()[:LONGEST_WHY]}, by, at)


def _run_of(book: Book, plate: Plate, number: int | None, day: date | None) -> tuple[str, str]:
    """Return id and name of the run a plate is to be withdrawn from."""
    if number is not None or day is not None:
        which = chosen(book, plate, number=number, day=day)
        if which is not None and which.making.run is not None:
            return which.making.run, which.words
    else:
        for head in runs(book):
            state = fold(events(book, head.run))
            if any(one.id == plate.id and one.state != "withdrawn" for one in state.plates):
                return head.run, head.title
    what = NO_RUN.format(label=plate.label)
    raise BadInput("plate", what, "only what was opened on the bench can be withdrawn")


def erase_words(
    folder: Path | None, text: str, address: str | None = None, by: str = ""
) -> Erasure:
    """Erase a person's words, and say where they still stand.

    Raises
    ------
    BadInput
        If the words are shorter than three letters.
    ArgentryError
        If the book cannot be opened or written.
    """
    with studio_book(folder, address) as book:
        return erase(book, text, by or "terminal", agreed_clock(book).now())
