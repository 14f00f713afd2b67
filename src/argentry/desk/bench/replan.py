"""A new plan for a run whose plates are off the one that stands: when, what, and to whom said.

Working it out takes a second or two and writes nothing; what is said is looked at once more, with
what the hands did meanwhile.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from argentry.bench.off_plan import OffPlan, known_of, off_plan, told_of, what_changed
from argentry.bench.plan_rows import Row, plan_rows
from argentry.bench.state_json import iso
from argentry.bench.words import zone_of
from argentry.book.engine import Book
from argentry.book.log import append
from argentry.book.log import events as read_events
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.desk.bench.as_read import with_readings
from argentry.desk.bench.begin import HOUSE, more_plate
from argentry.desk.bench.run import open_runs, readings_of
from argentry.desk.bench.standing import known_by, left, standing, studio_of
from argentry.errors import ArgentryError, BadInput
from argentry.keeping.clock import SteadyClock, adding
from argentry.keeping.forecast.beside import refresh
from argentry.keeping.weather import read_weather
from argentry.records.again import AfterStep, PlanAgain, PlateStanding
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.run import PlateState, RunState
from argentry.records.studio import Studio
from argentry.records.weather import Outlook, Weather

FORECASTS = ("forecast.csv", "forecast.json")  # in the studio folder
NOT_PLANNED = "it was opened without a plan, or on another day, or it is over"
OPEN_ONE = "open one with --date"
# a plan whose steps begin nearer than this to those of the offer is the same
WAITS, TURNED_DOWN = timedelta(minutes=5), timedelta(minutes=30)
WORSE = 0.1  # of the chance that all are finished: then a plan turned down is news again


@dataclass(frozen=True)
class Considered:
    """How a run stood when a plan was last made that gave nothing to say.

    Attributes
    ----------
    offer : str
        Id of the last offer before.
    off : OffPlan
        How the plates stood.
    """

    offer: str
    off: OffPlan


def runs_to_plan(
    book: Book, folder: Path | None, clock: SteadyClock, considered: Mapping[str, Considered]
) -> Mapping[str, str]:
    """Return the open runs whose plates are so far off their plan that one is wanted, and why.

    Parameters
    ----------
    book, clock
        Of the house.
    folder : Path or None
        Studio folder, where a forecast may lie.
    considered : Mapping[str, Considered]
        By run, what was last found not worth a word.
    """
    wanted = {}
    for run in open_runs(book, clock):
        events = read_events(book, run)
        if not any(event.kind == "run_opened" and event.body.get("plan") for event in events):
            continue
        now = clock.now()
        if folder is not None:
            refresh(folder)
        state = fold(events, now=now)
        off = _off(state, folder, now)
        known = _known(events, state, folder, considered.get(run))
        # an older plan was taken late: the one that waits was made from another
        of_another = state.offer is not None and known.standing != state.standing
        why = () if off is None else what_changed(state, off, known)
        if why or (off is not None and of_another):
            wanted[run] = "; ".join(why)
    return wanted


def _off(state: RunState, folder: Path | None, now: datetime) -> OffPlan | None:
    """Return how a run is off its plan; None on another day than the plan's."""
    zone = zone_of(state)
    days = {s.plan.start.astimezone(zone).date() for p in state.plates for s in p.steps if s.plan}
    if now.astimezone(zone).date() not in days:
        return None
    return off_plan(state, _forecast_state(state, folder))


def _known(
    events: Sequence[Event], state: RunState, folder: Path | None, considered: Considered | None
) -> OffPlan:
    """Return what was known when a plan was last made."""
    last = _last_offer(events)
    offer = "" if last is None else last.id
    if considered is not None and considered.offer == offer:
        return considered.off
    if last is None:  # a forecast as old as the run is known already
        return OffPlan(forecast=_forecast_state(state, folder, before=state.opened))
    known = known_of(last.body.get("knows") or {})
    if last.id != state.standing:
        return known
    return replace(known, late_s=known_of(last.body.get("then") or {}).late_s, standing=last.id)


def forecast_file(state: RunState, folder: Path | None) -> Path | None:
    """Return the forecast of a run: the file it was opened with, else one in the studio folder."""
    opened_with = state.constants.get("forecast")
    named = [Path(opened_with)] if isinstance(opened_with, str) and opened_with else []
    if folder is not None:
        named += [folder / name for name in FORECASTS]
    return next((file for file in named if file.is_file()), None)


def _forecast_state(state: RunState, folder: Path | None, *, before: datetime | None = None) -> str:
    """Return what tells one state of the forecast from another; nothing for one that is newer."""
    file = forecast_file(state, folder)
    if file is None:
        return ""
    about = file.stat()
    if before is not None and about.st_mtime > before.timestamp():
        return ""
    return "{name} {at} {size}".format(name=file.name, at=about.st_mtime_ns, size=about.st_size)


def _last_offer(events: Sequence[Event]) -> Event | None:
    counted, _ = effective(events)
    return next((e for e in reversed(counted) if e.kind == "plan_offered"), None)


def plan_body(
    book: Book, studio: Studio, folder: Path | None, run: str, now: datetime, why: str | None = None
) -> Mapping[str, Any]:
    """Return what a new plan of a run says, as the body of its offer; writes nothing.

    This is the part that takes time, a second or two.

    Parameters
    ----------
    book : Book
        The book.
    studio : Studio
        As ``studio.toml`` has it.
    folder : Path or None
        Studio folder.
    run : str
        Id of the run.
    now : datetime
        UTC.
    why : str or None
        What asks for it, of `runs_to_plan`; None: what has changed since the last offer.

    Returns
    -------
    Mapping
        Body of ``plan_offered``; its ``lines`` are empty where nothing is worth telling.

    Raises
    ------
    BadInput
        If the run has no plan to be made again, or the day is over.
    """
    from argentry.day.again import plan_again
    from argentry.desk.numbers.kept import own_numbers
    from argentry.desk.numbers.makings import from_book

    events = known_by(read_events(book, run), now)
    state = fold(events, now=now)
    off = _off(state, folder, now)
    if off is None:
        raise BadInput("run", NOT_PLANNED, OPEN_ONE)
    known = _known(events, state, folder, None)
    how: dict[str, Any] = {
        "now": now,
        "learned": own_numbers(from_book(book, studio), book.folder, with_odds=False),
        "asked": int(state.constants.get("asked") or 0),
        # an offer of one more that cannot be kept goes with its reason
        "lost_now": bool(set(off.lost) - set(known.lost) or (state.offer and state.offer.more)),
    }
    today, plates = studio_of(studio, state), _plates(events, state)
    outlook = with_readings(
        Outlook(_weather(state, folder)), studio, readings_of(book, events, now), now
    )
    try:
        again = plan_again(today, plates, outlook=outlook, **how)
    except BadInput:
        if outlook.weather is None:
            raise  # else a forecast that does not cover the day
        outlook = replace(outlook, weather=None)
        again = plan_again(today, plates, outlook=outlook, **how)
    if why is None:
        why = "; ".join(what_changed(state, off, known))
    after = again.more_after and _after_told(again.more_after, state)
    more = {**_more(book, events, state, now), "after": after} if again.one_more else None
    return {**_body(state, again, off, why, outlook), "more": more}


def _after_told(after: AfterStep, state: RunState) -> Mapping[str, str]:
    """Return what a plate more waits for, as an offer says it: plates by their ids."""
    plate = state.plates[after.plate - 1].id
    return {"plate": plate, "step": after.step, "until": iso(after.until)}


def _plates(events: Sequence[Event], state: RunState) -> list[PlateStanding]:
    """Return where the plates stand, one that an offer brought with what that said it waits for."""
    offers = [event.body.get("more") or {} for event in events if event.kind == "plan_offered"]
    told = {more["id"]: more.get("after") for more in offers if more}
    numbers = {plate.id: number for number, plate in enumerate(state.plates, 1)}
    found = []
    for plate in state.plates:
        after, stands = told.get(plate.id), standing(state, plate)
        if after and after["plate"] in numbers:
            until = datetime.fromisoformat(after["until"])
            after_step = AfterStep(numbers[after["plate"]], after["step"], until)
            stands = replace(stands, after=after_step)
        found.append(stands)
    return found


def _more(book: Book, events: Sequence[Event], state: RunState, now: datetime) -> Mapping[str, Any]:
    """Return the plate more that an offer names: the one named last, unless it was taken."""
    last = _last_offer(events)
    named = None if last is None else last.body.get("more")
    if named and all(plate.id != named["id"] for plate in state.plates):
        return dict(named)
    more = more_plate(book, now.astimezone(zone_of(state)).date())
    return {"id": more.id, "label": more.label, "once": list(more.once)}


def plan_or_nothing(
    book: Book, studio: Studio, folder: Path | None, run: str, now: datetime, why: str | None = None
) -> Mapping[str, Any]:
    """Return the body of `plan_body`; one without lines where no plan can be made any more."""
    try:
        return plan_body(book, studio, folder, run, now, why)
    except BadInput:
        off = _off(fold(known_by(read_events(book, run), now), now=now), folder, now)
        return {} if off is None else {"plan": {}, "lines": [], "knows": told_of(off)}


def _weather(state: RunState, folder: Path | None) -> Weather | None:
    file = forecast_file(state, folder)
    try:
        return None if file is None else read_weather(file)
    except ArgentryError:  # a file in the making: the season's odds serve meanwhile
        return None


def _body(
    state: RunState, again: PlanAgain, off: OffPlan, why: str, outlook: Outlook
) -> Mapping[str, Any]:
    ids = [plate.id for plate in state.plates]
    read = "" if outlook.read is None else outlook.read.sentence
    credit = "" if outlook.weather is None else outlook.weather.credit  # asked for by its licence
    rows = plan_rows(again.plan, ids)
    return {
        "plan": {
            p.id: {**_before(p, rows[p.id]), **rows[p.id]} for p in state.plates if rows[p.id]
        },
        "lines": [*again.lines, *(line for line in (read, credit) if line and again.lines)],
        "moved": [[ids[number - 1], step] for number, step in again.moved if number],
        "left_out": [
            plate.id
            for number, plate in enumerate(state.plates, 1)
            if number in again.left_out or left(plate)
        ],
        "kept_share": None if again.kept_share is None else round(again.kept_share, 3),
        "share": None if again.share is None else round(again.share, 3),
        "why": why,
        "knows": told_of(off),
    }


def _before(plate: PlateState, rows: Mapping[str, Row]) -> dict[str, Row]:
    """Return times of what is still to be done once before the first step that a plan names."""
    ahead = itertools.takewhile(lambda step: step.key not in rows, plate.steps)
    waiting = [step for step in ahead if step.state in ("waiting", "ready")]
    first = next(iter(sorted(rows.values(), key=lambda row: str(row["start"]))))
    found: dict[str, Row] = {}
    for step in reversed(waiting):
        before = timedelta(seconds=step.planned_s)
        earlier = {
            key: iso(datetime.fromisoformat(text) - before) if (text := first[key]) else None
            for key in ("start", "latest")
        }
        first = {**earlier, "end": first["start"], "limit": "", "held": ""}
        found[step.key] = first
    return found


def say_plan(
    book: Book, folder: Path | None, run: str, body: Mapping[str, Any], clock: SteadyClock
) -> tuple[str, Considered | None]:
    """Offer a plan that was worked out, if the plates still stand as they stood then.

    Parameters
    ----------
    book, folder, run, clock
        As `plan_body`.
    body : Mapping
        Of `plan_body`.

    Returns
    -------
    said : str
        offered; withdrawn: the plan that waited no longer says anything; nothing; or overtaken:
        the hands did something meanwhile, it must be made again.
    considered : Considered or None
        What is to be remembered where nothing was written; None where the log says it.
    """
    with adding:
        events = read_events(book, run)
        now = clock.now()
        state = fold(events, now=now)
        off, knows = _off(state, folder, now), known_of(body["knows"])
        if off is None or off.standing != knows.standing or what_changed(state, off, knows):
            return "overtaken", None
        last = _last_offer(events)
        open_one = None if state.offer is None else last
        if body["lines"] and not _said_already(body, last, state):
            append(book, [_offer(events, run, body, folder, clock)])
            return "offered", None
        said = "nothing"
        if open_one is not None and not body["lines"]:
            gone = {"event": open_one.id, "withdrawn": True}
            append(book, [_own(run, "corrected", gone, clock)])
            events = read_events(book, run)
            state, last, said = fold(events, now=now), _last_offer(events), "withdrawn"
        return said, Considered("" if last is None else last.id, knows)


def _said_already(body: Mapping[str, Any], last: Event | None, state: RunState) -> bool:
    """Tell whether the last offer says the same: as it waits, or nearly so once turned down."""
    if last is None:
        return False
    lines, before = body["lines"], list(last.body.get("lines") or ())
    plan, other = body["plan"], last.body.get("plan") or {}
    if last.id == state.standing:
        return lines == before and _near(plan, other, WAITS)
    if last.id in state.turned_down:
        worse = float(last.body.get("share") or 0.0) - float(body.get("share") or 0.0)
        alike = _shape(lines) == _shape(before) and worse < WORSE
        return alike and _near(plan, other, TURNED_DOWN)
    return state.offer is not None and lines == before and _near(plan, other, WAITS)


def _shape(lines: Sequence[str]) -> list[str]:
    """Return lines without their figures: a few minutes more or less do not make them new."""
    return [re.sub(r"\d+", "#", line) for line in lines]


def _near(plan: Mapping[str, Any], other: Mapping[str, Any], least: timedelta) -> bool:
    """Tell whether a plan begins every step within some minutes of another."""

    def begins(rows: Mapping[str, Any]) -> dict[tuple[str, str], datetime]:
        return {
            (plate, key): datetime.fromisoformat(str(row["start"]))
            for plate, own in rows.items()
            for key, row in own.items()
        }

    one, two = begins(plan), begins(other)
    return one.keys() <= two.keys() and all(abs(at - two[key]) < least for key, at in one.items())


def _offer(
    events: Sequence[Event],
    run: str,
    body: Mapping[str, Any],
    folder: Path | None,
    clock: SteadyClock,
) -> Event:
    """Return an offer that also says how the plates would stand once it was taken."""
    offer = _own(run, "plan_offered", body, clock)
    taken = _own(run, "plan_taken", {"offer": offer.id}, clock)
    now = clock.now()
    then = _off(fold([*events, offer, taken], now=now), folder, now)
    return replace(offer, body={**body, "then": {} if then is None else told_of(then)})


def _own(run: str, kind: str, body: Mapping[str, Any], clock: SteadyClock) -> Event:
    return Event(new_id(), run, kind, clock.now(), None, None, body, HOUSE)
