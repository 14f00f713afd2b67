"""The day as a calendar file: one event for each piece of work, one for each plate left to ripen.

Times carry the studio's zone with its rules, so that a phone in another zone, or a day on which the
clocks change, shows the right moment. A wall-clock time that happens twice (clocks going back) is
written in UTC, since RFC 5545 can only name its first occurrence.

References
----------
.. [1] RFC 5545, Internet Calendaring and Scheduling, sections 3.3.5, 3.6.1, 3.6.5, 3.6.6.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

from argentry.out.day.blocks import Block, begins, blocks, from_to, latest_words, ripe, short_name
from argentry.out.wording import clock, clock_range, length_range, minutes_between
from argentry.records.day import DayPlan, PlannedStep
from argentry.records.units import told

# A reminder comes this long before the latest safe start. [min]
LEAD_MINUTES = 10.0


def to_ics(plan: DayPlan, stamp: datetime | None = None) -> bytes:
    """Return the day as an iCalendar file.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    stamp : datetime or None
        When the file is made; None: now. The same event keeps its identity from one plan of the day
        to the next, and the later stamp replaces the earlier.

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
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"{plan.studio}, {plan.date:%Y-%m-%d}")
    for block in blocks(plan):
        if block.hands:
            calendar.add_component(_work(plan, block, made))
        if block.wait is not None:
            calendar.add_component(_wait(plan, block.wait, made))
    calendar.add_missing_timezones()
    return bytes(calendar.to_ical())


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
            middle=clock(middle), early=clock_range(early, late)
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
    place = sha256(f"{plan.studio}\n{plan.place}".encode()).hexdigest()[:12]
    return f"{plan.date:%Y%m%d}-plate-{step.plate}-{step.step}-{place}@argentry"


def _plate(number: int) -> str:
    return f"Plate {number}" if number else "The room"


def _twice(when: datetime) -> bool:
    """Tell whether this wall-clock time happens twice that night and is meant the second time."""
    return bool(when.fold) and when.utcoffset() != when.replace(fold=0).utcoffset()
