"""The day as a calendar file: one event for each piece of work, one for each plate left to ripen.

Times carry the studio's zone with its rules, so that a phone in another zone, or a day on which the
clocks change, shows the right moment. A wall-clock time that happens twice (clocks going back) is
written in UTC, since RFC 5545 can only name its first occurrence.

References
----------
.. [1] RFC 5545, Internet Calendaring and Scheduling, sections 3.3.5, 3.6.1, 3.6.5, 3.6.6, 3.8.1.11,
   3.8.7.4. A file without METHOD is a snapshot (3.7.2); PUBLISH would need an organizer.
.. [2] RFC 5546, iTIP, sections 2.1.4 and 3.2.1.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

from argentry.out.day.blocks import (
    Block,
    begins,
    blocks,
    from_to,
    is_exposure,
    latest_words,
    ripe,
    short_name,
)
from argentry.out.wording import clock, clock_range, length_range, minutes_between
from argentry.records.day import DayPlan, PlannedStep
from argentry.records.units import told

# A reminder comes this long before the latest safe start. [min]
LEAD_MINUTES = 10.0
SITTING = "{title}, {name}"
A_SITTER = "a sitter"
SITS = "{name} is asked for {time}."
CANCELLED = "CANCELLED"


def to_ics(plan: DayPlan, stamp: datetime | None = None, before: bytes = b"") -> bytes:
    """Return the day as an iCalendar file.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    stamp : datetime or None
        When the file is made; None: now. The same event keeps its identity from one plan of the day
        to the next, and the later stamp replaces the earlier.
    before : bytes
        The file that this one stands in for. Events of the same day that the plan no longer holds
        are cancelled in the new file, or they would stay in a calendar that has read the old one.

    Returns
    -------
    bytes
        The file, with the rules of the studio's zone inside.
    """
    from icalendar import Calendar

    made = (stamp or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    calendar = Calendar()
    calendar.add("prodid", "-//argentry//day sheet//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{plan.studio}, {plan.date:%Y-%m-%d}")
    known = _known(plan, before)
    for event in _events(plan, made):
        event.add("sequence", _sequence(known.pop(str(event["uid"]), None), event))
        calendar.add_component(event)
    for gone in known.values():
        calendar.add_component(_cancelled(gone, made))
    calendar.add_missing_timezones()
    return bytes(calendar.to_ical())


def _events(plan: DayPlan, made: datetime) -> Iterator[Any]:
    for block in blocks(plan):
        if block.hands:
            yield _work(plan, block, made)
        if block.wait is not None:
            yield _wait(plan, block.wait, made)


def _known(plan: DayPlan, before: bytes) -> dict[str, Any]:
    """Return the events of a file that are of this day and studio, by identity."""
    from icalendar import Calendar

    head, place = _of_day(plan)
    try:
        found = [one for one in Calendar.from_ical(before).walk("VEVENT") if one.get("uid")]
        ours = {str(one["uid"]): one for one in found}
        return {
            uid: one
            for uid, one in ours.items()
            if uid.startswith(head) and uid.endswith(place) and one["dtstart"].dt < one["dtend"].dt
        }
    except (ValueError, KeyError, TypeError, AttributeError):  # another's file, or not a calendar
        return {}


def _sequence(old: Any, event: Any) -> int:
    """Return the revision: one more than before where the time is another, or it was cancelled."""
    if old is None:
        return 0
    same = all(old[name].dt == event[name].dt for name in ("dtstart", "dtend"))
    return int(old.get("sequence", 0)) + (not same or str(old.get("status")) == CANCELLED)


def _cancelled(old: Any, made: datetime) -> Any:
    """Return an event of before as one that is off."""
    from icalendar import Event

    if str(old.get("status")) == CANCELLED:
        return old
    event = Event()
    for name in ("uid", "dtstart", "dtend", "summary", "location"):
        if name in old:
            event.add(name, old[name])
    event.add("dtstamp", made)
    event.add("sequence", int(old.get("sequence", 0)) + 1)
    event.add("status", CANCELLED)
    return event


def _work(plan: DayPlan, block: Block, made: datetime) -> Any:
    """Return the event of a piece of work, with two reminders."""
    lines = [
        latest_words(block.steps[0]),
        "Planned start on 80 % of days: {range}.".format(range=begins(plan, block)),
    ]
    for step in block.hands:
        middle, span = length_range(step.minutes)
        lines.append(f"{step.title}: {middle}{f' ({span})' if span else ''}. {step.look_for}")
        lines += [f"Caution: {caution}" for caution in step.cautions]
    title = from_to(block.hands)
    for sitter in plan.appointments:
        if sitter.plate == block.plate and any(is_exposure(step) for step in block.hands):
            time = clock(sitter.time)
            name = sitter.name or A_SITTER
            lines.insert(0, SITS.format(name=name, time=time))
            title = SITTING.format(title=title, name=name)
    event = _event(plan, block.hands[0], made, block.end, f"{_plate(block.plate)}: {title}", lines)
    _remind(
        event, -5.0, "{plate}: {title} in 5 minutes".format(plate=_plate(block.plate), title=title)
    )
    if block.float_minutes > LEAD_MINUTES:
        _remind(
            event,
            block.float_minutes - LEAD_MINUTES,
            "{plate}: begin {title} by {latest_start}".format(
                plate=_plate(block.plate), title=title, latest_start=block.begin_by
            ),
        )
    return event


def _wait(plan: DayPlan, step: PlannedStep, made: datetime) -> Any:
    """Return the event of a plate that waits, with a reminder when it may be ripe."""
    early, middle, late = ripe(step)
    lines = [
        "No hands. Done about {middle}, on 80 % of days {early}.".format(
            middle=clock(middle and step.end), early=clock_range(early, late)
        ),
        *(["Veiled after {veiled}.".format(veiled=clock(step.veiled))] if step.veiled else []),
        step.look_for,
        step.check,
        *(f"Caution: {caution}" for caution in step.cautions),
    ]
    title = "{plate}: {step} (no hands)".format(plate=_plate(step.plate), step=short_name(step))
    event = _event(plan, step, made, step.end, title, lines)
    event.add("transp", "TRANSPARENT")
    if early is not None:
        _remind(
            event,
            minutes_between(step.start, early),
            "{plate} may be ripe".format(plate=_plate(step.plate)),
        )
    return event


def _event(
    plan: DayPlan,
    first: PlannedStep,
    made: datetime,
    end: datetime,
    title: str,
    lines: list[str],
) -> Any:
    from icalendar import Event

    event = Event()
    event.add("uid", _identity(plan, first))
    event.add("dtstamp", made)
    start = first.start
    if _twice(start) or _twice(end):
        start, end = start.astimezone(UTC), end.astimezone(UTC)
    event.add("dtstart", start.replace(microsecond=0))
    event.add("dtend", end.replace(microsecond=0))
    event.add("summary", title)
    event.add("location", plan.place)
    event.add("description", told("\n".join(line for line in lines if line), plan.units))
    mark = ["INVENTED"] if plan.invented else []
    event.add("categories", ["argentry", *mark])
    return event


def _remind(event: Any, minutes: float, words: str) -> None:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", words)
    alarm.add("trigger", timedelta(minutes=round(minutes)))
    event.add_component(alarm)


def _identity(plan: DayPlan, step: PlannedStep) -> str:
    """Return an identity that a new plan of the same day at the same studio gives again."""
    head, place = _of_day(plan)
    return f"{head}{step.plate}-{step.step}{place}"


def _of_day(plan: DayPlan) -> tuple[str, str]:
    """Return how the identities of a day at a studio begin and end."""
    place = sha256(f"{plan.studio}\n{plan.place}".encode()).hexdigest()[:12]
    return f"{plan.date:%Y%m%d}-plate-", f"-{place}@argentry"


def _plate(number: int) -> str:
    return f"Plate {number}" if number else "The room"


def _twice(when: datetime) -> bool:
    """Tell whether this wall-clock time happens twice that night and is meant the second time."""
    return bool(when.fold) and when.utcoffset() != when.replace(fold=0).utcoffset()
