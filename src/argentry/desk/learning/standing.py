"""Where a plate stands: what is known of it, what was checked, how much of the day is left."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from argentry.errors import BadInput, check_range, did_you_mean
from argentry.learn.deciding.stage_work import usual_work
from argentry.learn.stages.table import succeeded
from argentry.records.plate import STAGES
from argentry.records.studio import Hours
from argentry.sky.place import resolve_place
from argentry.trade.conditions import conditions

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from argentry.desk.numbers.makings import Gathered
    from argentry.desk.numbers.run_so_far import Figures, PlateSoFar
    from argentry.learn.stages.assumed import Assumed
    from argentry.records.plate import Making

NOT_GRADED = "The run of this plate is over; how it came out is not noted yet."
FINISHED, GIVEN_UP = "is finished ({came})", "was given up"
BEHIND = (
    "This plate {over}: these are the odds predicted from its conditions by the other plates alone."
)
SHOWS_ALL = "development"  # the developed image shows every fault so far


@dataclass(frozen=True)
class Asked:
    """What is known of a plate beside what is written down.

    Attributes
    ----------
    known : Mapping[str, float or str]
        Conditions by column of the table of plates.
    stages : Mapping[str, str]
        Stage to ``"ok"`` or ``"fault"``.
    after : str or None
        The stage just finished; None: as far as the book knows.
    minutes_left : float or None
        Of the day; None: by the studio's hours. [min]
    """

    known: Mapping[str, float | str] = field(default_factory=dict)
    stages: Mapping[str, str] = field(default_factory=dict)
    after: str | None = None
    minutes_left: float | None = None


@dataclass(frozen=True)
class Standing:
    """Where a plate stands.

    Attributes
    ----------
    known : Mapping[str, float or str]
        Its conditions.
    stages : Mapping[str, str]
        Stages of which it is known how they came out.
    answers : Mapping[str, str]
        Stage to the answer of its check.
    done : str or None
        The stage just finished.
    minutes_left : float
        Of the day. [min]
    session : str or None
        Its session.
    grade : str or None
        When it is graded.
    came : Mapping[str, str]
        How each stage of a graded plate came out.
    checked : Mapping[str, str]
        Of a graded plate, stage to the answer of its check: they come too late for its odds.
    unseen_short : tuple of str
        As of a `PlateSoFar`.
    told : Mapping[str, Figures]
        Of a graded plate, as of a `PlateSoFar`.
    overlap : bool
        Whether other plates are worked on beside it.
    others : tuple of Making
        The plates it is judged by: all but itself.
    notes : tuple of str
        What to know.
    seen : Mapping[str, PlateSoFar]
        Id of a making to what the bench saw of it.
    assumed : Assumed or None
        Before any plate; None: by the trade.
    """

    known: Mapping[str, float | str]
    stages: Mapping[str, str]
    answers: Mapping[str, str]
    done: str | None
    minutes_left: float
    session: str | None
    grade: str | None
    overlap: bool
    others: tuple[Making, ...]
    notes: tuple[str, ...]
    seen: Mapping[str, PlateSoFar] = field(default_factory=dict)
    assumed: Assumed | None = None
    came: Mapping[str, str] = field(default_factory=dict)
    checked: Mapping[str, str] = field(default_factory=dict)
    unseen_short: tuple[str, ...] = ()
    told: Mapping[str, Figures] = field(default_factory=dict)


def check_known(gathered: Gathered, known: Mapping[str, float | str]) -> None:
    """Refuse a condition that nobody knows, or a value that cannot be."""
    from argentry.exchange.plates.columns import columns

    documented = {column.name: column for column in columns()}
    own = {name for one in gathered.makings for name in one.conditions}
    names = {*documented, *own, *(c.key for c in conditions())}
    for name, value in known.items():
        if name not in names:
            right = did_you_mean(name, names, "see docs/plates-csv.md", 0.5)
            raise BadInput(
                "--set", "{name!r} is not a condition known here".format(name=name[:40]), right
            )
        column = documented.get(name)
        if column is None or column.kind not in ("number", "whole number"):
            continue
        if isinstance(value, str):
            raise BadInput(
                "--set {name}".format(name=name),
                "{value!r} is not a number",
                "give a number",
                value=value,
            )
        check_range(f"--set {name}", value, column.low, column.high, column.unit)


def standing_of(gathered: Gathered, label: str, asked: Asked, now: datetime) -> Standing:
    """Return where a plate stands, by the bench, the book, and what is asked.

    Raises
    ------
    BadInput
        If there is no such plate, or a stage or number is not known.
    """
    making = gathered.in_making.get(label)
    own = gathered.of_plate(label)
    last = own[-1] if own else None
    if making is not None and (last is None or last.run != making.run or last.grade is None):
        found = standing_of_run(gathered, making, now)
    elif last is not None:
        found = _written(gathered, last)
    else:
        note = "Nothing is known about this plate yet: these are the odds of an average plate."
        day = whole_day(gathered)
        found = Standing({}, {}, {}, None, day, None, None, False, gathered.makings, (note,))
    found = replace(found, seen=gathered.seen, assumed=gathered.assumed)
    return _with_asked(gathered, found, asked)


def _with_asked(gathered: Gathered, found: Standing, asked: Asked) -> Standing:
    done, known = found.done, found.known
    if asked.after is not None:
        if asked.after not in STAGES:
            raise BadInput(
                "--after",
                "{after!r} is not a stage",
                "use {stages}",
                after=asked.after,
                stages=", ".join(STAGES),
            )
        done = asked.after
        known = {key: value for key, value in known.items() if known_after(key, done)}
        by_then = STAGES[: STAGES.index(done) + 1]
        found = replace(found, answers={s: a for s, a in found.answers.items() if s in by_then})
    left = found.minutes_left if asked.minutes_left is None else asked.minutes_left
    check_range("--left", left, 0.0, 2000.0, "min")
    return replace(
        found,
        known=gathered.known(known, asked.known),
        stages={**found.stages, **asked.stages},
        done=done,
        minutes_left=left,
    )


def known_after(column: str, stage: str) -> bool:
    """Return whether a column can be known once a stage is over; the maker's own always count."""
    of = [STAGES.index(c.stage) for c in conditions() if column in (c.key, *c.columns)]
    return not of or min(of) <= STAGES.index(stage)


def _written(gathered: Gathered, last: Making) -> Standing:
    """Return a plate as the book has it; a graded one as it stood before it was seen."""
    others = tuple(one for one in gathered.makings if one.id != last.id)
    day = whole_day(gathered)
    seen = gathered.seen.get(last.id)
    if succeeded(last) is not None:
        came = last.grade or ("good" if succeeded(last) else "lost")
        graded = last.grade is not None or last.state != "given_up"
        note = BEHIND.format(over=(FINISHED if graded else GIVEN_UP).format(came=came))
        return Standing(
            last.conditions, {}, {}, None, day, last.session, came, False, others, (note,),
            came=last.stages, checked={} if seen is None else seen.answers,
            told={} if seen is None else seen.told,
        )  # fmt: skip
    over = last.run is not None and last.state == "finished"
    done, notes = (STAGES[-1], (NOT_GRADED,)) if over else (None, ())
    for stage in () if over else STAGES[:-1]:
        if stage not in last.stages:
            break
        done = stage
    return Standing(
        last.conditions, last.stages, {} if seen is None else seen.answers, done, day, last.session,
        None, False, others, notes, unseen_short=() if seen is None else seen.unseen_short,
    )  # fmt: skip


def standing_of_run(gathered: Gathered, making: PlateSoFar, now: datetime) -> Standing:
    """Return a plate on the bench as it stands now."""
    beside = [one for one in gathered.in_making.values() if one.run == making.run]
    others = tuple(
        one for one in gathered.makings if not (one.run == making.run and one.plate == making.plate)
    )
    return Standing(
        known=gathered.known(making.known, {}),
        stages={},
        answers=making.answers,
        done=making.done,
        minutes_left=minutes_left(gathered, making.done, now),
        session=None,
        grade=None,
        overlap=len(beside) > 1,
        others=others,
        notes=(),
        seen=gathered.seen,
        assumed=gathered.assumed,
        unseen_short=making.unseen_short,
    )


def whole_day(gathered: Gathered) -> float:
    """Return the length of the studio's day, or of a usual one without a studio. [min]."""
    hours = gathered.studio.hours if gathered.studio else Hours()
    start, end = (60 * int(text[:2]) + int(text[3:]) for text in (hours.start, hours.end))
    return float(end - start)


def minutes_left(gathered: Gathered, done: str | None, now: datetime) -> float:
    """Return the minutes until hands leave, or until the light that is still needed ends. [min]."""
    studio = gathered.studio
    if studio is None:
        return whole_day(gathered)
    from argentry.day.day_clock import clock_of
    from argentry.physics.lights.sun import sun_times

    local = now.astimezone(ZoneInfo(studio.site.time_zone))
    left = (clock_of(studio, local.date()).end - now).total_seconds() / 60.0
    needs_sun = done is None or STAGES.index(done) < STAGES.index(SHOWS_ALL)
    if needs_sun and all(frame.lamp is None for frame in studio.frames):
        place = resolve_place(studio)
        _, fall = sun_times(
            local.date(), place.latitude_deg, place.longitude_deg, place.elevation_m, place.horizon
        )
        if fall is not None:
            ends = fall.astype("datetime64[s]").item().replace(tzinfo=UTC)
            after = next(s.minutes for s in usual_work(100.0) if s.key == "finish")
            left = min(left, (ends - now).total_seconds() / 60.0 + after)
    return float(min(max(left, 0.0), 2000.0))
