"""A plate's record in words, for a terminal: the same as its page shows."""

from __future__ import annotations

from datetime import datetime
from operator import itemgetter
from typing import TYPE_CHECKING

from argentry.needs.doubt.percent import NONE_YET, good_share
from argentry.out.learning.words import accident, behind, number, share
from argentry.out.plates.band_text import making_band_text
from argentry.out.wording import (
    clock,
    counted,
    later,
    shown_unit,
    step_length,
    step_range,
)
from argentry.out.wording import plates as count_of
from argentry.records.day import Range
from argentry.records.decision import ADVICE
from argentry.records.plate import GRADES
from argentry.trade.defects import defect_look

if TYPE_CHECKING:
    from collections.abc import Iterator

    from argentry.desk.learning.causes import WhyPlate
    from argentry.desk.learning.kept_plates import KeptPlate
    from argentry.records.plate_record import (
        AdviceRecord,
        DoseRecord,
        KnownRecord,
        MakingRecord,
        PlateRecord,
        PlateWork,
        StepRecord,
    )

STATES = {"going": "being made", "finished": "finished", "given_up": "given up"}
DID = {"continue": "continued", "redo": "redone", "stop": "stopped"}
PICTURE_TELLS = {
    "place": "where it was taken",
    "names": "whose it is",
    "place and names": "where it was taken and whose it is",
}
HEAD = "Plate {label}: {size}{silver}"
SILVERED = "Silvered {day}"
REPOLISHED = "Polished back: {times} ×"
MAKING = "{day} (session {session}, plate {order}): {grade}{verdict}{promised}{state}"
WHICH = "Making {number}: "
THEN = "{first}, then {now}"
STEP = "{begun} {title}: {done}, planned {planned}{note}"
ADVISED = "{at} after {stage}: {chance}. Advice: {advice}{did}"
CAME = "It came out {grade}."
AGAIN = " – done again later"
LEARNED, STARTING = "learned from {others}", "the studio's starting value"
DOSE = "{what}: {received} kJ/m² received, {needed} ({low}–{high}) needed; {behind}"
LIGHT = {"exposure": "Exposure light on the subject", "development": "Development light"}
KNOWN = "{words}: {value}"
CHECK = "check “{check}”: {answer}{value}{words}"
FOLLOWED, NOT_FOLLOWED = "; followed", "; not followed: {did}"
WHY = "Why it failed, from {plates}, {failures} of which failed: {words}"
CAUSE = "{title} ({stage}): {share}; {because}. Check{takes}: {check}{first}"
TAKES = ", {minutes:.0f} min"
FIRST = " (check this first)"
NO_CAUSES_YET = "Why it failed is not worked out yet: argentry why {label}"
GOOD = "Chance of a good plate: {share}; {behind}"
LENGTHS = ("s", "min")
COMMON = "how common it is"
EARLIER = "{at:%Y-%m-%d %H:%M}{by}: {words}"


def record_lines(
    record: PlateRecord,
    kept: KeptPlate | None = None,
    *,
    width: int = 80,
    plain: bool = False,
) -> list[str]:
    """Return a plate's record as lines for a terminal.

    Parameters
    ----------
    record : PlateRecord
        Of the plate.
    kept : KeptPlate or None
        Why it failed or how it stands, where that was worked out.
    width : int
        Columns of the terminal.
    plain : bool
        True for a terminal that has ASCII alone.
    """
    thick = (
        ""
        if record.silver_um is None
        else ", {silver_um:g} µm silver".format(silver_um=record.silver_um)
    )
    silver = thick + (f" by {record.silver_source}" if record.silver_source else "")
    size = record.size or "size not known"
    lines = [HEAD.format(label=record.label, size=size, silver=silver)]
    if record.made_on:
        lines.append(SILVERED.format(day=record.made_on))
    if record.times_repolished:
        lines.append(REPOLISHED.format(times=record.times_repolished))
    lines += [work_line(one) for one in record.work]
    if record.remark:
        lines.append(record.remark)
    several = len(record.outcomes) > 1
    for place, making in enumerate(record.outcomes, 1):
        which = WHICH.format(number=place) if several else ""
        band = making_band_text(making, width - 2, plain=plain)
        lines += ["", f"{which}{headline(making)}"]
        lines += [f"  {one}".rstrip() for one in (*band, *_making(making))]
    if kept is not None and kept.why is not None:
        lines += ["", *cause_lines(kept.why)]
    elif kept is None and record.outcomes and record.outcomes[-1].grade == GRADES[0]:
        lines += ["", NO_CAUSES_YET.format(label=record.label)]
    if kept is not None and kept.odds is not None:
        told = behind(kept.odds.plates, prior=kept.odds.mostly_prior)
        lines += ["", GOOD.format(share=share(kept.odds), behind=told)]
    if record.pictures:
        lines += ["", "Pictures: {count}".format(count=len(record.pictures))]
        lines += [f"  {one}" for one in record.read]
    return lines


def work_line(work: PlateWork) -> str:
    """Return one piece of work on a plate in a line."""
    by = f" by {work.who}" if work.who else ""
    remark = f": {work.remark}" if work.remark else ""
    return f"{work.at:%Y-%m-%d %H:%M} {work.kind.replace('_', ' ')}{by}{remark}"


def headline(making: MakingRecord) -> str:
    """Return day, grade and state of a making in a line."""
    return MAKING.format(
        day=making.day,
        session=making.session,
        order=making.order,
        grade=making.grade or "not graded",
        verdict=f", exposure {making.verdict}" if making.verdict else "",
        promised=", promised to somebody" if making.commissioned else "",
        state="" if making.state == "finished" else f", {STATES[making.state]}",
    )


def _making(making: MakingRecord) -> Iterator[str]:
    if making.sitter:
        yield "By appointment: {sitter}".format(sitter=making.sitter)
    if making.given_up:
        yield "Given up: {given_up}".format(given_up=making.given_up)
    if making.stages:
        yield ", ".join(f"{name} {state}" for name, state in making.stages.items())
    for defect in making.defects:
        yield "{look}, from {origin}".format(
            look=defect_look(defect.defect), origin=defect.from_.replace("_", " ")
        )
        if defect.remedy:
            yield "  look for: {causes}".format(causes="; ".join(defect.causes))
            yield "  next plate: {remedy}".format(remedy=defect.remedy)
    for step in steps_done(making):
        yield step_line(step)
        for one in step.answers:
            value = "" if one.value is None else f" ({one.value:g})"
            words = f" ({one.words})" if one.words else ""
            told = CHECK.format(check=one.check, answer=one.answer, value=value, words=words)
            yield f"  {told}"
        yield from (f"  {why}" for why in step.changes)
    for advice in making.advice:
        yield advice_line(advice)
    if making.advice and making.grade:
        yield CAME.format(grade=making.grade)
    yield from (dose_line(dose) for dose in making.doses)
    for reading in making.readings:
        yield f"{clock(reading.at)} {reading.title}: {reading.value:g} {shown_unit(reading.unit)}"
    for known in making.known:
        yield KNOWN.format(words=known.words, value=known_value(known))
    for remark in making.remarks:
        yield f"{clock(remark.at)} {remark.words}"
    if making.remark:
        yield making.remark
    for said in making.judgements:
        by = f", {said.by}" if said.by else ""
        yield EARLIER.format(at=said.at, by=by, words=said.words)


def cause_lines(why: WhyPlate) -> Iterator[str]:
    """Return why a plate failed: each cause with its chance, its evidence and its check."""
    yield WHY.format(plates=count_of(why.plates), failures=why.failures, words=why.words)
    for row in why.causes:
        told = CAUSE.format(
            title=row.title,
            stage=row.stage,
            share=share(row),
            because="; ".join(row.because) or COMMON,
            takes=TAKES.format(minutes=row.check_minutes) if row.check_minutes else "",
            check=row.check,
            first=FIRST if row.cause == why.next_check else "",
        )
        yield f"  {told}"
    if why.causes:
        yield accident(why)


def known_value(known: KnownRecord) -> str:
    """Return a condition's value with its unit; a moment as date and time of day.

    A length is whole from ten on: the bench's clock tells hundredths of a minute.
    """
    if isinstance(known.value, (int, float)):
        whole = known.unit in LENGTHS and known.value >= 10.0
        told = f"{known.value:.0f}" if whole else f"{known.value:g}"
        return f"{told} {shown_unit(known.unit)}".rstrip()
    try:
        at = datetime.fromisoformat(known.value)
        return f"{later(at, 0.5):%Y-%m-%d %H:%M}"  # to the nearest minute, as the steps are told
    except ValueError:
        return known.value


def step_line(step: StepRecord) -> str:
    """Return one step as done against plan."""
    done = "still going" if step.ended is None else step_length(step.elapsed_s or 0.0)
    return STEP.format(
        begun=clock(step.begun),
        title=step.title,
        done=done,
        planned=planned_length(step),
        note=(" – far too short" if step.short else "") + (AGAIN if step.state == "redone" else ""),
    )


def planned_length(step: StepRecord) -> str:
    """Return the length a step was planned with, and with its range what it had become.

    The range is that of the later length: next to the first one it need not hold it.
    """
    now = step_range(step.settled_s, step.low_s, step.high_s)
    first = step_length(step.planned_s)
    return now if first == step_length(step.settled_s) else THEN.format(first=first, now=now)


def steps_done(making: MakingRecord) -> list[StepRecord]:
    """Return the steps that were begun, in order of time."""
    # by the moment: of one zone, two times compare by the wall clock, which goes back an hour
    begun = [(step.begun.timestamp(), step) for step in making.steps if step.begun]
    return [step for _, step in sorted(begun, key=itemgetter(0))]


def advice_line(advice: AdviceRecord) -> str:
    """Return odds and advice of one checkpoint, and what was done instead."""
    chance = Range(advice.low, advice.probability, advice.high)
    did = FOLLOWED
    if advice.did is not None:
        did = NOT_FOLLOWED.format(did=DID.get(advice.did, advice.did))
    return ADVISED.format(
        at=clock(advice.at),
        stage=advice.stage,
        chance=good_share(chance, counted(advice.plates, "plate") if advice.plates else NONE_YET),
        advice=advice.words or ADVICE.get(advice.advice, advice.advice),
        did=did,
    )


def dose_line(dose: DoseRecord) -> str:
    """Return light received against light needed in a line."""
    source = LEARNED.format(others=counted(dose.plates, "other plate")) if dose.plates else STARTING
    return DOSE.format(
        what=LIGHT.get(dose.what, dose.what),
        received=number(dose.received),
        needed=number(dose.needed),
        low=number(dose.needed_low),
        high=number(dose.needed_high),
        behind=source,
    )
