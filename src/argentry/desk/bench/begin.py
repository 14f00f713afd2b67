"""Open a run: from a day's plan, or from plates alone."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from argentry.bench.opening import opening, run_rules
from argentry.bench.sitters_plates import in_plan_order, of_a_size
from argentry.book.engine import Book
from argentry.book.log import append
from argentry.book.plates import add_plate, plate_by_label, plates
from argentry.desk.wishes import OPTIONS
from argentry.errors import BadInput
from argentry.keeping.clock import SteadyClock
from argentry.keeping.plates.wear import refuse_at_work, refuse_kept, refuse_worn
from argentry.records.day import MOST_PLATES, DayPlan
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Plate
from argentry.records.run_plan import MorePlate
from argentry.records.studio import Studio
from argentry.studio.today import studio_today

TOO_MANY = "{count} plates are too many"
NAME_SOME = "name one to {most} plates"
TWICE = "{label!r} is named twice"
MORE_THAN_PLANNED = "{count} are named but the plan holds {planned}"
HOUSE = "house"  # the device that reports what argentry itself worked out


def open_run(
    book: Book,
    studio: Studio,
    labels: Sequence[str] | None = None,
    *,
    clock: SteadyClock,
    plan: DayPlan | None = None,
    title: str | None = None,
    device: str = "",
    forecast: Path | None = None,
) -> str:
    """Open a run and return its id.

    Parameters
    ----------
    book : Book
        The book.
    studio : Studio
        The studio.
    labels : sequence of str or None
        Labels of the plates, in the plan's order, but that a sitter gets one of the size asked for;
        one the book does not hold is added to it, of that size or else of the studio's usual one.
        None with a plan: new labels from its date.
    clock : SteadyClock
        The house's clock.
    plan : DayPlan or None
        A day's plan, for the lengths and the light expected; None: the studio as it is now.
    title : str or None
        Name of the run.
    device : str
        Who opened it.
    forecast : Path or None
        File that the plan has its weather from.

    Raises
    ------
    BadInput
        If no plates are named, one twice, too many, more than the plan holds, one is worn, holds a
        good picture or is at work in another open run, or none has the size that a sitter wants.
    """
    now = clock.now()
    wanted = _labels(book, labels, plan)
    refuse_worn(book, wanted)
    refuse_kept(book, wanted)
    refuse_at_work(book, wanted, now)
    asked = {} if plan is None else of_a_size(plan.appointments)
    if asked:
        wanted = in_plan_order(wanted, [_size(book, studio, label) for label in wanted], asked)
    taken = [
        _plate(book, studio, label, size=asked[place].size if place in asked else "")
        for place, label in enumerate(wanted)
    ]
    run = new_id()
    today = studio if plan is None else studio_today(studio, plan.wishes, OPTIONS)
    opened = opening(
        today, taken, title or "", now, plan, "" if forecast is None else str(forecast.resolve())
    )
    events = [Event(new_id(), run, "run_opened", now, body=opened.body, device=device)]
    for plate, step in opened.skipped:
        once = {"why": "done once for the whole run"}
        events.append(own_event(run, "step_skipped", clock, plate, step, once))
    listed = {step["key"]: step["planned_s"] for step in opened.body["steps"]}
    for plate, step, length in opened.lengths:
        body: dict[str, Any] = {
            "planned_s": round(length.seconds, 1),
            "was_s": listed[step],
            "low_s": round(length.low, 1),
            "high_s": round(length.high, 1),
            "why": length.why,
            "made_of": length.made_of,
        }
        events.append(own_event(run, "duration_changed", clock, plate, step, body))
    append(book, events)
    return run


def _labels(book: Book, labels: Sequence[str] | None, plan: DayPlan | None) -> list[str]:
    if labels is None:
        if plan is None or not plan.plates_placed:
            raise BadInput("plates", "none are named", "name one to twelve plates")
        return list(itertools.islice(new_labels(book, plan.date), plan.plates_placed))
    named = [label.strip() for label in labels]
    if not 1 <= len(named) <= MOST_PLATES:
        what = TOO_MANY.format(count=len(named)) if named else "none are named"
        raise BadInput("plates", what, NAME_SOME.format(most=MOST_PLATES))
    if len(set(named)) < len(named):
        twice = next(label for label in named if named.count(label) > 1)
        raise BadInput("plates", TWICE, "name each plate once", label=twice)
    if plan is not None and len(named) > plan.plates_placed:
        raise BadInput(
            "plates",
            MORE_THAN_PLANNED,
            "name as many as the plan holds",
            count=len(named),
            planned=plan.plates_placed,
        )
    return named


def new_labels(book: Book, day: date) -> Iterator[str]:
    """Give labels of a day that no plate of the book has, the lowest number first."""
    labels = (f"{day:%Y-%m-%d}/{number}" for number in itertools.count(1))
    return (label for label in labels if plate_by_label(book, label) is None)


def _size(book: Book, studio: Studio, label: str) -> str | None:
    """Return the size of a plate of the book, the usual one where it says none; None: it is new."""
    known = plate_by_label(book, label)
    return None if known is None else known.size or studio.habits.plate_size


def _plate(book: Book, studio: Studio, label: str, plate_id: str = "", size: str = "") -> Plate:
    known = plate_by_label(book, label)
    if known is not None:
        return known
    plate = Plate(plate_id or new_id(), label, size=size or studio.habits.plate_size)
    add_plate(book, plate)
    return plate


def more_plate(book: Book, day: date) -> MorePlate:
    """Return the plate that may be taken into a run beyond those that it was opened with."""
    once = tuple(rule.key for rule in run_rules() if rule.scope == "day")
    return MorePlate(new_id(), next(new_labels(book, day)), once)


def label_of(book: Book, studio: Studio, added: Event) -> str:
    """Return the label of a plate taken into a run, which is put into the book with it.

    Another plate may have got the label since it was offered: then a number is put behind it.
    """
    assert added.plate is not None
    for known in plates(book, [added.plate]):  # taken once, taken back, and taken again
        return known.label
    label = str(added.body["label"])
    free = itertools.chain([label], (f"{label} ({number})" for number in itertools.count(2)))
    taken = next(one for one in free if plate_by_label(book, one) is None)
    return _plate(book, studio, taken, added.plate).label


def own_event(
    run: str, kind: str, clock: SteadyClock, plate: str, step: str, body: Mapping[str, Any]
) -> Event:
    """Return an event that the house itself reports, now."""
    return Event(new_id(), run, kind, clock.now(), plate, step, body, HOUSE)
