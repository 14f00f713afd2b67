"""What a run on the bench tells of its plates: conditions, stages passed, checks answered.

Nothing of it is stored twice: the events are read again whenever it is asked, so a correction in
the run is a correction here.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from argentry import trade
from argentry.bench.hands import kind_held
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.physics.coat.coat_words import colour_word
from argentry.records.plate import STAGES, Making
from argentry.trade.steps import stage_of
from argentry.trade.steps import steps as trade_steps

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from argentry.records.event import Event
    from argentry.records.run import PlateState, Redone, RunState
    from argentry.records.run_step import StepState
    from argentry.records.studio import Studio
    from argentry.trade.step_rule import Feed

Known = dict[str, float | str]
Figures = tuple[float, float, float]  # odds with the ends of their 80 % range [1]


@dataclass(frozen=True)
class PlateSoFar:
    """A plate of a run as it stands.

    Attributes
    ----------
    run, plate, label : str
        Ids of run and plate, and its label.
    state : str
        ``"open"``, ``"done"`` or ``"abandoned"``.
    known : Mapping[str, float or str]
        Conditions known so far, by column of the table of plates.
    done : str or None
        The last stage of which every step is over; None before the first.
    answers : Mapping[str, str]
        Stage to the answer of its checks: the worst counts.
    checked : tuple of str
        Stages whose check was answered.
    now : str or None
        Key of the step at hand; None when all are over.
    redone : tuple of Redone
        What was done once more; everything above is of the last doing.
    taken_back : Mapping[str, tuple of str]
        Stage to the answers of its checks in the doings that were done once more.
    ripe_seen : (float, float) or None
        As of a `Making`.
    broken_off : tuple of str
        As of a `Making`.
    unseen_short : tuple of str
        Stages with a step ended far too soon, where nobody has seen what came of it.
    told : Mapping[str, Figures]
        Stage to the odds of a good plate that were told when it was over.
    """

    run: str
    plate: str
    label: str
    state: str
    known: Mapping[str, float | str]
    done: str | None
    answers: Mapping[str, str]
    checked: tuple[str, ...]
    now: str | None
    redone: tuple[Redone, ...] = ()
    taken_back: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ripe_seen: tuple[float, float] | None = None
    broken_off: tuple[str, ...] = ()
    unseen_short: tuple[str, ...] = ()
    told: Mapping[str, Figures] = field(default_factory=dict)


def plates_so_far(
    events: Sequence[Event], studio: Studio | None = None, now: datetime | None = None
) -> list[PlateSoFar]:
    """Return every plate of a run with what is known of it.

    Parameters
    ----------
    events : sequence of Event
        Of one run.
    studio : Studio, optional
        Its usual lens is taken where the run does not say.
    now : datetime, optional
        UTC.
    """
    return plates_standing(fold(events, now=now), events, studio)


def plates_standing(
    state: RunState, events: Sequence[Event], studio: Studio | None = None
) -> list[PlateSoFar]:
    """Return the same of a run whose state is known already."""
    counted, _ = effective(events)
    read, looks, told = _readings(counted), _looks(counted), _told(counted)
    return [
        replace(
            _plate(state, plate, read, looks, studio),
            told=told.get(plate.id, {}),
            taken_back=_taken_back(counted, plate),
        )
        for plate in state.plates
    ]


def _taken_back(counted: Sequence[Event], plate: PlateState) -> dict[str, tuple[str, ...]]:
    """Return what checks said of the stages that hands went back before."""
    found: dict[str, tuple[str, ...]] = {}
    for back in plate.redone:
        until = next(n for n, one in enumerate(counted) if one.id == back.event)
        # their times are moved already by a clock that was set
        before = [one for one in counted[:until] if one.kind != "clock_set"]
        state = fold(before, now=back.at)
        then = next(one for one in state.plates if one.id == plate.id)
        again = next(n for n, step in enumerate(then.steps) if step.key == back.step)
        for stage, answer in _answers(replace(then, steps=then.steps[again:])).items():
            found[stage] = (*found.get(stage, ()), answer)
    return found


def _told(counted: Sequence[Event]) -> dict[str, dict[str, Figures]]:
    """Return the last odds told of each plate after each stage."""
    told: dict[str, dict[str, Figures]] = {}
    for one in counted:
        if one.plate and (figures := told_odds(one)) is not None:
            told.setdefault(one.plate, {})[str(one.body.get("stage"))] = figures
    return told


def told_odds(event: Event) -> Figures | None:
    """Return the odds that an advice told; None of anything else, and of one without odds."""
    if event.kind != "advice_given" or "probability" not in event.body:
        return None
    middle = float(event.body["probability"])
    low, high = (float(event.body.get(end, middle)) for end in ("low", "high"))
    return middle, low, high


def _plate(
    state: RunState,
    plate: PlateState,
    read: Sequence[Mapping[str, Any]],
    looks: Sequence[Event],
    studio: Studio | None,
) -> PlateSoFar:
    steps = {step.key: step for step in plate.steps}
    # a reading by hand comes after the look and goes before it
    over = _over(plate)
    broken = _broken_off(plate, over)
    fed = _fed(steps, _Bench(over, plate, read, studio, state))
    known = _looked_at(steps, plate.id, looks) | {c: v for c, v in fed.items() if c not in broken}
    answers = _answers(plate)
    return PlateSoFar(
        run=state.run,
        plate=plate.id,
        label=plate.label,
        state=plate.state,
        known=dict(sorted(known.items())),
        done=_done(plate),
        answers=answers,
        checked=tuple(answers),
        unseen_short=_unseen_short(plate),
        now=plate.current,
        redone=plate.redone,
        ripe_seen=_ripe_seen(plate),
        broken_off=broken,
    )


def _ripe_seen(plate: PlateState) -> tuple[float, float] | None:
    """Return what pictures alone said of the plate's ripe dose, where a hand took it."""
    for step in plate.steps:
        if step.ripe is not None and step.ripe.alone_kj_m2 and step.ripe.alone_log_sd:
            return step.ripe.alone_kj_m2, step.ripe.alone_log_sd
    return None


def _done(plate: PlateState) -> str | None:
    """Return the last stage all of whose steps are over; a stage counts only after those before."""
    last = None
    for stage in STAGES:
        own = [step for step in plate.steps if stage_of().get(step.key) == stage]
        if not own or not all(step.state in ("done", "skipped") for step in own):
            break
        last = stage
    return last


def _unseen_short(plate: PlateState) -> tuple[str, ...]:
    """Return the stages with a step ended far too soon, where nobody has seen what came of it."""
    found = []
    for stage in STAGES:
        own = [step for step in plate.steps if stage_of().get(step.key) == stage]
        for at, step in enumerate(own):
            seen = any(one.when != "before" for later in own[at:] for one in later.answers)
            if step.short and not seen:
                found.append(stage)
    return tuple(dict.fromkeys(found))


def _answers(plate: PlateState) -> dict[str, str]:
    """Return the worst answer of each stage; a step done too soon is doubtful at best.

    Of the looks during a step only the last one counts: it saw what the others could not yet. What
    is found in order before a step says nothing of how its stage comes out.
    """
    order = ("right", "doubtful", "wrong")
    worst: dict[str, str] = {}
    for step in plate.steps:
        stage = stage_of().get(step.key)
        looks = [one.answer for one in step.answers if one.when == "during"][-1:]
        told = looks + [
            one.answer
            for one in step.answers
            if one.when == "after" or (one.when == "before" and one.answer != "right")
        ]
        told += ["doubtful"] * step.short
        if stage is not None and told:
            worst[stage] = max(worst.get(stage, "right"), *told, key=order.index)
    return worst


@dataclass(frozen=True)
class _Bench:
    """What the feeds of a plate's steps are taken from."""

    over: Mapping[str, StepState]  # steps timed and carried to their end
    plate: PlateState
    read: Sequence[Mapping[str, Any]]
    studio: Studio | None
    state: RunState

    @property
    def zone(self) -> ZoneInfo:
        """Of the run's place."""
        return ZoneInfo(str(self.state.place.get("time_zone", "UTC")))


def _over(plate: PlateState) -> dict[str, StepState]:
    """Return the steps of a plate that were timed and carried to their end.

    The minutes of a step in which it was given up are those until something else was seen, unless
    the step had its least planned length, or was said to be done after half of it.
    """
    timed = [step for step in plate.steps if step.begun and step.ended]
    over = {step.key: step for step in timed if step.state == "done"}
    if plate.state == "abandoned":
        over |= {s.key: s for s in timed if s.state == "stopped" and s.elapsed_s >= s.low_s}
        if timed and timed[-1].short:
            del over[timed[-1].key]
    return over


def _broken_off(plate: PlateState, over: Mapping[str, StepState]) -> tuple[str, ...]:
    """Return the columns of the lengths of steps that giving the plate up kept from their end."""
    if plate.state != "abandoned":
        return ()
    short = {s.key for s in plate.steps if s.key not in over and s.state != "skipped"}
    feeds = (feed for rule in trade_steps() if rule.key in short for feed in rule.feeds)
    return tuple(dict.fromkeys(feed.column for feed in feeds if feed.how in (*UNIT_S, "end")))


def _fed(steps: Mapping[str, StepState], bench: _Bench) -> Known:
    """Return the columns that the steps of a plate feed, as the trade's data state them."""
    known: Known = {}
    lengths: dict[str, float] = {}
    for rule in trade_steps():
        state = steps.get(rule.key)
        if state is None:
            continue
        for feed in rule.feeds:
            value = _value(feed, state, bench)
            if value is None or (feed.how == "studio" and feed.column in known):
                continue
            if feed.how in UNIT_S:  # lengths of several steps add up
                lengths[feed.column] = lengths.get(feed.column, 0.0) + float(value)
                value = round(lengths[feed.column], UNIT_S[feed.how][1])
            known[feed.column] = value
    return known


UNIT_S = {"seconds": (1.0, 1), "minutes": (60.0, 2)}  # with the decimals kept


def _value(feed: Feed, step: StepState, bench: _Bench) -> float | str | None:
    """Return what a feed tells of a plate, or None while it is not known."""
    if feed.how in SO_FAR:
        return SO_FAR[feed.how](feed, step, bench)
    if step.key not in bench.over or step.begun is None or step.ended is None:
        return None
    if feed.how in UNIT_S:
        return step.elapsed_s / UNIT_S[feed.how][0]
    if feed.how == "studio":
        return _of_studio(feed.of, bench.studio)
    if feed.how in ("start", "end"):
        moment = step.begun if feed.how == "start" else step.ended
        return moment.astimezone(bench.zone).isoformat(timespec="seconds")
    return _since(feed, step, bench)


def _held(_feed: Feed, step: StepState, bench: _Bench) -> str | None:
    """Return the name of what a step that was begun holds, also one that was broken off."""
    resource = bench.state.step(step.key).resource
    return (step.begun and kind_held(bench.state, bench.plate, resource)) or None


def _since(feed: Feed, step: StepState, bench: _Bench) -> float | str | None:
    """Return the gap from another step, or whether both fell on one day."""
    other = bench.over.get(feed.of)
    if other is None or other.begun is None or other.ended is None:
        return None
    assert step.begun is not None
    assert step.ended is not None
    if feed.how == "gap":
        return _minutes(other.ended, step.begun)
    days = {moment.astimezone(bench.zone).date() for moment in (step.ended, other.begun)}
    return "yes" if len(days) == 1 else "no"


def _of_studio(place: str, studio: Studio | None) -> float | str | None:
    """Return what the studio says at a place such as ``lenses.name``: of many, of the first."""
    if studio is None:
        return None
    part, key = place.split(".")
    found = getattr(studio, part)
    value = getattr(found[0] if isinstance(found, tuple) else found, key)
    return value if value is None or isinstance(value, str) else float(value)


def _minutes(start: datetime, end: datetime) -> float:
    return round(max((end - start).total_seconds(), 0.0) / 60.0, 2)


def _readings(counted: Sequence[Event]) -> list[dict[str, Any]]:
    return [
        {"what": e.body.get("what"), "value": e.body.get("value"), "plate": e.plate, "at": e.at}
        for e in sorted(counted, key=lambda one: (one.at, one.id))
        if e.kind == "reading_taken"
    ]


def _looks(counted: Sequence[Event]) -> list[Event]:
    """Return the answers that say of a picture of a coat that it is so, in order of time."""
    told = (one for one in counted if one.kind == "check_answered")
    found = [one for one in told if isinstance(one.body.get("seen"), dict)]
    return sorted(found, key=lambda one: (one.at, one.id))


def _looked_at(steps: Mapping[str, StepState], plate: str, looks: Sequence[Event]) -> Known:
    """Return what the last picture showed of the coat that is on the plate now."""
    known: Known = {}
    for look in looks:
        step, nm = steps.get(look.step or ""), look.body.get("value")
        if look.plate != plate or step is None or step.begun is None or look.at < step.begun:
            continue  # of another plate, or of a coat that was taken off again
        if look.body.get("answer") != "right" or not isinstance(nm, (int, float)):
            known = {}
            continue
        if not 0.0 < nm <= trade.value("film", "thickness_high_nm"):
            continue
        word, cycle = colour_word(float(nm))
        lab = {k: look.body["seen"].get(k) for k in ("coat_l", "coat_a", "coat_b")}
        known = {"coat_nm": float(nm), "coat_colour": word, "coat_cycle": float(cycle)}
        known |= {key: float(v) for key, v in lab.items() if isinstance(v, (int, float))}
    return known


def _last_reading(feed: Feed, step: StepState, bench: _Bench) -> float | None:
    """Return the last reading of a quantity before a step's end, or so far."""
    quantity, found = feed.of or feed.column, None
    for one in bench.read:
        before = step.ended is None or one["at"] <= step.ended
        here = one["what"] == quantity and one["plate"] in (None, bench.plate.id)
        if here and before and isinstance(one["value"], (int, float)):
            found = float(one["value"])
    return found


SO_FAR = {"reading": _last_reading, "held": _held}  # known before the step is over


def with_run(making: Making, plate: PlateSoFar) -> Making:
    """Return a making with what the bench saw; what was written down by hand goes before it."""
    stages = {s: "fault" for s, answer in plate.answers.items() if answer == "wrong"}
    return replace(
        making,
        conditions={**plate.known, **making.conditions},
        stages={**stages, **making.stages},
        ripe_seen=plate.ripe_seen,
        broken_off=plate.broken_off,
    )
