"""A place at the bench: one device at one run, and how it takes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from argentry.book.engine import Book
from argentry.book.log import runs as read_runs
from argentry.desk.bench.run import clock_for, open_run
from argentry.errors import BadInput
from argentry.keeping.clock import SteadyClock
from argentry.records.event import Event
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook
from argentry.records.wishes import NOTHING_WISHED, Wishes

MANY_RUNS = "{count} runs have an id that begins like this"


@dataclass
class Seat:
    """A place at the bench: one device at one run.

    Attributes
    ----------
    book : Book
        Open.
    studio : Studio
        The studio.
    clock : SteadyClock
        The house's clock.
    run : str
        Id of the run.
    device : str
        Who sits here.
    events : list of Event
        Read so far, in order of the log.
    """

    book: Book
    studio: Studio
    clock: SteadyClock
    run: str
    device: str
    events: list[Event] = field(default_factory=list)


def take_seat(
    book: Book,
    studio: Studio,
    *,
    run: str | None = None,
    labels: Sequence[str] | None = None,
    day: date | None = None,
    wishes: Wishes = NOTHING_WISHED,
    outlook: Outlook = NO_OUTLOOK,
    forecast: Path | None = None,
    title: str | None = None,
    device: str = "terminal",
) -> Seat:
    """Return a seat at a run: the one named, a new one, or the last one still open.

    Parameters
    ----------
    book, studio
        Open.
    run : str or None
        Id of a run, or its first letters.
    labels : sequence of str or None
        Plates of a new run.
    day : date or None
        Plan this day for the new run.
    wishes : Wishes
        What is asked of that day alone.
    outlook : Outlook
        Weather for the plan, and what is said of it.
    forecast : Path or None
        File it was read from.
    title, device : str
        Name of the run; who sits here.

    Raises
    ------
    BadInput
        If there is no such run, or none is open and no plates are named.
    """
    clock = clock_for(book)
    if run is None and (labels is not None or day is not None):
        plan = None
        if day is not None:
            from argentry.desk.wishes import plan_day

            wanted = len(labels) if labels else None
            plan = plan_day(studio, day, wishes, plates=wanted, now=clock.now(), outlook=outlook)
            if not plan.plates_placed:
                raise BadInput("--date", "the day holds no plate", "choose another day")
        run = open_run(
            book, studio, labels, clock=clock, plan=plan, title=title, device=device,
            forecast=forecast,
        )  # fmt: skip
        return Seat(book, studio, clock, run, device)
    heads = read_runs(book)
    if run is None:
        going = [head for head in heads if head.closed is None]
        if not going:
            raise BadInput("bench", "no run is open", "name plates: --plates A1,A2")
        return Seat(book, studio, clock, going[0].run, device)
    found = [head.run for head in heads if head.run.startswith(run)]
    if len(found) != 1:
        what = (
            "no run has an id that begins like this"
            if not found
            else MANY_RUNS.format(count=len(found))
        )
        raise BadInput("--run", what, "give more of its id")
    return Seat(book, studio, clock, found[0], device)
