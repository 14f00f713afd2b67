"""The house's clock against the machine's: told when they are minutes apart, and set by the host.

Which of the two is right nobody but the host can know: a machine without a battery starts years
behind, and one that was ahead for an hour leaves events in the book that lie ahead for good.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path

from argentry.book.engine import Book
from argentry.book.log import append, last_at, last_seq, runs_since
from argentry.errors import BadInput
from argentry.keeping.clock import FAR, SteadyClock, adding, span_words, steady_clock
from argentry.keeping.moments import past_moment, zone_of
from argentry.records.event import HOUSE_RUN, Event
from argentry.records.ids import new_id

APART = (
    "The house's clock says {house:%Y-%m-%d %H:%M}, {span} {side} the clock of this machine "
    "({wall:%Y-%m-%d %H:%M}). Times, plans and light follow the house's clock."
)
WAY_OUT = (
    "Correct the machine's clock if it is the wrong one. Otherwise set the house's clock: on the "
    "host's page Clock, or with argentry book clock --set while no server runs."
)


def clock_for(book: Book) -> SteadyClock:
    """Return a steady clock that starts after the last event of the book."""
    return steady_clock(last_at(book), last_seq(book))


@dataclass(frozen=True)
class ClockCheck:
    """The house's clock next to the machine's.

    Attributes
    ----------
    house, wall : datetime
        What they say, UTC.
    ahead_s : float
        How far the house's is ahead; negative when it is behind. [s]
    agree : bool
        True when they are less than two minutes apart.
    words : str
        What is wrong and the way out; empty when they agree.
    runs : int
        Runs whose times were moved when it was set; 0 when it was not.
    """

    house: datetime
    wall: datetime
    ahead_s: float
    agree: bool
    words: str
    runs: int = 0


def compare(clock: SteadyClock, zone: tzinfo, runs: int = 0) -> ClockCheck:
    """Return how the house's clock stands to the machine's.

    Parameters
    ----------
    clock : SteadyClock
        The house's clock.
    zone : tzinfo
        In which the sentence gives the times.
    runs : int
        Runs that were moved just now.
    """
    ahead, wall = clock.ahead(), clock.wall()
    house = wall + ahead
    words = ""
    if abs(ahead) >= FAR:
        words = " ".join((_apart(house, wall, ahead, zone), WAY_OUT))
    return ClockCheck(house, wall, ahead.total_seconds(), not words, words, runs)


def _apart(house: datetime, wall: datetime, ahead: timedelta, zone: tzinfo) -> str:
    side = "ahead of" if ahead > -ahead else "behind"
    span = span_words(abs(ahead.total_seconds()))
    return APART.format(
        house=house.astimezone(zone), wall=wall.astimezone(zone), span=span, side=side
    )


def must_agree(clock: SteadyClock, zone: tzinfo, right: str = "plan when the two agree") -> None:
    """Refuse to go on by a clock that is minutes off.

    Parameters
    ----------
    clock : SteadyClock
        The house's clock.
    zone : tzinfo
        In which the sentence gives the times.
    right : str
        What to do when the two agree again.

    Raises
    ------
    BadInput
        With the way out.
    """
    found = compare(clock, zone)
    if not found.agree:
        raise BadInput("clock", found.words.removesuffix("."), right)


def agreed_clock(book: Book) -> SteadyClock:
    """Return the clock for one entry from outside the bench, refused where it would be far ahead.

    Raises
    ------
    BadInput
        If the newest event of the book lies minutes ahead of the machine's clock.
    """
    clock = clock_for(book)
    must_agree(clock, UTC, "then enter it again")
    return clock


def entered_at(book: Book, where: str, folder: Path | None, at: datetime | None) -> datetime:
    """Return the time of an entry from outside the bench, UTC: now, or a time that was given.

    Parameters
    ----------
    book : Book
        The book, open.
    where : str
        The option that a time was given by.
    folder : Path or None
        Studio folder, whose zone counts for a time without an offset.
    at : datetime or None
        None for now, by the house's clock.

    Raises
    ------
    BadInput
        If the time lies in the future, or now cannot be told: as `agreed_clock`.
    """
    if at is None:
        return agreed_clock(book).now()
    return past_moment(where, folder, at, clock_for(book).now())


def book_clock(
    folder: Path | None, address: str | None = None, *, set_it: bool = False
) -> ClockCheck:
    """Compare the clock that a bench on this book would have with the machine's; set it if asked.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    address : str, optional
        Of a PostgreSQL book.
    set_it : bool
        True sets the clock by the machine's.
    """
    from argentry.keeping.book import studio_book

    with studio_book(folder, address, quick=False) as book:
        clock = clock_for(book)
        apart = not compare(clock, UTC).agree
        moved = set_clock(book, clock, "terminal") if set_it and apart else 0
        return compare(clock, zone_of(folder), moved)


def set_clock(book: Book, clock: SteadyClock, by: str) -> int:
    """Set the house's clock by the machine's, and say so in the log.

    What was written since the clock was made, and whatever lies ahead of the new time, was written
    by the wrong clock: its runs get an event that moves it, so that lengths stay and times come
    right.

    Parameters
    ----------
    book : Book
        The book.
    clock : SteadyClock
        Is set when the event is safe in the book.
    by : str
        Who says so.

    Returns
    -------
    int
        How many runs were moved.
    """
    with adding:
        by_how_much = -clock.ahead()
        now = clock.now() + by_how_much
        moved = runs_since(book, clock.since, now)
        body = {"by_us": round(by_how_much.total_seconds() * 1e6)}
        events = [
            Event(new_id(), run, "clock_set", now, body={**body, "after": first - 1}, device=by)
            for run, first in moved.items()
        ]
        told = {**body, "after": clock.since}
        events.append(Event(new_id(), HOUSE_RUN, "clock_set", now, body=told, device=by))
        append(book, events)
        clock.move(by_how_much)
    return len(moved)
