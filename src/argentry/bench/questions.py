"""How a plate came out, and why it is given up: one question after the other, one key each.

Twin of the page's ``questions.js``; the rules in words are in ``docs/bench.md``, section 10.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from argentry.bench.dew import DewRule, dew_rule
from argentry.bench.hands import last_done
from argentry.records.plate import GRADES, STAGES, VERDICTS
from argentry.records.run import PlateState, RunState
from argentry.records.units import Units, typed_unit
from argentry.trade.decide import again_from
from argentry.trade.defects import defects, named_in
from argentry.trade.readings import quantities
from argentry.trade.steps import stage_of, steps

OVER = ("done", "later")  # what a form asks when nothing more is to be asked
WORDS = {
    "grade": "How did {label} come out?",
    "stage": "{label}: which stage failed or fell short?",
    "defect": "{label}, {stage}: what is seen?",
    "exposure": "{label}: how was the exposure?",
    "named": "{label}: is that the defect “{look}”?",
    "reason": "Give {label} up: why?",
}
OUTWARD_WORDS = {
    "no_time": "No time left",
    "light_gone": "The light is gone",
    "sitter_left": "The sitter left",
    "other": "Another reason",
}
FAULT = "Something was wrong"
LATER = ("later", "Later")


@dataclass(frozen=True)
class Catalogue:
    """What the page asks with, so that it asks in the same words while the server is away.

    Attributes
    ----------
    grades, verdicts, stages : tuple of str
        In order.
    defects : tuple of (str, str, tuple of str)
        Key, look and stages of each.
    stage_of : Mapping[str, str]
        Step to stage, for runs opened before a step said its own.
    questions, outward : Mapping[str, str]
        Words of each question, and of each outward reason.
    fault : str
        Words of the reason that is none of those.
    quantities : tuple of (str, str, str, float, float)
        Key, title and unit of what may be measured, and the range in which a value can be true.
    reads : Mapping[str, tuple of str]
        Step to the quantities it asks for.
    again_from : Mapping[str, str]
        Step to the one from which it is done again, where that is another.
    units : Units
        In which the page shows temperatures and lengths.
    dew : DewRule
        By which it says how warm a plate must be before iodine.
    past_range : Mapping[str, str]
        Step to what is to be done when it has gone on beyond its range.
    """

    grades: tuple[str, ...]
    verdicts: tuple[str, ...]
    stages: tuple[str, ...]
    defects: tuple[tuple[str, str, tuple[str, ...]], ...]
    stage_of: Mapping[str, str]
    questions: Mapping[str, str]
    outward: Mapping[str, str]
    fault: str
    quantities: tuple[tuple[str, str, str, float, float], ...]
    reads: Mapping[str, tuple[str, ...]]
    again_from: Mapping[str, str]
    units: Units
    dew: DewRule
    past_range: Mapping[str, str]


def catalogue(units: Units) -> Catalogue:
    """Return what the page asks with, readings in the units that the studio types."""
    return Catalogue(
        grades=GRADES,
        verdicts=VERDICTS,
        stages=STAGES,
        defects=tuple((one.key, one.look, one.stages) for one in defects().values()),
        stage_of=dict(stage_of()),
        questions=WORDS,
        outward=OUTWARD_WORDS,
        fault=FAULT,
        quantities=tuple(
            (q.key, q.title, unit, *q.range_in(unit))
            for q in quantities().values()
            for unit in (typed_unit(q.unit, units),)
        ),
        reads={rule.key: (*rule.reads_before, *rule.reads_after) for rule in steps()},
        again_from={s.key: again_from(s.key) for s in steps() if again_from(s.key) != s.key},
        units=units,
        dew=dew_rule(),
        past_range={rule.key: rule.past_range for rule in steps() if rule.past_range},
    )


@dataclass(frozen=True)
class Form:
    """What was answered so far about one plate.

    Attributes
    ----------
    plate, label : str
        Id and label.
    asking : str
        A key of `WORDS`, or one of `OVER`.
    gives_up : bool
        True while it asks why the plate is given up.
    stage : str
        The stage asked about; at first where the plate stands.
    noted : tuple of (str, str)
        Defects that remarks of the run name, with the stage they are put down to.
    grade, verdict, outward : str or None
        As answered.
    faults : tuple of str
        Stages that failed or fell short.
    defects : tuple of (str, str)
        Defects with their stage.
    words : str
        Remark.
    """

    plate: str
    label: str
    asking: str = "grade"
    gives_up: bool = False
    stage: str = ""
    noted: tuple[tuple[str, str], ...] = ()
    grade: str | None = None
    verdict: str | None = None
    outward: str | None = None
    faults: tuple[str, ...] = ()
    defects: tuple[tuple[str, str], ...] = ()
    words: str = ""


def new_form(state: RunState, plate: str, *, gives_up: bool = False) -> Form:
    """Return the first question about a plate of a run.

    Parameters
    ----------
    state : RunState
        The run now.
    plate : str
        Id of the plate.
    gives_up : bool
        True to ask why it is given up, else how it came out.
    """
    own = state.plate(plate)
    noted: dict[str, str] = {}
    for remark in state.remarks:
        if remark.plate == plate:
            at = _stage(state, remark.step or "")
            for key in named_in(remark.words):
                noted[key] = _origin(key, at)
    return Form(
        plate=plate,
        label=own.label,
        asking="reason" if gives_up else "grade",
        gives_up=gives_up,
        stage=_stage(state, _stands_at(own)),
        noted=tuple(noted.items()),
    )


def _stands_at(plate: PlateState) -> str:
    """Return the step a plate stands at: one just done whose check was wrong, else the next."""
    last = last_done(plate)
    going_on = any(step.state == "running" for step in plate.steps)
    if last is not None and last.answer == "wrong" and not going_on:
        return last.key
    return plate.current or ""


def _stage(state: RunState, key: str) -> str:
    stated = next((step.stage for step in state.steps if step.key == key), "")
    return stated or stage_of().get(key, "")


def _origin(key: str, stage: str) -> str:
    stages = defects()[key].stages
    return stage if stage in stages else stages[0]


def question(form: Form) -> str:
    """Return what a form asks, in words; nothing when it is over."""
    look = defects()[form.noted[0][0]].look if form.asking == "named" else ""
    words = WORDS.get(form.asking, "")
    return words.format(label=form.label, stage=form.stage, look=look)


def choices(form: Form) -> tuple[tuple[str, str], ...]:
    """Return what may be answered: key and words of each, the last of a grading is *Later*."""
    told = _CHOICES[form.asking](form)
    return (*told, LATER) if not form.gives_up else tuple(told)


def _grades(_: Form) -> list[tuple[str, str]]:
    return [(grade, grade.capitalize()) for grade in GRADES]


def _stages(form: Form) -> list[tuple[str, str]]:
    open_ = [one for one in form.noted if one not in form.defects]
    said = [(f"{key} {stage}", f"Noted: {defects()[key].look}") for key, stage in open_]
    told = said + [(stage, stage.capitalize()) for stage in STAGES]
    return told if form.gives_up else [*told, ("unsaid", "Cannot say")]


def _looks(form: Form) -> list[tuple[str, str]]:
    own = [entry for entry in defects().values() if form.stage in entry.stages]
    told = [(entry.key, entry.look.capitalize()) for entry in own]
    other = [("another", "Another stage")] if form.gives_up else []
    return [*told, *other, ("unsaid", "None of these")]


def _verdicts(form: Form) -> list[tuple[str, str]]:
    told = [(verdict, verdict.capitalize()) for verdict in VERDICTS]
    more = [] if form.grade == GRADES[-1] else [("another", "One more defect")]
    return [*told, ("unsaid", "Cannot say"), *more, ("remark", "Remark")]


def _named(_: Form) -> list[tuple[str, str]]:
    return [("yes", "Yes, note it"), ("no", "No, a remark only")]


def _reasons(_: Form) -> list[tuple[str, str]]:
    return [("fault", FAULT), *OUTWARD_WORDS.items()]


_CHOICES = {
    "grade": _grades,
    "stage": _stages,
    "defect": _looks,
    "exposure": _verdicts,
    "named": _named,
    "reason": _reasons,
}


def answered(form: Form, key: str) -> Form:
    """Return a form with one more answer: a key of `choices`.

    Examples
    --------
    >>> form = Form("id", "A1")
    >>> for key in ("lost", "development", "fog", "under"):
    ...     form = answered(form, key)
    >>> form.asking, form.grade, form.defects, form.verdict
    ('done', 'lost', (('fog', 'development'),), 'under')
    """
    if key == LATER[0]:
        return replace(form, asking="later")
    return _NEXT[form.asking](form, key)


def _graded(form: Form, key: str) -> Form:
    return replace(form, grade=key, asking="exposure" if key == GRADES[-1] else "stage")


def _staged(form: Form, key: str) -> Form:
    if key == "unsaid":
        return replace(form, asking="exposure")
    if key in STAGES:
        failed = replace(form, stage=key, asking="defect")
        return failed if form.gives_up else _failed(failed, key)
    defect, stage = key.split(" ")
    return _seen(replace(form, stage=stage), defect)


def _failed(form: Form, stage: str) -> Form:
    return replace(form, faults=tuple(dict.fromkeys((*form.faults, stage))))


def _seen(form: Form, key: str) -> Form:
    if key == "another":
        return replace(form, asking="stage")
    found = () if key == "unsaid" else ((key, form.stage),)
    more = replace(form, defects=tuple(dict.fromkeys((*form.defects, *found))))
    return replace(_failed(more, form.stage), asking="done" if form.gives_up else "exposure")


def _exposed(form: Form, key: str) -> Form:
    if key in ("another", "remark"):
        return replace(form, asking="stage" if key == "another" else "exposure")
    return replace(form, verdict=None if key == "unsaid" else key, asking="done")


def _agreed(form: Form, key: str) -> Form:
    defect, stage = form.noted[0]
    rest = replace(form, noted=form.noted[1:], stage=stage)
    told = _seen(rest, defect) if key == "yes" else rest
    return replace(told, asking="named" if rest.noted else "exposure")


def _reasoned(form: Form, key: str) -> Form:
    if key != "fault":
        return replace(form, outward=key, asking="done")
    noted = any(one not in form.defects for one in form.noted)
    return replace(form, asking="stage" if noted or not form.stage else "defect")


_NEXT = {
    "grade": _graded,
    "stage": _staged,
    "defect": _seen,
    "exposure": _exposed,
    "named": _agreed,
    "reason": _reasoned,
}


def remarked(form: Form, words: str) -> Form:
    """Return a form with a remark; one that names a defect asks whether it is that defect."""
    known = {key for key, _ in form.defects}
    named = tuple((key, _origin(key, form.stage)) for key in named_in(words) if key not in known)
    asking = "named" if named else form.asking
    return replace(form, words=words, noted=named or form.noted, asking=asking)


def body(form: Form, plate: PlateState, state: RunState) -> Mapping[str, Any]:
    """Return the body of the event that a form comes to: of the grading, or of the giving up.

    Stages before the first that failed went well, except one that the clock saw done too soon or
    whose check was wrong, and an exposure that was not right; a plate without a fault went well in
    every stage, when it is good.
    """
    if form.gives_up:
        defect = form.defects[0][0] if form.defects else None
        why = OUTWARD_WORDS[form.outward] if form.outward else FAULT
        return {
            "stage": form.stage,
            "reason": "outward" if form.outward else "fault",
            "defect": defect,
            "outward": form.outward,
            "why": why if defect is None else defects()[defect].look,
        }
    good = form.grade in GRADES[2:]
    first = min((STAGES.index(stage) for stage in form.faults), default=5 if good else 0)
    doubted = {
        _stage(state, step.key)
        for step in plate.steps
        if step.short or any(one.answer == "wrong" for one in step.answers)
    }
    if not good and form.verdict not in (None, "right"):
        doubted.add("exposure")
    well = {stage: "ok" for stage in STAGES[:first] if stage not in doubted}
    return {
        "grade": form.grade,
        "verdict": form.verdict,
        "defects": [list(pair) for pair in form.defects],
        "stages": {**well, **dict.fromkeys(form.faults, "fault")},
        "words": form.words,
    }
