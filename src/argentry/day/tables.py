"""What the sheet tabulates: the steps with their ranges, the hours with their odds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from argentry.day.fading import waited_minutes
from argentry.day.good_count import drawn_range
from argentry.day.planner_light import Known
from argentry.needs.frame import cautions_here
from argentry.physics.picture import dose as light_dose
from argentry.physics.stops import quantiles
from argentry.plan import daylight
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block, frame_span
from argentry.records.day import END_OF, HourLight, PlannedStep, Range
from argentry.trade import steps as trade_steps

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from argentry.arrays import Floats, Truth
    from argentry.day.day_clock import Clock
    from argentry.day.planner_light import DayNeeds, LitDay
    from argentry.day.setting import DaySetting
    from argentry.needs.step_lengths import Length
    from argentry.plan.day import Planned
    from argentry.plan.tasks import Task
    from argentry.records.studio import Studio
    from argentry.trade.steps import StepRule


SHARES = (0.1, 0.5, 0.9)
RIPE = "ripe"


def _doses(lit: LitDay, seed: int) -> list[Floats]:
    """Return one development dose for each weather and kind of frame [J/m2]."""
    luck = np.random.default_rng(seed + 7).standard_normal(lit.day.exposure_days.shape[0])
    return [frame.dose * np.exp(frame.dose_log_sd * luck) for frame in lit.day.frames]


@dataclass(frozen=True)
class EndTables:
    """When exposures and developments end, by weather and starting minute.

    Attributes
    ----------
    exposures : Floats, shape (k, m + 1)
        Ends of an exposure; NaN where it cannot be. [min]
    ripe : list of Floats, shape (k, m + 1)
        By kind of frame, when a plate is ripe whose development begins then; NaN where never. [min]
    """

    exposures: Floats
    ripe: list[Floats]


def end_tables(lit: LitDay, seed: int) -> EndTables:
    """Return the end tables of a day's light; `seed` draws a development dose for each weather."""
    day = lit.day
    return EndTables(
        daylight.exposure_ends(day.exposure_days, day),
        [
            light_dose.end_table(frame.days, doses)
            for frame, doses in zip(day.frames, _doses(lit, seed), strict=True)
        ],
    )


def take_out_minutes(blocks: tuple[Block, ...]) -> float:
    """Return the hands-on minutes that a ripe plate needs before it is safe: out, fixed, washed."""
    return blocks[frame_span(blocks)[1]].minutes


def hours(
    clock: Clock, lit: LitDay, blocks: tuple[Block, ...], tables: EndTables
) -> tuple[HourLight, ...]:
    """Return light and odds for every full hour of the day.

    Parameters
    ----------
    clock : Clock
        The day.
    lit : LitDay
        Its light.
    blocks : tuple of Block
        A plate's blocks; a plate must be ripe early enough to be taken out and fixed.
    tables : EndTables
        Of that light.
    """
    exposures, ripe = tables.exposures, tables.ripe
    middle = [frame.expected_ends for frame in lit.day.frames]
    deadline = clock.minutes - take_out_minutes(blocks)
    first = clock.begin.replace(minute=0, second=0)
    if clock.begin.minute:
        first += timedelta(hours=1)
    rows = []
    for index in range(26):
        minute = round(clock.minute(first) + 60 * index)
        if minute >= clock.minutes:
            break
        hour = slice(minute, min(minute + 60, clock.minutes))
        ends = np.stack([table[:, minute] for table in ripe])
        in_time = (ends <= deadline).any(axis=0)  # NaN is never in time
        middle_end = min(
            (float(m[minute]) for m in middle if np.isfinite(m[minute])), default=float("nan")
        )
        rows.append(
            HourLight(
                time=clock.at(minute),
                sun_elevation_deg=float(lit.elevation_deg[minute]),
                exposure_w_m2=drawn_range(lit.exposure_w_m2[:, hour].mean(axis=1)),
                development_w_m2=drawn_range(lit.development_w_m2[:, hour].mean(axis=1)),
                exposure_minutes=lit.needs.camera_minutes(minute).minutes,
                exposure_suffices=float(np.isfinite(exposures[:, minute]).mean()),
                development_suffices=float(in_time.mean()),
                development_end=clock.at(middle_end) if middle_end <= deadline else None,
            )
        )
    return tuple(rows)


def light_serves(
    planned: Planned, blocks: tuple[Block, ...], last_minute: float, tables: EndTables
) -> Truth:
    """Return in which weathers the light serves every placed plate as planned, shape (k,).

    Parameters
    ----------
    planned : Planned
        The plan.
    blocks : tuple of Block
        A plate's blocks.
    last_minute : float
        End of the day. [min]
    tables : EndTables
        Of the day's light.
    """
    exposing = next(i for i, b in enumerate(blocks) if b.kind == EXPOSURE)
    developing = next(i for i, b in enumerate(blocks) if b.kind == DEVELOPMENT)
    exposures, ripe = tables.exposures, tables.ripe
    deadline = last_minute - take_out_minutes(blocks)
    good = np.ones(exposures.shape[0], dtype=bool)
    for plate in range(planned.placed):
        shot = int(planned.starts[plate, exposing])
        laid = int(planned.starts[plate, developing])
        special = planned.special_of(plate)
        if special is None:
            good &= np.isfinite(exposures[:, shot])
        else:
            light = special.light
            good &= np.isfinite(daylight.exposure_ends(light.exposure_days, light)[:, shot])
        good &= ripe[int(planned.frame_kind[plate])][:, laid] <= deadline
    return good


def steps(setting: DaySetting, planned: Planned) -> tuple[PlannedStep, ...]:
    """Return every step of the day in order of start."""
    clock, studio = setting.clock, setting.studio
    rules = {rule.key: rule for rule in trade_steps.steps()}
    rows = []
    if planned.placed:
        minute = 0.0
        for rule in (r for r in rules.values() if r.scope == "day"):
            slack = float(planned.latest[0, 0]) - setting.ready_minutes
            rows.append(_day_step(clock, rule, minute, slack, studio))
            minute += rule.typical_minutes
    for plate in range(planned.placed):
        seat = setting.seat_of(planned.special_of(plate))
        needs, lengths = setting.lit.needs, setting.lengths
        if seat is not None:
            needs, lengths = seat.needs, seat.lengths
        for index, block in enumerate(planned.route(plate)):
            for position, task in enumerate(block.tasks):
                where = (plate, index, position)
                known = _known(planned, studio, needs, lengths, where, task)
                rows.append(_plate_step(clock, planned, studio, rules[task.key], where, known))
    return tuple(sorted(rows, key=lambda row: (row.start, row.plate)))


def _day_step(
    clock: Clock, rule: StepRule, minute: float, slack: float, studio: Studio
) -> PlannedStep:
    slack = max(slack, 0.0) if np.isfinite(slack) else 0.0
    start = clock.at(minute)
    return _of_rule(rule, studio)(
        plate=0,
        resource="hands",
        start=start,
        end=clock.at(minute + rule.typical_minutes),
        latest_start=clock.at(minute + slack),
        float_minutes=slack,
        start_low=start,
        start_high=start,
        minutes=Range(rule.low_minutes, rule.typical_minutes, rule.high_minutes),
    )


def _of_rule(rule: StepRule, studio: Studio, kind: int = 0) -> Callable[..., PlannedStep]:
    """Return the row of a step as far as its rule fills it."""
    return partial(
        PlannedStep,
        step=rule.key,
        title=rule.title,
        attended=rule.attended,
        look_for=rule.look_for,
        check=rule.checks_line,
        cautions=tuple(one.text for one in cautions_here(studio, rule, kind)),
    )


def _plate_step(
    clock: Clock,
    planned: Planned,
    studio: Studio,
    rule: StepRule,
    where: tuple[int, int, int],
    known: Known,
) -> PlannedStep:
    plate, index, position = where
    block, kind = planned.route(plate)[index], int(planned.frame_kind[plate])
    offset = block.offset(position)
    start = float(planned.starts[plate, index]) + offset
    by_light = block.kind in (EXPOSURE, DEVELOPMENT)
    latest = float(planned.latest[plate, index]) + offset
    safe = latest if np.isfinite(latest) else start
    within = block.within if position == 0 and rule.attended else None
    low, high = _simulated_start(planned, (plate, index), (offset, start), float(clock.minutes))
    return _of_rule(rule, studio, kind)(
        plate=plate + 1,
        resource=_resource(rule, studio, kind),
        start=clock.at(start),
        end=clock.at(
            float(planned.ends[plate, index]) if by_light else start + known.minutes.middle
        ),
        latest_start=clock.at(max(safe, start)),
        float_minutes=max(safe - start, 0.0),
        start_low=clock.at(low),
        start_high=clock.at(high),
        minutes=known.minutes,
        doubt=known.doubt,
        veiled=None if known.veiled is None else clock.at(start + known.veiled),
        event=_event(planned.blocks[index - 1]) if within is not None else "",
        within_minutes=within,
        limit_first=within is not None and bool(planned.limited[plate, index]),
    )


def _event(before: Block) -> str:
    """Return in words what ends when a block ends."""
    if before.kind == DEVELOPMENT:
        return RIPE
    return END_OF.format(step=before.tasks[-1].key.replace("_", " "))


def _known(
    planned: Planned,
    studio: Studio,
    needs: DayNeeds,
    lengths: Mapping[str, Length],
    where: tuple[int, int, int],
    task: Task,
) -> Known:
    """Return how long a step lasts when it is begun as planned."""
    plate, index, _ = where
    kind = planned.blocks[index].kind
    if kind not in (EXPOSURE, DEVELOPMENT):
        length = lengths[task.key]
        return Known(Range(length.low / 60.0, length.seconds / 60.0, length.high / 60.0))
    start, end = (float(times[plate, index]) for times in (planned.starts, planned.ends))
    if kind == EXPOSURE:
        found = needs.camera_minutes(start)
    else:
        frame = studio.frames[int(planned.frame_kind[plate])]
        found = needs.development_minutes(start, frame, waited_minutes(planned, plate))
    minutes = found.minutes
    if np.isfinite(minutes.middle):
        return found
    shown = Range(min(minutes.low, end - start), end - start, minutes.high)
    return Known(shown, found.doubt, found.veiled)


def _simulated_start(
    planned: Planned, where: tuple[int, int], when: tuple[float, float], last_minute: float
) -> tuple[float, float]:
    """Return the 80 % range of a step's start over the simulated days.

    A day on which it is never begun counts as one on which it would be later than all of the day.
    The days may nearly all be slower than the light that was planned by, or hands that are free may
    begin sooner: the planned start is always within.
    """
    days, (offset, start) = planned.days, when
    assert days is not None
    begun = days.starts[:, where[0], where[1]] + offset
    begun = np.where(np.isfinite(begun), begun, last_minute)
    low, high = quantiles(begun, (SHARES[0], SHARES[2]))
    return min(float(low), start), max(float(high), start)


def _resource(rule: StepRule, studio: Studio, frame_kind: int) -> str:
    held = trade_steps.resources().get(rule.resource)
    if held is None or not held.of:
        return "hands"
    return str(getattr(studio, held.of)[frame_kind if held.several else 0].name)


def polished(planned: Planned) -> tuple[int, ...]:
    """Return the plates whose first steps were done the day before."""
    early = {rule.key for rule in trade_steps.steps() if rule.another_day == "before"}
    return tuple(
        plate + 1
        for plate in range(planned.placed)
        if not early & {task.key for block in planned.route(plate) for task in block.tasks}
    )


def another_day(planned: Planned) -> tuple[str, ...]:
    """Return the titles of what is left for another day."""
    planned_keys = {task.key for block in planned.blocks for task in block.tasks}
    return tuple(
        rule.title
        for rule in trade_steps.steps()
        if rule.another_day == "after" and rule.key not in planned_keys
    )
