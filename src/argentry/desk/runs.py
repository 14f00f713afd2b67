"""Runs as pages and the API ask for them: their events, what is added, and how one is opened."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from argentry.book.log import events, run_exists, runs
from argentry.book.log import last_seq as last
from argentry.book.pictures.judged import confirm
from argentry.book.runs.fold import fold
from argentry.desk.house import day_outlook, near_date, planned_day
from argentry.errors import BadInput
from argentry.records.event import Event
from argentry.records.plain import Time

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.desk.bench.replan import Considered
    from argentry.desk.house import House
    from argentry.desk.wishes import Wished
    from argentry.records.event import RunHead


def time_text(house: House) -> str:
    """Return the steady time as ISO 8601 with microseconds, UTC."""
    from argentry.bench.state_json import iso

    return iso(house.clock.now())


def last_seq(house: House) -> int:
    """Return the place of the last event in the log."""
    return last(house.book)


def has_run(house: House, run: str) -> bool:
    """Return True when the book holds this run."""
    return run_exists(house.book, run)


def events_after(house: House, run: str, seq: int) -> list[Mapping[str, Any]]:
    """Return the events of a run after a place in the log."""
    from argentry.bench.state_json import event_dict

    return [event_dict(event) for event in events(house.book, run, seq)]


def events_since(house: House, seq: int) -> list[Mapping[str, Any]]:
    """Return the events of all runs after a place in the log."""
    from argentry.bench.state_json import event_dict
    from argentry.book.log import events_after

    return [event_dict(event) for event in events_after(house.book, seq)]


@dataclass(frozen=True)
class RunEvents:
    """A run's events and the state they leave.

    Attributes
    ----------
    run : str
        Id of the run.
    seq : int
        Place of its last event in the log.
    server_now : str
        The house's time, UTC.
    events : tuple of Event
        In order.
    state : Mapping[str, Any]
        As `argentry.bench.state_json.state_dict` gives it.
    """

    run: str
    seq: int
    server_now: Time
    events: tuple[Event, ...]
    state: Mapping[str, Any]


def run_heads(house: House, limit: int = 200) -> list[RunHead]:
    """Return the runs, the one opened last first."""
    return runs(house.book, limit)


def run_answer(house: House, run: str) -> RunEvents | None:
    """Return a run's events and state, None when the book does not hold it."""
    from argentry.bench.state_json import iso, state_dict

    found = events(house.book, run)
    if not found:
        return None
    now = house.clock.now()
    return RunEvents(
        run=run,
        seq=max(event.seq for event in found),
        server_now=iso(now),
        events=tuple(found),
        state=state_dict(fold(found, now=now)),
    )


def add_events(
    house: House, run: str, incoming: list[dict[str, Any]], device: str
) -> Mapping[str, Any] | None:
    """Add events as a device reported them; None when the book does not hold the run.

    Parameters
    ----------
    house : House
        The open studio.
    run : str
        Id of the run.
    incoming : list of dict
        ``id``, ``kind``, ``plate``, ``step``, ``body``, ``age_s``, in the order they happened.
    device : str
        Who reports them.

    Returns
    -------
    dict or None
        ``stored``: id, seq, at, duplicate; ``refused``: id, why.
    """
    from argentry.bench.state_json import iso
    from argentry.desk.bench.run import add_events as add

    try:
        added = add(house.book, house.taught, run, incoming, device, house.clock)
    except BadInput:
        if run_exists(house.book, run):
            raise
        return None
    _confirm_looks(house, run, incoming, {one.id for one in added.stored if not one.duplicate})
    return {
        "stored": [
            {"id": one.id, "seq": one.seq, "at": iso(one.at), "duplicate": one.duplicate}
            for one in added.stored
        ],
        "refused": [{"id": one.id, "why": one.why} for one in added.refused],
    }


def _confirm_looks(
    house: House, run: str, incoming: list[dict[str, Any]], stored: set[str]
) -> None:
    """Add the maker's word to what was read out of pictures, or take it back with its event.

    The log has it already; of what was refused the form is not known to be sound.
    """
    now, known = house.clock.now(), None
    for one in incoming:
        if one.get("id") not in stored:
            continue
        body, plate = one.get("body") or {}, one.get("plate")
        when: datetime | None = now
        if one.get("kind") == "corrected" and body.get("withdrawn"):
            known = known or {event.id: event for event in events(house.book, run)}
            gone = known[body["event"]]
            body, plate, when = gone.body, gone.plate, None
        picture, kind = None, "coat"
        if (seen := body.get("seen")) and body.get("answer") == "right":
            picture = seen["picture"]
        elif body.get("log_sd"):  # of ripe_seen alone
            picture, kind = body["picture"], "ripening"
        if picture and plate:
            with suppress(BadInput):  # a picture that this book does not hold says nothing
                confirm(house.book, plate, picture, kind, when)


def say_advice(house: House, run: str, bodies: Mapping[str, Mapping[str, Any]]) -> tuple[int, bool]:
    """Write down advice that was worked out for a run, and what was not followed.

    Returns
    -------
    count : int
        How many events that gave.
    wanted : bool
        Whether a plate stands at a checkpoint still without advice.
    """
    from argentry.desk.bench.advice import say_advice as say

    stored, wanted = say(house.book, house.studio, run, bodies, house.clock)
    return len(stored), wanted


def runs_to_plan(house: House, considered: Mapping[str, Considered]) -> Mapping[str, str]:
    """Return the open runs that want a new plan, as `argentry.desk.bench.replan` says."""
    from argentry.desk.bench.replan import runs_to_plan as wanted

    return wanted(house.book, house.studio_dir, house.clock, considered)


def say_plan(house: House, run: str, body: Mapping[str, Any]) -> tuple[str, Considered | None]:
    """Offer a plan that was worked out, as `argentry.desk.bench.replan.say_plan`."""
    from argentry.desk.bench.replan import say_plan as say

    return say(house.book, house.studio_dir, run, body, house.clock)


def open_plain_run(house: House, labels: list[str], title: str | None, device: str) -> str:
    """Open a run with these plates, with the lengths of this moment; return its id.

    Raises
    ------
    BadInput
        If no plates are named, one twice, or too many.
    """
    from argentry.desk.bench.run import open_run

    return open_run(house.book, house.taught, labels, clock=house.clock, title=title, device=device)


def open_planned_run(
    house: House,
    day: str,
    plates: int | None,
    labels: list[str] | None,
    title: str | None,
    device: str,
    wished: Wished | None = None,
) -> str:
    """Plan a day, open a run with it and return its id. Takes some seconds.

    Parameters
    ----------
    house : House
        The open studio.
    day : str
        ``2026-06-21``, ``today`` or ``tomorrow``, in the studio's zone.
    plates : int or None
        How many are wanted; None: the most that are all finished on four days in five.
    labels : list of str or None
        Their labels; None: new ones from the date.
    title, device : str
        Name of the run, who opened it.
    wished : Mapping, optional
        What is asked of this day alone, in the words of `argentry.desk.wishes`.

    Raises
    ------
    BadInput
        If the date cannot be read or the day holds no plates.
    """
    from argentry.desk.bench.run import open_run
    from argentry.keeping.forecast.outlook import kept_path

    outlook = day_outlook(house, near_date(house, day))
    plan = planned_day(house, day, plates, wished, outlook)
    return open_run(
        house.book,
        house.taught,
        labels,
        clock=house.clock,
        plan=plan,
        title=title,
        device=device,
        forecast=kept_path(house.studio_dir, outlook),
    )
