"""What a run on the bench tells of its plates: conditions, stages passed, checks answered.

Nothing of it is stored twice: the events are read again whenever it is asked, so a correction in
the run is a correction here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.records.plate import STAGES, Making
from argentry.trade.defects import stage_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from argentry.records.event import Event
    from argentry.records.run import PlateState, Redone, RunState, StepState
    from argentry.records.studio import Studio

Known = dict[str, float | str]

# Readings by the step they belong to: the last one before that step's end counts.
READ_BY = {
    "room_c": "iodise",
    "room_rh_pct": "iodise",
    "box_c": "iodise",
    "plate_c": "iodise",
    "meter_ev": "expose",
    "cloud_okta": "expose",
    "water_us_cm": "wash",
}


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
    read = _readings(events)
    return [_plate(state, plate, read, studio) for plate in state.plates]


def _plate(
    state: RunState, plate: PlateState, read: Sequence[Mapping[str, Any]], studio: Studio | None
) -> PlateSoFar:
    steps = {step.key: step for step in plate.steps}
    known = {**_lengths(steps, _zone(state)), **_read(steps, plate.id, read)}
    if "exposure_seconds" in known and studio is not None:
        known["lens"] = studio.lenses[0].name
        known["f_number"] = float(studio.lenses[0].f_number)
        known["subject_plane"] = studio.subject.plane
    if "gilding_minutes" in known and studio is not None:
        known["water_kind"] = studio.water.kind
        if studio.water.conductivity_us_cm is not None:
            known.setdefault("water_us_cm", float(studio.water.conductivity_us_cm))
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
        now=plate.current,
        redone=plate.redone,
    )


def _zone(state: RunState) -> ZoneInfo:
    return ZoneInfo(str(state.place.get("time_zone", "UTC")))


def _done(plate: PlateState) -> str | None:
    """Return the last stage all of whose steps are over; a stage counts only after those before."""
    last = None
    for stage in STAGES:
        own = [step for step in plate.steps if stage_of().get(step.key) == stage]
        if not own or not all(step.state in ("done", "skipped") for step in own):
            break
        last = stage
    return last


def _answers(plate: PlateState) -> dict[str, str]:
    """Return the worst answer of each stage; a step done too soon is doubtful at best."""
    order = ("right", "doubtful", "wrong")
    worst: dict[str, str] = {}
    for step in plate.steps:
        stage = stage_of().get(step.key)
        told = [one.answer for one in step.answers] + ["doubtful"] * step.short
        if stage is not None and told:
            worst[stage] = max(worst.get(stage, "right"), *told, key=order.index)
    return worst


def _lengths(steps: Mapping[str, StepState], zone: ZoneInfo) -> Known:
    known: Known = {}

    def over(key: str) -> StepState | None:
        step = steps.get(key)
        return step if step is not None and step.state == "done" and step.begun else None

    buffing = [step.elapsed_s for key in ("rouge_buff", "final_buff") if (step := over(key))]
    if buffing:
        known["buff_minutes"] = round(sum(buffing) / 60.0, 2)
    coat, shot, dish = over("iodise"), over("expose"), over("develop")
    if coat:
        known["fuming_seconds"] = round(coat.elapsed_s, 1)
    if shot and shot.begun:
        known["exposure_seconds"] = round(shot.elapsed_s, 1)
        known["exposure_start"] = shot.begun.astimezone(zone).isoformat(timespec="seconds")
        if coat and coat.ended:
            known["coat_to_exposure_minutes"] = _minutes(coat.ended, shot.begun)
    if dish and dish.begun and dish.ended:
        known["development_start"] = dish.begun.astimezone(zone).isoformat(timespec="seconds")
        known["development_end"] = dish.ended.astimezone(zone).isoformat(timespec="seconds")
        if shot and shot.ended:
            known["exposure_to_development_minutes"] = _minutes(shot.ended, dish.begun)
    if gilt := over("gild"):
        known["gilding_minutes"] = round(gilt.elapsed_s / 60.0, 2)
    sealed = over("seal")
    if sealed and sealed.ended and coat and coat.begun:
        same = sealed.ended.astimezone(zone).date() == coat.begun.astimezone(zone).date()
        known["sealed_same_day"] = "yes" if same else "no"
    return known


def _minutes(start: datetime, end: datetime) -> float:
    return round(max((end - start).total_seconds(), 0.0) / 60.0, 2)


def _readings(events: Sequence[Event]) -> list[dict[str, Any]]:
    counted, _ = effective(events)
    return [
        {"what": e.body.get("what"), "value": e.body.get("value"), "plate": e.plate, "at": e.at}
        for e in sorted(counted, key=lambda one: (one.at, one.id))
        if e.kind == "reading_taken"
    ]


def _read(steps: Mapping[str, StepState], plate: str, read: Sequence[Mapping[str, Any]]) -> Known:
    known: Known = {}
    for one in read:
        step = steps.get(READ_BY.get(str(one["what"]), ""))
        if step is None or one["plate"] not in (None, plate):
            continue
        before = step.ended is None or one["at"] <= step.ended
        if before and isinstance(one["value"], (int, float)):
            known[str(one["what"])] = float(one["value"])
    return known


def with_run(making: Making, plate: PlateSoFar) -> Making:
    """Return a making with what the bench saw; what was written down by hand goes before it."""
    stages = {s: "fault" for s, answer in plate.answers.items() if answer == "wrong"}
    return replace(
        making,
        conditions={**plate.known, **making.conditions},
        stages={**stages, **making.stages},
    )
