"""One hand at the bench: the one next thing to do, and doing it. For screens with few keys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from argentry.bench.dew import AIR, HUMIDITY, dew_rule, with_air
from argentry.bench.hands import Hands, hands_free, hands_next, to_be_graded
from argentry.bench.questions import WORDS, Form, body
from argentry.bench.state_json import state_dict
from argentry.bench.words import happened, span
from argentry.book.log import events as read_events
from argentry.book.readings import latest
from argentry.book.runs.fold import fold
from argentry.desk.bench.run import add_events, last_of_device, of_run
from argentry.desk.bench.seat import Seat
from argentry.exchange.plates.numbers import typed_number
from argentry.records.ids import new_id
from argentry.records.run import SECONDS_COUNT, RunState
from argentry.records.run_plan import MorePlate
from argentry.records.run_step import RunStep, StepCheck, StepState
from argentry.records.units import typed_unit
from argentry.trade.decide import again_from
from argentry.trade.defects import defects, named_in
from argentry.trade.readings import quantities, short_names

EARLY_S = 60.0  # ending a waiting step this long before its time is asked back (house rule)
CAUTIONS_AT_ONCE = 5  # as many as a phone or a terminal shows in type that can be read
END = "End when it is right."
END_EARLY = "End {span} before its time."
WAITS = "Waits for the {thing} that {label} holds."
NOT_A_STEP = "{word!r} is not one of the steps to go back to: {steps}."
TAKEN_BACK = "Taken back: {what}."
NOT_MEASURED = "{word!r} is not measured here; names: {names}."
NOT_A_NUMBER = "{word!r} is not a number that can be read in one way only."
NO_RANGE = "What the range of this step is made of is not worked out."
NO_MORE = "No plate more is offered."
ALL_FINISHED = "Every plate is finished: close the run."
ALL_OVER = "Every plate is finished or given up: close the run."
NAMED = "This names a defect ({looks}): it is offered when the plate is graded or given up."


@dataclass(frozen=True)
class Act:
    """The next thing to do with a plate.

    Attributes
    ----------
    kind : str
        ``"cautions"`` (all of the day), ``"caution"`` (of a step, which it begins), ``"check"``,
        ``"begin"``, ``"end"``, ``"resume"``, ``"wait"``, ``"grade"``, ``"close"`` or ``"closed"``.
    plate, step : str or None
        About what.
    words : str
        What to read: the cautions, the check, what the key does.
    cautions : tuple of str
        Keys of the cautions that it confirms.
    check : StepCheck or None
        The check that it answers; with ``"end"`` the step is ended by the same key, and one before
        a step begins it unless the answer is wrong.
    sure : bool
        False when it is to be asked back before it is done.
    """

    kind: str
    plate: str | None
    step: str | None
    words: str
    cautions: tuple[str, ...] = ()
    check: StepCheck | None = None
    sure: bool = True


def look(seat: Seat) -> RunState:
    """Return the run as it stands now, with what other devices did."""
    after = seat.events[-1].seq if seat.events else 0
    seat.events.extend(read_events(seat.book, seat.run, after))
    return fold(seat.events, now=seat.clock.now())


def look_with_air(seat: Seat) -> RunState:
    """Return the run with what was last read of the room's air outside it, for the dew point."""
    rule, now = dew_rule(), seat.clock.now()
    found = (
        latest(seat.book, what, now - timedelta(seconds=rule.stale_s[what]), now)
        for what in (AIR, HUMIDITY)
    )
    return with_air(look(seat), [of_run(one) for one in found if one])


def look_json(seat: Seat) -> Mapping[str, Any]:
    """Return the run as it stands now as JSON values."""
    return state_dict(look(seat))


def hand_of(state: RunState, plate: str | None) -> Hands | None:
    """Return what the plate looked at wants, else the most pressing.

    None without open plates, and while hands are free to say how another plate came out.
    """
    hands = hands_next(state)
    own = next((one for one in hands if one.plate == plate), None)
    if own is None and hands_free(hands) and to_be_graded(state) is not None:
        return None
    return own or (hands[0] if hands else None)


def next_act(state: RunState, plate: str | None = None) -> Act:
    """Return the next thing to do: with the plate looked at, else with the most pressing one."""
    unread = state.cautions_unread()[:CAUTIONS_AT_ONCE]
    if unread and state.state != "closed" and not any(one.begun for one in state.plates):
        words = "\n".join(caution.text for caution in unread)
        return Act("cautions", None, None, words, tuple(caution.key for caution in unread))
    hand = hand_of(state, plate)
    if hand is None:
        return _at_the_end(state)
    own = state.plate(hand.plate)
    last = None if hand.check is None else own.step(hand.check)
    if last is not None and last.state == "done":
        return Act("check", hand.plate, last.key, _text(last.ask), check=last.ask)
    if hand.want == "paused":
        return Act("resume", hand.plate, hand.step, "The clock is stopped: go on.")
    step = own.step(hand.step)
    return _ending(state, hand, step) if hand.action == "end" else _beginning(state, hand, step)


def _at_the_end(state: RunState) -> Act:
    due = to_be_graded(state)
    if due is not None:
        return Act("grade", due.id, None, WORDS["grade"].format(label=due.label))
    if state.state == "closed":
        return Act("closed", None, None, "The run is over.")
    lost = any(plate.state == "abandoned" for plate in state.plates)
    return Act("close", None, None, ALL_OVER if lost else ALL_FINISHED)


def _text(check: StepCheck | None) -> str:
    return "" if check is None else check.text


def answered_at_end(rule: RunStep, step: StepState) -> StepCheck | None:
    """Return the check that ends a step with the same press.

    Not where every second counts, nor of a step that works alone and is ended before its time.
    """
    if rule.law in SECONDS_COUNT or not (rule.attended or step.left_s <= 0.0):
        return None
    return next((check for check in rule.checks if check.when == "after"), None)


def _ending(state: RunState, hand: Hands, step: StepState) -> Act:
    rule, left = state.step(hand.step), hand.left_s or 0.0
    if step.ask is not None:
        return Act("check", hand.plate, hand.step, step.ask.text, check=step.ask)
    early = not rule.attended and left > EARLY_S
    check = answered_at_end(rule, step)
    ending = END_EARLY.format(span=span(left)) if early else END
    words = ending if check is None else check.text
    return Act("end", hand.plate, hand.step, words, check=check, sure=not early)


def _beginning(state: RunState, hand: Hands, step: StepState) -> Act:
    rule = state.step(hand.step)
    if hand.waits_for is not None:
        label = state.plate(hand.waits_for).label
        words = WAITS.format(thing=rule.resource, label=label)
        return Act("wait", hand.plate, hand.step, words)
    due = state.cautions_due(hand.step)
    keys = tuple(one.key for one in due)
    texts = [one.text for one in due]
    if step.ask is not None:
        words = "\n".join([*texts, step.ask.text])
        return Act("check", hand.plate, hand.step, words, keys, check=step.ask)
    if due:
        return Act("caution", hand.plate, hand.step, "\n".join(texts), keys)
    return Act("begin", hand.plate, hand.step, "Begin.")


def do(seat: Seat, act: Act, answer: str = "right") -> str:
    """Do the next thing and return what the book did not take, in a sentence, or nothing."""
    about = (act.plate, act.step)
    told: list[Mapping[str, Any]] = []
    if act.kind == "cautions":
        told.append(said("cautions_read", cautions=list(act.cautions)))
    else:
        told += [said("caution_shown", None, act.step, caution=key) for key in act.cautions]
    if act.kind == "end":
        told.append(said("step_ended", *about))
    if act.check is not None:
        told.append(said("check_answered", *about, answer=answer, **_moment(act.check)))
    begins = act.check is not None and act.check.when == "before" and answer != "wrong"
    if begins or act.kind in ("begin", "caution"):
        told.append(said("step_begun", *about))
    if act.kind == "resume":
        paused = look(seat).state == "paused"
        told.append(said("resumed", None if paused else act.plate))
    if act.kind == "close":
        told.append(said("run_closed"))
    return _sent(seat, told)


def _moment(check: StepCheck) -> dict[str, Any]:
    return {"when": check.when, "at_minutes": check.at_minutes}


def said(
    kind: str, plate: str | None = None, step: str | None = None, **body: Any
) -> Mapping[str, Any]:
    """Return an event as it is sent."""
    return {"id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body}


def send(
    seat: Seat, kind: str, plate: str | None = None, step: str | None = None, **body: Any
) -> str:
    """Add one event of this device; return why it was not taken, or nothing."""
    return _sent(seat, [said(kind, plate, step, **body)])


def _sent(seat: Seat, told: Sequence[Mapping[str, Any]]) -> str:
    if not told:
        return ""
    added = add_events(seat.book, seat.studio, seat.run, told, seat.device, seat.clock)
    return added.refused[0].why if added.refused else ""


def finish_form(seat: Seat, form: Form) -> str:
    """Write down what a form came to; return why it was not taken, or nothing."""
    if form.asking == "later":
        return send(seat, "grading_put_off", form.plate)
    state = look(seat)
    kind = "plate_abandoned" if form.gives_up else "making_graded"
    return send(seat, kind, form.plate, **body(form, state.plate(form.plate), state))


def remark(seat: Seat, act: Act, words: str) -> str:
    """Write down a remark; return why it was not taken, or that it names a defect."""
    why = send(seat, "remark_made", act.plate, act.step, words=words)
    named = [defects()[key].look for key in named_in(words)] if act.plate else []
    if why or not named:
        return why
    return NAMED.format(looks=", ".join(named))


def advise(seat: Seat) -> None:
    """Let the house say what it thinks of plates at a checkpoint."""
    from argentry.desk.bench.advice import give_advice

    give_advice(seat.book, seat.studio, seat.run, seat.clock)


def advice(seat: Seat) -> dict[str, str]:
    """Return the last advice by plate, while it stands at that checkpoint."""
    from argentry.desk.bench.advice import lines_at_checkpoints

    return lines_at_checkpoints(seat.events)


def made_of(seat: Seat, plate: str | None) -> str:
    """Return what the range of the step in hand is made of, in words."""
    state = look(seat)
    hand = hand_of(state, plate)
    words = "" if hand is None else state.plate(hand.plate).step(hand.step).made_of
    return words or NO_RANGE


def may_go_back(state: RunState, plate: str) -> list[str]:
    """Return the steps of a plate that may be done again, the last one first.

    None while one of its steps is going on, and none of an exposed plate, as the fold has it.
    """
    own = state.plate(plate)
    exposed = any(s.begun and state.step(s.key).law == "exposure" for s in own.steps)
    going_on = any(step.state == "running" for step in own.steps)
    if own.state != "open" or state.state == "closed" or exposed or going_on:
        return []
    return [step.key for step in reversed(own.steps) if step.state in ("done", "skipped")]


def go_back(seat: Seat, plate: str, text: str) -> str:
    """Do a step of a plate again, and all later ones; return why not, or nothing.

    Parameters
    ----------
    seat : Seat
        Whose.
    plate : str
        Id of the plate.
    text : str
        Key of the step, or its first letters; empty: as advised, else the step done last, a coat
        from bare silver.
    """
    from argentry.desk.bench.advice import advice_at_checkpoints

    state = look(seat)
    steps = may_go_back(state, plate)
    if not steps:
        return "No step of this plate can be done again now."
    word = text.strip().lower().replace(" ", "_")
    advised = advice_at_checkpoints(seat.events).get(plate)
    back_to = None if advised is None else advised.body.get("back_to")
    if not word:
        as_said = back_to in steps
        step = str(back_to) if as_said else again_from(steps[0])
        return send(seat, "step_redone", plate, step, why="as advised" if as_said else "by choice")
    found = [key for key in steps if key.startswith(word)]
    if len(found) != 1 and word not in steps:
        return NOT_A_STEP.format(word=text.strip()[:40], steps=", ".join(steps))
    step = word if word in steps else found[0]
    return send(seat, "step_redone", plate, step, why="by choice")


def answer_offer(seat: Seat, *, take: bool) -> str:
    """Take the new plan that waits, or turn it down; return why not, or nothing."""
    offer = look(seat).offer
    if offer is None:
        return "No new plan waits."
    return send(seat, "plan_taken" if take else "plan_declined", offer=offer.event)


def take_one_more(seat: Seat) -> str:
    """Take the plate more that there is time for into the run; return why not, or nothing."""
    state = look(seat)
    more = None if state.offer is None else state.offer.more
    return NO_MORE if more is None else _sent(seat, [one_more_said(more)])


def one_more_said(more: MorePlate) -> Mapping[str, Any]:
    """Return the event that takes a plate more into its run."""
    return said("plate_added", more.id, label=more.label, once=list(more.once))


def undo(seat: Seat) -> str:
    """Take back the last thing this device did; return what it was or why not."""
    state = look(seat)
    last = last_of_device(seat.events, seat.device)
    if last is None:
        return "There is nothing to take back."
    why = send(seat, "corrected", event=last.id, withdrawn=True)
    title = state.step(last.step).title if last.step else ""
    return why or TAKEN_BACK.format(what=happened(last.kind, title))


def stop_or_go(seat: Seat) -> str:
    """Stop the clock of the run, or let it go on."""
    return send(seat, "resumed" if look(seat).state == "paused" else "paused")


def read_in(seat: Seat, text: str, plate: str | None = None) -> str:
    """Take a reading as typed, such as ``box 14`` or ``light 30 klx``; return why not, or nothing.

    Parameters
    ----------
    seat : Seat
        Whose.
    text : str
        Quantity or its short name, number, perhaps a unit.
    plate : str or None
        Plate looked at; the reading is said of its current step.
    """
    words = text.split()
    if len(words) < 2:
        return "A reading is a name and a number, such as: box 14."
    what = short_names().get(words[0].lower(), words[0])
    if what not in quantities():
        return NOT_MEASURED.format(word=words[0], names=", ".join(short_names()))
    value = typed_number(words[1])
    if value is None:
        return NOT_A_NUMBER.format(word=words[1])
    unit = " ".join(words[2:]) or typed_unit(quantities()[what].unit, seat.studio.units)
    state = look(seat)
    step = None if plate is None else state.plate(plate).current
    about = plate if step is not None else None
    body = {"what": what, "value": value, "unit": unit, "source": seat.device}
    return send(seat, "reading_taken", about, step, **body)
