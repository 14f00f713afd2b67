"""What the pages and the API ask of the studio: one studio, one open book, one steady clock.

Thin on purpose: each function joins the book and the bench and answers JSON-ready values.
"""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003 - the API reads it at run time
from contextlib import suppress
from dataclasses import dataclass
from datetime import date as date_type
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from argentry.desk.house_clock import clock_for, must_agree
from argentry.desk.sensors.intake import Sensors
from argentry.errors import BadInput
from argentry.records.event import Event  # noqa: TC001 - the API reads it at run time
from argentry.records.plain import Time  # noqa: TC001 - the API reads it at run time

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.desk.bench.replan import Considered
    from argentry.desk.clock import SteadyClock
    from argentry.desk.wishes import Wished
    from argentry.records.day import DayPlan
    from argentry.records.event import RunHead
    from argentry.records.needs import StudioNow
    from argentry.records.studio import Studio
    from argentry.records.weather import Outlook

FARTHEST_DAYS = 731  # a plan farther off is a slip of the pen


@dataclass
class Live:
    """What the plates of an open studio have taught: the newest result that is finished.

    Attributes
    ----------
    now : StudioNow
        The studio with its own numbers.
    book : tuple of int
        How far the book was then, see `book_so_far`.
    """

    now: StudioNow
    book: tuple[int, ...]


@dataclass(eq=False)
class House:
    """A studio that is open.

    Attributes
    ----------
    studio_dir : Path
        Its folder.
    studio : Studio
        Its values; others after `take_studio`.
    book : Book
        Its open book.
    clock : SteadyClock
        Never jumps, never goes back.
    sensors : Sensors
        What the sensors said last.
    live : Live
        What its plates have taught, kept fresh while it is open.
    """

    studio_dir: Path
    studio: Studio
    book: Book
    clock: SteadyClock
    sensors: Sensors
    live: Live

    @property
    def zone(self) -> ZoneInfo:
        """The studio's time zone."""
        return ZoneInfo(self.studio.site.time_zone)

    @property
    def taught(self) -> Studio:
        """The studio as its plates have taught it by now: for the lengths at the bench."""
        return self.live.now.studio or self.studio


def open_house(studio_dir: Path, book: Book) -> House:
    """Return the open studio, its clock set after the last event of the book.

    Raises
    ------
    BadInput
        If the studio cannot be read.
    """
    from argentry.book.makings import what_teaches
    from argentry.desk.numbers.studio_numbers import studio_of_book
    from argentry.desk.studio import load_studio

    clock = clock_for(book)
    studio = load_studio(studio_dir)
    so_far = what_teaches(book)
    live = Live(studio_of_book(book, studio), so_far)
    return House(studio_dir, studio, book, clock, Sensors(book), live)


def take_studio(house: House) -> None:
    """Go by the studio file as it is now: it was changed while the studio is open.

    Raises
    ------
    BadInput
        If it cannot be read; the studio stays as it was.
    """
    from argentry.book.makings import what_teaches
    from argentry.desk.numbers.studio_numbers import studio_of_book
    from argentry.desk.studio import load_studio

    studio = load_studio(house.studio_dir)
    so_far = what_teaches(house.book)
    house.studio, house.live.now, house.live.book = (
        studio,
        studio_of_book(house.book, studio),
        so_far,
    )


def book_so_far(house: House) -> tuple[int, ...]:
    """Return numbers that are others whenever the book may teach something else."""
    from argentry.book.makings import what_teaches

    return what_teaches(house.book)


def plates_to_keep(house: House) -> bool:
    """Return True when causes and odds of single plates are kept of another state of the book."""
    from argentry.desk.learning.kept_plates import is_fresh, kept_plates

    return not is_fresh(house.book, kept_plates(house.studio_dir))


def take_numbers(house: House, said: Mapping[str, Any]) -> bool:
    """Take numbers that were worked out elsewhere; the steps of open runs follow them.

    Parameters
    ----------
    house : House
        The open studio.
    said : Mapping
        Of `argentry.desk.numbers.kept.plain_numbers`.

    Returns
    -------
    bool
        True when they are others than before.
    """
    from argentry.desk.bench.run import refresh_learned
    from argentry.desk.numbers.kept import numbers_of
    from argentry.needs.numbers import studio_now

    now = studio_now(house.studio, numbers_of(said))
    if now == house.live.now:
        return False
    house.live.now = now
    refresh_learned(house.book, house.taught, house.clock)
    return True


def time_text(house: House) -> str:
    """Return the steady time as ISO 8601 with microseconds, UTC."""
    from argentry.bench.state_json import iso

    return iso(house.clock.now())


def last_seq(house: House) -> int:
    """Return the place of the last event in the log."""
    from argentry.book.log import last_seq as last

    return last(house.book)


def has_run(house: House, run: str) -> bool:
    """Return True when the book holds this run."""
    from argentry.book.log import run_exists

    return run_exists(house.book, run)


def events_after(house: House, run: str, seq: int) -> list[Mapping[str, Any]]:
    """Return the events of a run after a place in the log."""
    from argentry.bench.state_json import event_dict
    from argentry.book.log import events

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
    from argentry.book.log import runs

    return runs(house.book, limit)


def run_answer(house: House, run: str) -> RunEvents | None:
    """Return a run's events and state, None when the book does not hold it."""
    from argentry.bench.state_json import iso, state_dict
    from argentry.book.log import events
    from argentry.book.runs.fold import fold

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
    from argentry.book.log import run_exists
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
    from argentry.book.log import events
    from argentry.book.pictures.judged import confirm

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
    from argentry.desk.forecast.outlook import kept_path

    outlook = _outlook(house, near_date(house, day))
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


def near_date(house: House, day: str) -> date_type:
    """Return a day that can be planned: a date, ``today`` or ``tomorrow`` in the studio's zone.

    Raises
    ------
    BadInput
        If the date cannot be read, or lies more than two years off, or the house's clock is wrong.
    """
    must_agree(house.clock, house.zone)
    today = house.clock.now().astimezone(house.zone).date()
    near = {"today": today, "tomorrow": today + timedelta(days=1)}
    try:
        date = near[day] if day in near else date_type.fromisoformat(day)
    except ValueError:
        date = None
    if date is None or abs((date - today).days) > FARTHEST_DAYS:
        raise BadInput(
            "date",
            "{day!r} is not a day that can be planned",
            "give one like 2026-06-21, within two years, or today or tomorrow",
            day=day[:20],
        )
    return date


def _outlook(house: House, day: date_type) -> Outlook:
    """Return the weather of a day by the studio file as it is now: its maker may have agreed."""
    from argentry.desk.bench.as_read import outlook_now
    from argentry.desk.forecast.outlook import outlook_of
    from argentry.desk.studio import load_studio

    studio, now = load_studio(house.studio_dir), house.clock.now()
    return outlook_now(house.book, outlook_of(house.studio_dir, studio, day, now), studio, day, now)


def planned_day(
    house: House,
    day: str,
    plates: int | None,
    wished: Wished | None = None,
    outlook: Outlook | None = None,
) -> DayPlan:
    """Return the plan of a day. Takes some seconds.

    Raises
    ------
    BadInput
        As `near_date`, or for a wish that is impossible.
    """
    from argentry.desk.numbers.kept import own_numbers
    from argentry.desk.numbers.makings import from_book
    from argentry.desk.stock.before_day import with_materials
    from argentry.desk.wishes import plan_day, read_wishes

    learned = own_numbers(from_book(house.book, house.studio), house.studio_dir)
    date, now = near_date(house, day), house.clock.now()
    wishes, outlook = read_wishes(wished or {}), outlook or _outlook(house, date)
    plan = plan_day(
        house.studio, date, wishes, plates=plates, learned=learned, now=now, outlook=outlook
    )
    return with_materials(plan, house.studio_dir, None, now, house.book)


def book_address(house: House) -> str | None:
    """Return the whole address of a PostgreSQL book, None for a file in the studio folder."""
    if house.book.kind == "sqlite":
        return None
    return str(house.book.engine.url.render_as_string(hide_password=False))


def book_of_studio(studio_dir: Path, url: str | None) -> Book:
    """Open the book of a studio: the file in its folder, or the one at an address.

    Raises
    ------
    ArgentryError
        If it cannot be opened.
    """
    from argentry.book.open import open_book

    return open_book(studio_dir) if url is None else open_book(url, folder=studio_dir)
