"""Words of the bench: spans of time, why a length changed, what a plate wants of the hands."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from argentry.bench.hands import Hands, hands_next, next_planned
from argentry.records.run import PlateState, RunState
from argentry.records.run_plan import PlanOffer
from argentry.records.run_step import StepState
from argentry.trade.steps import steps

CHANGED = "{why}: {now} instead of {before}"
WANTED = "{title}: {wants}"
LATE_S = 60.0  # a step that ends later than this after its plan says both times
OVER_TIME = "{span} over time"
LOOK = "look at it, {span} left"
LEFT = "{span} left"
WAITS = "waits for the {thing} that {label} holds, {span}"
WITHIN = "begin within {span}"
LATE = "at once, late by {span}"
PLANNED = "planned {start}"
PLANNED_UNTIL = "planned until {end}"
LATER = "{planned}, now until {end}"
ABOUT = "{limit}, about {start}"
LATEST = "planned {start}, latest {latest}: {room}"
ROOM = "{span} to spare"
BEHIND = "late by {span}"
IN_FRAME = "{planned}; in {frame}"
FOR, AT_OPENING = "{planned}; for {sitter}", "{sitter}, f/{f_number:g}"
SITTER, A_SITTER = "{name} at {time}", "the sitter"
THEN = "{now}; then {title}, {planned}"
OFFER = "New plan: {line}"
OFFER_ODDS = "All finished by it on {share} % of such days, by the old order on {kept} %."
OFFER_EITHER = "All finished by either on {share} % of such days."
OFFER_ALONE = "All plates of the new plan finished on {share} % of such days."
OFFER_WHY = "Made because {why}."
OFFER_MOVES = "{count} steps move."
OFFER_ONE_MOVES = "One step moves."
TOO_EARLY = (
    "The plan begins this at {start:%H:%M}. Begun earlier, the plate may wait too long later."
)
EARLY_S = 1200.0  # idle hands may begin this much before the plan that stands (LEAD in plan/again)
BEFORE_LIGHT = ("polish", "coat", "exposure")
NEXT = "Next by the plan: {label}, {title}, {planned}"

HAPPENED = {  # what hands say, as the page's words.js has it
    "caution_shown": "caution seen", "cautions_read": "cautions read", "check_answered": "check",
    "grading_put_off": "grade later", "making_graded": "graded", "paused": "paused",
    "plan_declined": "new plan turned down", "plan_taken": "new plan taken",
    "plate_abandoned": "given up", "plate_added": "one more plate", "reading_taken": "reading",
    "remark_made": "remark", "resumed": "resumed", "run_closed": "run closed",
    "step_begun": "begun", "step_ended": "done", "step_redone": "redone",
    "step_skipped": "skipped",
}  # fmt: skip


def past_words(step: StepState) -> str:
    """Return what to do about a step that has gone on beyond its range; empty else."""
    if step.state != "running" or not step.planned_s < step.high_s < step.elapsed_s:
        return ""
    return next((rule.past_range for rule in steps() if rule.key == step.key), "")


def happened(kind: str, title: str = "") -> str:
    """Return what an event says in words, with the title of its step.

    Examples
    --------
    >>> happened("step_begun", "Scour the silver"), happened("plate_abandoned")
    ('begun, “Scour the silver”', 'given up')
    """
    said = HAPPENED.get(kind, kind.replace("_", " "))
    return f"{said}, “{title}”" if title else said


def span(seconds: float) -> str:
    """Return a span of time in words for the bench.

    Examples
    --------
    >>> [span(s) for s in (82.4, 250, 7500)]
    ['82 s', '4 min 10 s', '2 h 05 min']
    """
    sign, whole = ("-" if round(seconds) < 0 else ""), abs(round(seconds))
    if whole < 120:
        return f"{sign}{whole} s"
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        return f"{sign}{minutes} min" + (f" {rest:02d} s" if rest else "")
    hours, minutes = divmod(round(whole / 60), 60)
    return f"{sign}{hours} h {minutes:02d} min"


def clock_face(seconds: float) -> str:
    """Return seconds as a clock face: minutes and seconds, with hours from an hour on.

    Examples
    --------
    >>> [clock_face(s) for s in (9, 250.2, -61, 7500)]
    ['0:09', '4:10', '-1:01', '2:05:00']
    """
    whole = abs(round(seconds))
    sign = "-" if seconds < 0 and whole else ""
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{sign}{hours}:{minutes:02d}:{rest:02d}" if hours else f"{sign}{minutes}:{rest:02d}"


def change_words(why: str, was_s: float, planned_s: float) -> str:
    """Return by how much and why a step's length changed, as one line.

    Examples
    --------
    >>> change_words("box at 14 °C", 50, 82)
    'box at 14 °C: 82 s instead of 50 s'
    """
    return CHANGED.format(why=why, now=span(planned_s), before=span(was_s))


def hands_words(state: RunState, hands: Hands) -> str:
    """Return what a plate wants of the hands, in a few words."""
    title = state.step(hands.step).title
    return WANTED.format(title=title, wants=_want_words(state, hands))


def _want_words(state: RunState, hands: Hands) -> str:
    left, keep = hands.left_s or 0.0, hands.keep_left_s
    words = {
        "paused": "clock stopped",
        "ripe": OVER_TIME.format(span=span(-left)),
        "look": LOOK.format(span=span(left)),
        "busy": LEFT.format(span=span(left)),
        "wait": LEFT.format(span=span(left)),
        "begin": "may begin",
        "left_out": "not today: the plan has no place for it",
    }
    if hands.waits_for is not None:
        label = state.plate(hands.waits_for).label
        thing = state.step(hands.step).resource
        return WAITS.format(thing=thing, label=label, span=span(hands.in_s or 0.0))
    if hands.want in words:
        return words[hands.want]
    keep = keep or 0.0
    if keep > 0.0:
        return WITHIN.format(span=span(keep))
    return LATE.format(span=span(-keep)) if keep <= -1.0 else "at once"


def zone_of(state: RunState) -> tzinfo:
    """Return the time zone of a run's clock times."""
    return ZoneInfo(str(state.place.get("time_zone") or "UTC"))


def planned_words(step: StepState, zone: tzinfo, now: datetime | None = None) -> str:
    """Return when a step is planned, in words, with the day where it is not now's; empty: no plan.

    A step whose begin depends on what ended before it is never told by a clock time alone.
    """
    plan = step.plan
    if plan is None or step.state not in ("waiting", "ready", "running"):
        return ""
    if step.state == "running":
        return "" if plan.end is None else _until(step, plan.end, zone, now)
    start = _clock(plan.start, zone, now)
    if plan.limit and plan.latest is None:
        return ABOUT.format(limit=plan.limit, start=start)
    keep = step.keep_left_s  # a limit that runs out sooner is told beside it, and alone
    if plan.latest is None or step.float_s is None or (keep is not None and keep < step.float_s):
        return PLANNED.format(start=start)
    room = (BEHIND if step.float_s < 0 else ROOM).format(span=minutes(abs(step.float_s)))
    return LATEST.format(start=start, latest=_clock(plan.latest, zone, now), room=room)


def _until(step: StepState, end: datetime, zone: tzinfo, now: datetime | None) -> str:
    """Return until when a running step is planned and, where it is late, until when it goes now."""
    planned = PLANNED_UNTIL.format(end=_clock(end, zone, now))
    if now is None or step.left_s <= 0.0:
        return planned
    goes = now + timedelta(seconds=step.left_s)
    late = goes - end >= timedelta(seconds=LATE_S)
    return LATER.format(planned=planned, end=_clock(goes, zone, now)) if late else planned


def _clock(at: datetime, zone: tzinfo, now: datetime | None) -> str:
    there = at.astimezone(zone)
    other = now is not None and now.astimezone(zone).date() != there.date()
    return f"{there:%Y-%m-%d %H:%M}" if other else f"{there:%H:%M}"


def minutes(seconds: float) -> str:
    """Return a span of time in minutes, with hours from a hundred minutes on.

    Examples
    --------
    >>> [minutes(s) for s in (20, 720, 9000)]
    ['0 min', '12 min', '2 h 30']
    """
    whole = round(seconds / 60)
    return f"{whole} min" if whole < 100 else f"{whole // 60} h {whole % 60:02d}"


def plan_words(state: RunState, plate: PlateState) -> str:
    """Return in words when the plan has a plate's current step and the one after it."""
    if plate.current is None:
        return ""
    zone = zone_of(state)
    keys = [step.key for step in plate.steps]
    now = _with_frame(state, plate, planned_words(plate.step(plate.current), zone, state.now))
    now = _for_whom(state, plate, now)
    after = next(
        (s for s in plate.steps[keys.index(plate.current) + 1 :] if s.state == "waiting"), None
    )
    planned = "" if after is None else planned_words(after, zone, state.now)
    if not now or after is None or not planned:
        return now
    return THEN.format(now=now, title=state.step(after.key).title, planned=planned)


def _with_frame(state: RunState, plate: PlateState, planned: str) -> str:
    """Return when a plate's current step is planned, with the frame that it is planned in."""
    developed = next((s for s in plate.steps if state.step(s.key).law == "development"), None)
    frame = developed.plan.held if developed is not None and developed.plan is not None else ""
    here = plate.step(plate.current).plan if plate.current else None
    if not planned or not frame or here is None or here.held != frame:
        return planned
    return IN_FRAME.format(planned=planned, frame=frame)


def sitter_of(state: RunState, plate: str) -> str:
    """Return who comes for a plate, when, and the opening asked for; empty for nobody."""
    sitters = state.constants.get("sitters")
    sitter = sitters.get(plate) if isinstance(sitters, Mapping) else None
    if not isinstance(sitter, Mapping):
        return ""
    told = SITTER.format(name=sitter.get("name") or A_SITTER, time=sitter.get("time") or "")
    opening = sitter.get("f_number")
    return told if opening is None else AT_OPENING.format(sitter=told, f_number=opening)


def _for_whom(state: RunState, plate: PlateState, planned: str) -> str:
    """Return when a plate's current step is planned, with its sitter until it is exposed."""
    sitter, keys = sitter_of(state, plate.id), [step.key for step in plate.steps]
    exposed = next((i for i, key in enumerate(keys) if state.step(key).law == "exposure"), -1)
    if not planned or not sitter or keys.index(str(plate.current)) > exposed:
        return planned
    return FOR.format(planned=planned, sitter=sitter)


def next_words(state: RunState) -> str:
    """Return in words which step the plan gives these hands next; empty without one."""
    found = next_planned(state)
    if found is None:
        return ""
    step = state.plate(found.plate).step(found.step)
    planned = planned_words(step, zone_of(state), state.now)
    title = state.step(found.step).title
    return NEXT.format(label=found.label, title=title, planned=planned)


def early_words(state: RunState, hands: Hands) -> str:
    """Return that a plate may wait too long when it is begun now; empty where it may not.

    That is a plate which is not exposed yet and could begin long before the plan says, while
    another is on its way.
    """
    own = state.plate(hands.plate)
    plan = own.step(hands.step).plan
    others = any(
        one.id != own.id
        and one.state == "open"
        and one.current is not None
        and any(step.begun is not None for step in one.steps)
        for one in state.plates
    )
    early = hands.action == "begin" and (hands.planned_in_s or 0.0) > EARLY_S
    if plan is None or not (others and early) or state.step(hands.step).stage not in BEFORE_LIGHT:
        return ""
    return TOO_EARLY.format(start=plan.start.astimezone(zone_of(state)))


def offer_of(state: RunState) -> PlanOffer | None:
    """Return the new plan that waits, while a plate is in work or it brings one."""
    offer = state.offer
    return offer if offer is not None and (offer.more is not None or hands_next(state)) else None


def offer_lines(offer: PlanOffer) -> list[str]:
    """Return what a new plan changes, and the odds of the day by it and without it."""
    first, *more = offer.lines or ("",)
    # where nothing moves it only says what is so
    changes = offer.moved or offer.left_out or offer.share != offer.kept_share
    lines = [OFFER.format(line=first) if changes else first, *more]
    if offer.share is not None:
        share, kept = (
            None if one is None else math.floor(100.0 * one + 0.5)
            for one in (offer.share, offer.kept_share)
        )
        said = OFFER_EITHER if share == kept else OFFER_ODDS
        lines.append((OFFER_ALONE if kept is None else said).format(share=share, kept=kept))
    if offer.why:
        lines.append(OFFER_WHY.format(why=offer.why))
    if offer.moved:
        many = OFFER_MOVES.format(count=len(offer.moved))
        lines.append(OFFER_ONE_MOVES if len(offer.moved) == 1 else many)
    return lines
