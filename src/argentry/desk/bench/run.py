"""The live run: open one, add what happens, ask how it stands.

Screens know nothing of rules: they send what a hand did and show what comes back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from argentry import trade
from argentry.bench import reactions as bench_react
from argentry.bench.event_check import Incoming, check_body, read_incoming
from argentry.bench.hands import Hands, hands_next
from argentry.bench.state_json import event_dict, state_dict
from argentry.bench.words import happened
from argentry.book.engine import Book
from argentry.book.log import Stored, append
from argentry.book.log import events as read_events
from argentry.book.log import known as logged
from argentry.book.log import open_runs as open_heads
from argentry.book.readings import series
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.desk.bench.begin import HOUSE, label_of, open_run, own_event
from argentry.desk.bench.standing import studio_of
from argentry.errors import BadInput
from argentry.keeping.clock import SteadyClock, adding
from argentry.keeping.house_clock import clock_for
from argentry.keeping.sensors.intake import usable
from argentry.records.day import MOST_PLATES
from argentry.records.event import KINDS, Event
from argentry.records.ids import is_id
from argentry.records.plate import Reading
from argentry.records.run import RunReading, RunState
from argentry.records.run_step import StepState
from argentry.records.studio import Studio
from argentry.trade.readings import AIR_LAWS, LIGHT_LAWS, measured_for

__all__ = [
    "HOUSE",
    "Added",
    "Hands",
    "Refused",
    "add_events",
    "clock_for",
    "event_dict",
    "hands_next",
    "last_of_device",
    "open_run",
    "open_runs",
    "refresh",
    "refresh_open",
    "state",
    "state_dict",
]

NO_RUN = "there is no run {run!r}"
FULL = "{most} plates are the most of one run"
OTHER_RUN = "{id} belongs to an event of another run"
ANSWERED = "it was answered {answer} already"
SHOW_FIRST = "show them first: {cautions}"
LEFT_OPEN = "by this press it would have taken {hours:.0f} h"
SAY_WHEN = "say under More when it ended"
# kept in its own unit, and with a label that no other plate has
KEPT_OTHERWISE = ("reading_taken", "plate_added")
# After these the house looks again at the lengths of steps.
HEARD = (
    "step_begun", "step_ended", "step_skipped", "step_redone", "reading_taken", "paused", "resumed",
    "corrected", "plate_added", "ripe_seen",
)  # fmt: skip


@dataclass(frozen=True)
class Refused:
    """An event that was not taken.

    Attributes
    ----------
    id : str
        As sent.
    why : str
        One sentence.
    """

    id: str
    why: str


@dataclass(frozen=True)
class Added:
    """What became of the events sent.

    Attributes
    ----------
    stored : tuple of Stored
        Those that are in the book for good, in the order sent.
    refused : tuple of Refused
        The others.
    """

    stored: tuple[Stored, ...]
    refused: tuple[Refused, ...]


def state(book: Book, run: str, now: datetime | None = None) -> RunState:
    """Return how a run stands.

    Raises
    ------
    BadInput
        If the book holds no such run.
    """
    return fold(_events(book, run), now=now)


def _events(book: Book, run: str) -> list[Event]:
    events = read_events(book, run)
    if not events:
        raise BadInput("run", NO_RUN, "list the runs of this book", run=run)
    return events


def add_events(
    book: Book,
    studio: Studio,
    run: str,
    incoming: Sequence[Mapping[str, Any]],
    device: str,
    clock: SteadyClock,
) -> Added:
    """Add what a device reports, and what follows from it, in one go.

    An event that comes as it happens must fit: a step begins only in its turn and after its
    cautions were shown. One that comes late (`age_s`) is taken as it is; where it does not fit the
    state says so. An event sent again is answered as a duplicate.

    Parameters
    ----------
    book : Book
        The book.
    studio : Studio
        For the lengths that follow from readings and light.
    run : str
        Id of the run.
    incoming : sequence of mapping
        Each ``id``, ``kind``, ``plate``, ``step``, ``body``, ``age_s``.
    device : str
        Who reports.
    clock : SteadyClock
        The house's clock.

    Returns
    -------
    Added
        After they are safe in the book.

    Raises
    ------
    BadInput
        If there is no such run.
    ArgentryError
        If the book cannot be written; nothing was stored then.
    """
    with adding:
        there = _events(book, run)
        known = {event.id: event for event in there}
        elsewhere = logged(book, [str(given.get("id")) for given in incoming])
        # its plates, steps and cautions stay as it was opened
        listed = fold(event for event in there if event.kind == "run_opened")
        fresh: list[Event] = []
        refused: list[Refused] = []
        answers: dict[str, Stored | None] = {}  # in the order sent; None until it is stored
        for given in incoming:
            try:
                read = read_incoming(given)
                if read.id in known:
                    answers.setdefault(read.id, _resent(read, known[read.id]))
                    continue
                _must_be_new(read, elsewhere)
                event = _stamped(read, device, clock.now(), listed, known)
                if read.age_s <= trade.value("bench", "late_after"):
                    _must_fit(event, [*there, *fresh])
                if event.kind == "plate_added":
                    label = label_of(book, studio, event)
                    event = replace(event, body={**event.body, "label": label})
            except BadInput as error:
                refused.append(Refused(str(given.get("id")), str(error)))
                continue
            fresh.append(event)
            known[event.id] = event
            answers[event.id] = None
        follows: list[Event] = []
        if any(event.kind in HEARD for event in fresh):
            light = any(_tells_light(event, known) for event in fresh)
            follows = _follow(book, studio, run, [*there, *fresh], clock, light_is_new=light)
        stored = {one.id: one for one in append(book, [*fresh, *follows])}
    told = (stored.get(key) or was for key, was in answers.items())
    return Added(tuple(one for one in told if one is not None), tuple(refused))


def _must_be_new(read: Incoming, elsewhere: Mapping[str, Event]) -> None:
    if read.id in elsewhere:
        raise BadInput("id", OTHER_RUN, "make a new one", id=read.id)


def _stamped(
    read: Incoming, device: str, now: datetime, listed: RunState, known: Mapping[str, Event]
) -> Event:
    at = now - timedelta(seconds=read.age_s)
    body = check_body(read.kind, read.body, listed, known, now)
    added = {event.plate for event in known.values() if event.kind == "plate_added"}
    there = {plate.id for plate in listed.plates} | added
    if read.kind == "plate_added":
        if not is_id(read.plate):
            raise BadInput("plate", "it must be a UUID version 7", "give that of the offer")
    elif read.plate is not None and read.plate not in there:
        raise BadInput("plate", "there is no such plate in this run", "give the id of one")
    if read.step is not None and all(s.key != read.step for s in listed.steps):
        raise BadInput("step", "there is no such step in this run", "give the key of one")
    return Event(read.id, listed.run, read.kind, at, read.plate, read.step, body, device)


def _resent(read: Incoming, stored: Event) -> Stored:
    """Answer a resend; the same id with another content is refused."""
    same = (read.kind, read.plate, read.step) == (stored.kind, stored.plate, stored.step)
    kept = read.kind in KEPT_OTHERWISE or _same_body(read.body, stored.body)
    if not (same and kept):
        raise BadInput(
            "event {id}".format(id=read.id),
            "this id is in the log with another content",
            "make a new id",
        )
    return Stored(stored.id, stored.seq, stored.at, duplicate=True)


def _same_body(sent: Mapping[str, Any], stored: Mapping[str, Any]) -> bool:
    """Compare what was sent with what is kept; a correction's time is kept in one form."""
    if set(sent) - {"at", "body"} != set(stored) - {"at", "body"}:
        return False
    return all(sent[key] == stored[key] for key in sent if key not in ("at", "body"))


def _must_fit(event: Event, events: list[Event]) -> None:
    if event.kind == "check_answered":
        _must_be_asked(event, events)
    run_state = fold([*events, event], now=event.at)
    odd = next((one for one in run_state.odd if one.event == event.id), None)
    titles = (step.title for step in run_state.steps if step.key == event.step)
    what = next(titles, happened(event.kind).capitalize())
    if odd is not None and odd.counted and event.step is not None:
        then = fold([one for one in events if one.at < event.at])  # later ones may show them
        due = " / ".join(c.text.rstrip(".") for c in then.cautions_due(event.step))
        raise BadInput(what, "its cautions were not shown", SHOW_FIRST, cautions=due)
    if odd is not None:
        raise BadInput(what, odd.why, "look at the run as it stands")
    if event.kind == "plate_added" and len(run_state.plates) > MOST_PLATES:
        raise BadInput("plate", FULL, "open another run for it", most=MOST_PLATES)
    if event.kind == "step_ended" and event.plate is not None:
        _must_be_of_today(what, run_state.plate(event.plate).step(str(event.step)))
    if event.kind != "step_begun" or event.plate is None:
        return
    if run_state.state == "paused" or run_state.plate(event.plate).paused:
        raise BadInput(what, "the clock is stopped", "go on first")


def _must_be_of_today(what: str, step: StepState) -> None:
    """Refuse a step that nobody ended in time: its length would be learned from."""
    hours = step.elapsed_s / 3600.0
    if hours > trade.value("bench", "longest_step"):
        raise BadInput(what, LEFT_OPEN, SAY_WHEN, hours=hours)


def _must_be_asked(event: Event, events: list[Event]) -> None:
    """Refuse a second answer to a check: of two hands that answer at once the later would count.

    One that was given in between, by a device that was cut off, stands as it came.
    """
    when = event.body.get("when") or "after"
    minutes = event.body.get("at_minutes") if when == "during" else None
    run_state = fold(events, now=event.at)
    plate = next((one for one in run_state.plates if one.id == event.plate), None)
    for step in () if plate is None else plate.steps:
        for one in step.answers if step.key == event.step else ():
            if (one.when, one.at_minutes) == (when, minutes) and one.at <= event.at:
                title = run_state.step(step.key).title
                raise BadInput(title, ANSWERED, "look at the run as it stands", answer=one.answer)


def _tells_light(event: Event, known: Mapping[str, Event]) -> bool:
    about = known.get(str(event.body.get("event"))) if event.kind == "corrected" else event
    return (
        about is not None
        and about.kind == "reading_taken"
        and about.body.get("what") in measured_for(*LIGHT_LAWS)
    )


def refresh(book: Book, studio: Studio, run: str, clock: SteadyClock) -> list[Stored]:
    """Look again at the lengths of a run's steps, after a sensor said something.

    Returns
    -------
    list of Stored
        The changes written; empty when nothing changed.
    """
    with adding:
        apart = trade.value("bench", "sensor_every")
        there = _events(book, run)
        follows = _follow(book, studio, run, there, clock, light_is_new=True, apart_s=apart)
        return append(book, follows)


def refresh_learned(book: Book, studio: Studio, clock: SteadyClock) -> list[Stored]:
    """Let what the plates have newly taught tell on every run that is open.

    Parameters
    ----------
    book, studio, clock
        As in `add_events`; the studio with its own numbers.
    """
    stored = []
    for run in open_runs(book, clock):
        with adding:
            there = _events(book, run)
            follows = _follow(
                book, studio, run, there, clock, light_is_new=True, learned_is_new=True
            )
            stored += append(book, follows)
    return stored


def open_runs(book: Book, clock: SteadyClock) -> list[str]:
    """Return the ids of the runs that go on: opened in the last days and not closed."""
    return [one.run for one in open_heads(book, clock.now())]


def refresh_open(book: Book, studio: Studio, clock: SteadyClock, what: str) -> list[Stored]:
    """Let a new sensor reading of a quantity tell on every run that is open.

    Parameters
    ----------
    book, studio, clock
        As in `add_events`.
    what : str
        Quantity read; one that no length depends on does nothing.
    """
    if what not in measured_for(*AIR_LAWS, *LIGHT_LAWS):
        return []
    going = open_runs(book, clock)
    return [stored for run in going for stored in refresh(book, studio, run, clock)]


def _follow(
    book: Book,
    studio: Studio,
    run: str,
    events: list[Event],
    clock: SteadyClock,
    *,
    light_is_new: bool,
    learned_is_new: bool = False,
    apart_s: float = 0.0,
) -> list[Event]:
    now = clock.now()
    run_state = fold(events, now=now)
    readings = readings_of(book, events, now)
    found = bench_react.changes(
        studio_of(studio, run_state),
        run_state,
        readings,
        now,
        light_is_new=light_is_new,
        learned_is_new=learned_is_new,
        apart_s=apart_s,
    )
    return [own_event(run, "duration_changed", clock, c.plate, c.step, c.body) for c in found]


def readings_of(book: Book, events: Sequence[Event], now: datetime) -> list[RunReading]:
    """Return what people said in the run and what sensors last said, in order of time."""
    counted, _ = effective(events)
    said = said_in(events, *AIR_LAWS, *LIGHT_LAWS)
    sensed = [one for what in measured_for(*AIR_LAWS) if (one := usable(book, what, now))]
    opened = next((e.at for e in counted if e.kind == "run_opened"), now)
    said += map(of_run, sensed)
    return sorted([*said, *light_sensed(book, opened, now)], key=lambda one: one.at)


def said_in(events: Sequence[Event], *laws: str) -> list[RunReading]:
    """Return what people said in a run of quantities that feed these laws."""
    counted, _ = effective(events)
    return [
        RunReading(
            str(e.body["what"]), float(e.body["value"]), str(e.body.get("unit") or ""), e.device,
            e.at, e.plate, e.step,
        )
        for e in counted
        if e.kind == "reading_taken" and e.body.get("what") in measured_for(*laws)
    ]  # fmt: skip


def of_run(read: Reading) -> RunReading:
    """Return a reading of the book as one of a run."""
    return RunReading(read.what, read.value, read.unit, read.source, read.at, read.plate)


def light_sensed(book: Book, start: datetime, now: datetime) -> list[RunReading]:
    """Return what sensors, and hands at no run, read of light: all of it, a minute apart."""
    minutes = {  # of light the dose so far wants every one
        (r.what, int(r.at.timestamp() // 60)): r
        for r in series(book, measured_for(*LIGHT_LAWS), start, now, trusted=True)
    }
    return list(map(of_run, minutes.values()))


def last_of_device(events: Sequence[Event], device: str) -> Event | None:
    """Return the last event that a device may take back: not withdrawn, done by a hand."""
    counted, _ = effective(events)
    own = [e for e in counted if e.device == device and KINDS[e.kind].undone]
    return max(own, key=lambda e: (e.seq or float("inf"), e.id), default=None)
