"""The plan of a run on the desk: where each plate stands by it, and a new one that waits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry.bench.hands import hands_next
from argentry.bench.words import hands_words, next_words, offer_lines, offer_of, plan_words
from argentry.book.log import events
from argentry.book.runs.fold import fold
from argentry.errors import BadInput
from argentry.records.ids import new_id

if TYPE_CHECKING:
    from argentry.desk.house import House
    from argentry.records.run import RunState

ANSWERS = {"take": "plan_taken", "keep": "plan_declined"}
NO_LONGER = "no plate more is offered now: it was taken already, or the plan has changed"
NOT_AN_ANSWER = "{given!r} is not an answer"


@dataclass(frozen=True)
class PlateByPlan:
    """A plate of a run that goes on.

    Attributes
    ----------
    label : str
        Its label.
    now : str
        What it wants of the hands.
    planned : str
        When the plan has its step and the one after it.
    """

    label: str
    now: str
    planned: str


@dataclass(frozen=True)
class RunPlan:
    """A run that goes on, by its plan.

    Attributes
    ----------
    plates : tuple of PlateByPlan
        The most pressing first.
    next : str
        The step that the plan gives the hands next.
    offer : tuple of str
        What a new plan changes; empty when none waits.
    offered : str
        Id of that offer.
    more : bool
        True when it says that there is time for one more plate.
    in_work : tuple of str
        Labels of the plates that are begun and neither finished nor given up.
    state : RunState
        The run now.
    """

    plates: tuple[PlateByPlan, ...]
    next: str
    offer: tuple[str, ...]
    offered: str
    more: bool
    in_work: tuple[str, ...]
    state: RunState


def run_plan(house: House, run: str) -> RunPlan:
    """Return a run as it stands by its plan; without plates when it is closed."""
    state = fold(events(house.book, run), now=house.clock.now())
    plates = tuple(
        PlateByPlan(
            hand.label, hands_words(state, hand), plan_words(state, state.plate(hand.plate))
        )
        for hand in hands_next(state)
    )
    waits = offer_of(state)
    lines = () if waits is None else tuple(offer_lines(waits))
    offered = "" if waits is None else waits.event
    more = waits is not None and waits.more is not None
    in_work = tuple(one.label for one in state.plates if one.begun and one.state == "open")
    return RunPlan(plates, next_words(state), lines, offered, more, in_work, state)


def close_run(house: House, run: str, by: str) -> None:
    """Close a run: its plates in work stand as they are.

    Raises
    ------
    BadInput
        If the run is not in the book, or is closed already.
    """
    from argentry.desk.bench.run import add_events

    said = {"id": new_id(), "kind": "run_closed", "body": {}}
    added = add_events(house.book, house.taught, run, [said], by or "host", house.clock)
    if added.refused:
        raise BadInput("run", added.refused[0].why, "look at the run as it stands")


def answer_offer(house: House, run: str, offer: str, answer: str, by: str) -> None:
    """Take the new plan of a run, turn it down, or take the plate more that it has time for.

    Raises
    ------
    BadInput
        If it cannot be answered any more.
    """
    from argentry.desk.bench.acts import one_more_said
    from argentry.desk.bench.run import add_events

    waits = fold(events(house.book, run)).offer
    if answer == "more":
        if waits is None or waits.event != offer or waits.more is None:
            raise BadInput("plan", NO_LONGER, "look at the run as it stands")
        said = one_more_said(waits.more)
    elif answer in ANSWERS:
        said = {"id": new_id(), "kind": ANSWERS[answer], "body": {"offer": offer}}
    else:
        given = answer[:20]
        raise BadInput("answer", NOT_AN_ANSWER, "use what the page offers", given=given)
    added = add_events(house.book, house.taught, run, [said], by or "host", house.clock)
    if added.refused:
        raise BadInput("plan", added.refused[0].why, "look at the run as it stands")
