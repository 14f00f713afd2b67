"""Advice at the checkpoints of a run: one line a plate, kept as an event, and its overruling.

The house gives advice when a stage of a plate is over, and again when its check is answered. Nobody
need follow it: what the hands do instead is kept as an overruling, so that later the odds of both
can be told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from argentry.book.engine import Book
from argentry.book.log import Stored, append
from argentry.book.log import events as read_events
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.desk.bench.begin import HOUSE
from argentry.desk.learning.odds import Judged, judged
from argentry.desk.learning.standing import standing_of_run
from argentry.desk.numbers.makings import Gathered, from_book
from argentry.desk.numbers.run_so_far import PlateSoFar, plates_standing
from argentry.keeping.clock import SteadyClock
from argentry.needs.doubt.percent import NONE_YET, good_share
from argentry.records.day import Range
from argentry.records.decision import ADVICE
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import STAGES
from argentry.records.run import PlateState, Redone, RunState
from argentry.records.studio import Studio
from argentry.trade.decide import ways_back
from argentry.trade.sizes import plate_size
from argentry.trade.steps import stage_of

CHECK_FIRST = "check first: {words}"
WRONG_COUNTED = "{odds}, “wrong” counted. Continue: no other way is clearly better."
TELLS = (
    "step_ended",
    "step_skipped",
    "step_redone",
    "check_answered",
    "step_begun",
    "plate_abandoned",
    "corrected",
)


def give_advice(book: Book, studio: Studio, run: str, clock: SteadyClock) -> list[Stored]:
    """Say what to do with each plate that stands at a checkpoint, and note advice not followed.

    Parameters
    ----------
    book : Book
        The book.
    studio : Studio
        As ``studio.toml`` has it.
    run : str
        Id of the run.
    clock : SteadyClock
        The house's clock.

    Returns
    -------
    list of Stored
        The events written; empty when nothing new is to be said.
    """
    bodies = advice_bodies(book, studio, run, clock.now())
    return say_advice(book, studio, run, bodies, clock)[0]


def advice_bodies(
    book: Book, studio: Studio, run: str, now: datetime
) -> dict[str, Mapping[str, Any]]:
    """Return what is to be said of each plate at a checkpoint, by plate; writes nothing.

    This is the part that takes time, a second or more when plates are new.

    Parameters
    ----------
    book, studio, run
        As `give_advice`.
    now : datetime
        UTC.
    """
    events = read_events(book, run)
    due = _due(fold(events, now=now), events, studio)
    if not due:
        return {}
    gathered = from_book(book, studio)
    return {plate.plate: _body(gathered, plate, now) for plate in due}


def say_advice(
    book: Book,
    studio: Studio,
    run: str,
    bodies: Mapping[str, Mapping[str, Any]],
    clock: SteadyClock,
) -> tuple[list[Stored], bool]:
    """Write down what was worked out, of plates that still stand as they stood then.

    Parameters
    ----------
    book, studio, run, clock
        As `give_advice`.
    bodies : Mapping
        Of `advice_bodies`; an empty one still notes advice that was not followed.

    Returns
    -------
    stored : list of Stored
        The events written.
    wanted : bool
        Whether a plate stands at a checkpoint still without advice.
    """
    events = read_events(book, run)
    state = fold(events, now=clock.now())
    due = _due(state, events, studio)
    known = [p for p in due if _standing(p).items() <= bodies.get(p.plate, {}).items()]
    fresh = _overruled(state, events, clock) + [
        Event(new_id(), p.run, "advice_given", clock.now(), p.plate, p.now,
              dict(bodies[p.plate]), HOUSE)
        for p in known
    ]  # fmt: skip
    return (append(book, fresh) if fresh else []), len(known) < len(due)


def _due(state: RunState, events: Sequence[Event], studio: Studio) -> list[PlateSoFar]:
    """Return the plates that stand at a checkpoint and were not advised there."""
    if state.state == "closed":
        return []
    given = _still_good(state, _given(events))
    return [
        plate
        for plate in plates_standing(state, events, studio)
        if plate.state == "open" and _wants_advice(plate, state, given)
    ]


def _given(events: Sequence[Event]) -> list[Event]:
    counted, _ = effective(events)
    return [e for e in counted if e.kind == "advice_given"]


def _standing(plate: PlateSoFar) -> dict[str, str | None]:
    """Return what advice is about: the stage that is over, its check, the last going back."""
    answer = plate.answers.get(str(plate.done))
    return {"stage": plate.done, "answer": answer, "since": _since(plate.redone)}


def _wants_advice(plate: PlateSoFar, state: RunState, given: Sequence[Event]) -> bool:
    """Return whether a plate is between two stages and was not advised with what is known now."""
    if plate.done is None or plate.now is None or plate.done == STAGES[-1]:
        return False
    if state.plate(plate.plate).step(plate.now).state != "ready":
        return False
    if stage_of().get(plate.now) == plate.done:
        return False
    last = _last(given, plate.plate)
    if last is None:
        return True
    return any(last.body.get(key) != value for key, value in _standing(plate).items())


def _last(given: Sequence[Event], plate: str) -> Event | None:
    mine = [e for e in given if e.plate == plate]
    return max(mine, key=lambda e: (e.at, e.id), default=None)


def _still_good(state: RunState, given: Sequence[Event]) -> list[Event]:
    """Return the advice that knew of the last going back of its plate, and of no other.

    Not by the clock: a press may be made before, and heard after, advice was given.
    """
    last = {plate.id: _since(plate.redone) for plate in state.plates}
    return [e for e in given if e.plate in last and e.body.get("since") == last[e.plate]]


def _since(redone: Sequence[Redone]) -> str | None:
    return redone[-1].event if redone else None


def _body(gathered: Gathered, plate: PlateSoFar, now: datetime) -> dict[str, Any]:
    standing = standing_of_run(gathered, plate, now)
    told = judged(standing, plate_size(gathered.size_of(plate.plate)).area_cm2)
    way = ways_back().get(str(plate.done)) if told.advice == "redo" else None
    return {
        **_standing(plate),
        "line": line_of(told, plate.answers.get(str(plate.done))),
        "back_to": None if way is None else way.step,
        **{key: getattr(told, key) for key in KEPT},
    }


KEPT = (
    "advice", "words", "probability", "low", "high", "plates", "mostly_prior", "worth", "rule",
)  # fmt: skip


def line_of(told: Judged, answer: str | None = None) -> str:
    """Return odds and advice in one line, with range and count.

    To go on after a check was answered wrong contradicts the hand that answered: it is told why.
    """
    count, span = told.plates, Range(told.low, told.probability, told.high)
    behind = NONE_YET if not count else f"{count} plate{'' if count == 1 else 's'}"
    prior = ", mostly starting assumptions" if told.mostly_prior and count else ""
    odds = good_share(span, behind + prior)
    if answer == "wrong" and told.advice == "continue":
        return WRONG_COUNTED.format(odds=odds)
    words = told.words.removesuffix(", then decide")
    check = CHECK_FIRST.format(words=words)
    do = {"check": check, "redo": words}.get(told.advice, ADVICE[told.advice])
    return f"{odds}. {do[0].upper()}{do[1:]}."


def _overruled(state: RunState, events: Sequence[Event], clock: SteadyClock) -> list[Event]:
    """Return an event for each last advice that the hands did not follow."""
    counted, _ = effective(events)
    given = [e for e in counted if e.kind == "advice_given"]
    noted = {e.body.get("advice") for e in counted if e.kind == "advice_overruled"}
    good = _still_good(state, given)
    found = []
    for plate in state.plates:
        last = _last(good, plate.id) or _last(given, plate.id)
        if last is None or last.id in noted or last.step is None:
            continue
        advised = str(last.body.get("advice"))
        did = _done_since(plate, last) if last in good else _went_back(plate, last, counted)
        if did in CONTRARY.get(advised, ()):
            body = {"advice": last.id, "advised": advised, "did": did}
            found.append(
                Event(
                    new_id(), state.run, "advice_overruled", clock.now(), plate.id, last.step, body,
                    HOUSE,
                )
            )  # fmt: skip
    return found


# What is otherwise than advised. Who was to look first and goes on or back may well have looked.
CONTRARY = {
    "continue": ("stop", "redo"),
    "redo": ("stop", "continue"),
    "stop": ("continue", "redo"),
    "check": ("stop",),
}


def _done_since(plate: PlateState, advice: Event) -> str | None:
    """Return what the hands did with a plate that nobody went back on since the advice."""
    begun = plate.step(str(advice.step)).begun is not None
    if begun:
        return "continue"
    return "stop" if plate.state == "abandoned" else None


def _went_back(plate: PlateState, advice: Event, counted: Sequence[Event]) -> str | None:
    """Return what the hands did first after advice: went on, or back at once.

    None where they had gone back before the advice was given: it could not be heard.
    """
    back = next((r.at for r in plate.redone if r.at > advice.at), None)
    if back is None:
        return None
    own = (e for e in counted if (e.plate, e.step) == (plate.id, advice.step))
    went_on = any(e.kind == "step_begun" and advice.at < e.at < back for e in own)
    return "continue" if went_on else "redo"


def lines_at_checkpoints(events: Sequence[Event]) -> dict[str, str]:
    """Return the last advice by plate in a line, of those that have not begun what it is about."""
    at_hand = advice_at_checkpoints(events)
    return {plate: str(one.body.get("line", "")) for plate, one in at_hand.items()}


def advice_at_checkpoints(events: Sequence[Event]) -> dict[str, Event]:
    """Return the last advice by plate, of those that have not begun what it is about."""
    state = fold(events)
    given = _still_good(state, _given(events))
    found = {}
    for plate in state.plates:
        last = _last(given, plate.id)
        if last is None or last.step is None or last.step != plate.current:
            continue
        if plate.state == "open" and plate.step(last.step).state == "ready":
            found[plate.id] = last
    return found
