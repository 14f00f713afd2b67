"""Make the plan of a day again from where its plates stand, and say what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from argentry.day.day_clock import wall_time
from argentry.day.plan import printed
from argentry.day.remedies import further_words
from argentry.day.setting import DaySetting, setting_of
from argentry.day.sitters import Seat, seat_of
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.plan.again import DAYS, Again, one_more
from argentry.plan.again import plan_again as order_again
from argentry.plan.daylight import ALL_DAY
from argentry.plan.further import Further
from argentry.plan.middle import Standing
from argentry.plan.problem import Day
from argentry.plan.tasks import Block, blocks_of, frame_span
from argentry.records.again import PlanAgain, PlateStanding
from argentry.records.day import MOST_PLATES, DayPlan, PlannedStep
from argentry.records.decision import OwnNumbers
from argentry.records.learned import GoodOdds
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook
from argentry.trade import steps as trade_steps

MOVED_MINUTES = 5.0  # a step that moves by less has not moved
TOLD_MINUTES = 10.0  # nor is a day that ends later by less worth a line
WORTH_TELLING = 0.5  # chance that all are finished under which it is told
TOLD_SHARE = 0.1  # of the chance that all plates are finished
OVERTIME_MINUTES = (0, 60, 120, 240)  # after the hours, for plates that are begun
LAST_MINUTE = "23:59"

LEAVE = "Plate {plate} no longer fits: leave it for another day."
NO_PLACE = "Plate {plate} has no place today: leave it for another day."
BACK = "Plate {plate} has a place, begun at about {time:%H:%M}."
NOT_FINISHED = "Plate {plate} will not be finished today, as far as can be foreseen."
CARD = (
    "Plate {plate} is ripe at about {time:%H:%M} while hands are busy: lay an opaque card over its "
    "frame until it can be taken out."
)
OVERTIME = "The last plate is done at {time:%H:%M}, {minutes:.0f} min after your hours."
REORDERED = "Another order brings more good plates: next {step} of plate {plate} at {time:%H:%M}."
BETTER = (
    "Another order finishes all plates on {share:.0f} % of days, not on {kept_share:.0f} %: next "
    "{step} of plate {plate} at {time:%H:%M}."
)
LATER = "The last plate is done at {time:%H:%M}, {minutes:.0f} min later than planned."
SOONER = "The last plate is done at {time:%H:%M}, {minutes:.0f} min earlier than planned."
NO_ORDER = "No order keeps every limit from here on: go on plate by plate, what spoils first."
LOW = "More likely than not, some plate will not be finished today."  # the odds stand beside it
OVER = "the hours of {day} are over"


def plan_again(
    studio: Studio,
    standing: Sequence[PlateStanding],
    *,
    now: datetime,
    outlook: Outlook = NO_OUTLOOK,
    learned: OwnNumbers | None = None,
    as_written: bool = False,
    asked: int = 0,
    simulated_days: int = DAYS,
    seed: int = 1,
) -> PlanAgain:
    """Make the plan of a day again from where its plates stand.

    Parameters
    ----------
    studio : Studio
        The studio.
    standing : sequence of PlateStanding
        Every plate of the day, in its order.
    now : datetime
        The moment, with a zone; its date at the studio is the day.
    outlook : Outlook
        A forecast or typical year, as the plan that stands was made with, and what was read since.
    learned : OwnNumbers or None
        What the studio's plates have taught.
    as_written : bool
        True when learned numbers are left out.
    asked : int
        Plates that were asked for; more than there are: one more is welcome, whatever it brings.
    simulated_days : int
        Days behind the odds.
    seed : int
        For the draws.

    Raises
    ------
    BadInput
        For a day that is over, or a weather file that does not cover it.
    """
    local = now.astimezone(ZoneInfo(studio.site.time_zone))
    held = [n for n, plate in enumerate(standing) if not plate.lost]
    left_out: list[int] = []
    made: _Made | None = None
    for end in _ends(studio, local):
        setting = setting_of(
            replace(studio, hours=replace(studio.hours, end=end)), local.date(), outlook=outlook,
            haze=None, learned=learned, as_written=as_written, now=None, seed=seed,
        )  # fmt: skip
        setting, day, stands = _stands(setting, [standing[n] for n in held], now)
        again = order_again(day, stands, days=simulated_days, seed=seed)
        if made is None:
            left_out = [held[at] for at in again.left_out]
        if made is None or not again.not_finished:
            odds = None if learned is None else learned.good
            made = _Made(setting, day, stands, again, held, odds, simulated_days, seed)
        if not again.not_finished:
            break
        held = [n for n in held if n not in left_out]  # nobody works late for a plate not begun
    if made is None:
        raise BadInput("run", OVER.format(day=local.date()), "plan another day")
    in_hours = made.setting.studio.hours.end == studio.hours.end
    more = _one_more(made, standing, asked) if in_hours else None
    return _told(studio, made, standing, left_out, more)


@dataclass(frozen=True)
class _Made:
    """A plan made again, with what it was made by."""

    setting: DaySetting
    day: Day
    stands: Standing
    again: Again
    held: list[int]
    odds: GoodOdds | None
    simulated_days: int
    seed: int


def _one_more(made: _Made, standing: Sequence[PlateStanding], asked: int) -> Further | None:
    """Return how one plate more is best begun, where all are begun and none is in trouble."""
    begun = all(standing[n].begun for n in made.held)
    if not begun or made.again.planned.placed < len(made.held) or len(standing) >= MOST_PLATES:
        return None
    return one_more(
        made.day, made.stands, made.again,
        asked=asked > len(standing), days=made.simulated_days, seed=made.seed,
    )  # fmt: skip


def _ends(studio: Studio, local: datetime) -> list[str]:
    """Return the ends of the day to try: the hours' own, then later ones for plates in hand."""
    hour, minute = (int(part) for part in studio.hours.end.split(":"))
    end = local.replace(hour=hour % 24, minute=minute, second=0, microsecond=0)
    ends = []
    for more in OVERTIME_MINUTES:
        later = end + timedelta(minutes=more)
        said = LAST_MINUTE if later.date() > local.date() else f"{later:%H:%M}"
        if later > local and said not in ends:
            ends.append(said)
    return ends


def _stands(
    setting: DaySetting, standing: Sequence[PlateStanding], now: datetime
) -> tuple[DaySetting, Day, Standing]:
    """Return the day from now on, and where its plates stand, as the planner asks it."""
    keys = [task.key for task in setting.tasks]
    blocks = blocks_of(setting.tasks)
    names = [frame.name for frame in setting.studio.frames]
    clock = setting.clock

    def minutes(times: Mapping[str, datetime], wanted: Sequence[str]) -> list[float]:
        return [clock.minute(times[key]) if key in times else np.nan for key in wanted]

    shape = (len(standing), len(keys))
    stands = Standing(
        begun=np.array([minutes(p.begun, keys) for p in standing]).reshape(shape),
        ended=np.array([minutes(p.ended, keys) for p in standing]).reshape(shape),
        # one that was taken out lies in none: which it lay in does not matter any more
        frame_kind=np.array(
            [names.index(p.frame) if p.frame in names else 0 if p.begun else -1 for p in standing],
            dtype=np.int64,
        ),
        kept=np.array(
            [minutes(p.planned, [_first_planned(b, p) for b in blocks]) for p in standing]
        ).reshape(len(standing), len(blocks)),
        ripe=tuple(
            None if p.ripe is None else (clock.minute(p.ripe[0]), p.ripe[1]) for p in standing
        ),
    )
    over = {key for plate in standing for key in plate.ended}
    ready = sum(r.typical_minutes for r in step_lengths.day_rules() if r.key not in over)
    at = max(clock.minute(now), 0.0) + (0.0 if np.isfinite(stands.begun).any() else ready)
    seats = [_seat(setting, plate, max(clock.minute(now), 0.0)) for plate in standing]
    setting = replace(setting, seats=tuple(seat for seat in seats if seat is not None))
    polished = setting.polished()
    special = tuple(
        seat.special if seat is not None else polished if plate.polished else None
        for seat, plate in zip(seats, standing, strict=True)
    )
    day = replace(
        setting.wanted(None),
        first_minute=min(at, clock.minutes - 1.0),
        special=special if any(one is not None for one in special) else (),
    )
    return setting, day, stands


def _first_planned(block: Block, plate: PlateStanding) -> str:
    """Return the first step of a block that the plate still had to go through."""
    keys = [task.key for task in block.tasks]
    return next((key for key in keys if key in plate.planned), keys[0])


def _seat(setting: DaySetting, plate: PlateStanding, now_minute: float) -> Seat | None:
    """Return the appointment that a plate is kept for; None for none, or one that cannot be."""
    if plate.sitter is None:
        return None
    pose = trade_steps.by_law("exposure").key
    try:
        seat = seat_of(setting.hall, plate.sitter, polished=plate.polished, from_minute=now_minute)
    except BadInput:  # in other hours or another light than it was planned for
        return None
    if pose in plate.begun:  # what has been taken has no time to keep, but its own lens
        light = replace(seat.special.light, window=ALL_DAY)
        return replace(seat, special=replace(seat.special, light=light))
    return seat


def _told(
    studio: Studio,
    made: _Made,
    standing: Sequence[PlateStanding],
    left_out: Sequence[int],
    more: Further | None,
) -> PlanAgain:
    """Return the plan with the standing's numbers, and what changed in words."""
    setting, again, held = made.setting, made.again, made.held
    planned = again.planned
    plan = printed(
        setting, planned, planned.placed, made.odds,
        simulated_days=made.simulated_days, seed=made.seed,
    )  # fmt: skip
    numbers = [held[int(at)] + 1 for at in again.plates]
    steps = tuple(replace(step, plate=numbers[step.plate - 1]) for step in plan.steps if step.plate)
    plan = replace(plan, steps=steps, end=_hours_end(studio, setting))
    ahead = [step for step in steps if step.step not in standing[step.plate - 1].begun]
    moved = tuple(
        (step.plate, step.step) for step in ahead if _moved_minutes(step, standing) > MOVED_MINUTES
    )
    lost = tuple(held[at] + 1 for at in again.not_finished)
    share = planned.days.all_sound if planned.days is not None else 0.0
    back = _back_lines(ahead, standing)
    lines = [
        *(NO_ORDER for _ in again.faults[:1]),
        *(
            (LEAVE if standing[n].planned else NO_PLACE).format(plate=_named(standing, n + 1))
            for n in left_out
        ),
        *back,
        *(NOT_FINISHED.format(plate=_named(standing, n)) for n in lost),
        *(() if back else _order_lines(again, ahead, standing, share)),
        *_card_lines(setting, again, held, standing),
        *_end_lines(plan, steps, standing),
        *(LOW for _ in steps[:1] if share < WORTH_TELLING),
    ]
    if more is not None:
        lines.append(
            further_words(
                setting,
                planned.blocks,
                more,
                lambda plate: _named(standing, held[plate] + 1),
                again.now,
            )
        )
    return PlanAgain(
        plan=plan,
        moved=moved,
        left_out=tuple(n + 1 for n in left_out),
        not_finished=lost,
        one_more=more is not None,
        lines=tuple(lines),
        kept_share=again.kept_share,
        share=None if again.faults else share,
    )


def _back_lines(ahead: Sequence[PlannedStep], standing: Sequence[PlateStanding]) -> list[str]:
    """Return which plates that no plan held are in this one."""
    back: dict[int, datetime] = {}
    for step in ahead:
        if not (standing[step.plate - 1].planned or standing[step.plate - 1].begun):
            back.setdefault(step.plate, step.start)
    return [BACK.format(plate=_named(standing, n), time=at) for n, at in back.items()]


def _named(standing: Sequence[PlateStanding], number: int) -> str:
    return standing[number - 1].label or str(number)


def _moved_minutes(step: PlannedStep, standing: Sequence[PlateStanding]) -> float:
    before = standing[step.plate - 1].planned.get(step.step)
    return float("inf") if before is None else abs((step.start - before).total_seconds()) / 60.0


def _order_lines(
    again: Again, ahead: Sequence[PlannedStep], standing: Sequence[PlateStanding], share: float
) -> list[str]:
    """Return the line of another order: what is begun next by it."""
    hands = [step for step in ahead if step.attended]
    if not again.reordered or not hands:
        return []
    said = {
        "step": hands[0].title,
        "plate": _named(standing, hands[0].plate),
        "time": hands[0].start,
    }
    if share >= again.kept_share + TOLD_SHARE:
        return [BETTER.format(share=100 * share, kept_share=100 * again.kept_share, **said)]
    return [REORDERED.format(**said)]


def _end_lines(
    plan: DayPlan, steps: Sequence[PlannedStep], standing: Sequence[PlateStanding]
) -> list[str]:
    """Return the line of when the last plate is done, where that is news."""
    if not steps:
        return []
    end = max(step.end for step in steps)
    over = (end - plan.end).total_seconds() / 60.0
    if over > 0.0:
        return [OVERTIME.format(time=end, minutes=over)]
    last = max(steps, key=lambda step: step.start)
    before = standing[last.plate - 1].planned.get(last.step)
    shift = 0.0 if before is None else (last.start - before).total_seconds() / 60.0
    if abs(shift) < TOLD_MINUTES:
        return []
    words = LATER if shift > 0.0 else SOONER
    return [words.format(time=end, minutes=abs(shift))]


def _card_lines(
    setting: DaySetting, again: Again, held: Sequence[int], standing: Sequence[PlateStanding]
) -> list[str]:
    """Return which plates will be ripe before hands are free for them."""
    planned = again.planned
    if not planned.placed:
        return []
    free = frame_span(planned.blocks)[1]
    limit = planned.blocks[free].within
    assert limit is not None
    waits = planned.starts[:, free] - planned.ends[:, free - 1]
    return [
        CARD.format(
            plate=_named(standing, held[int(again.plates[at])] + 1),
            time=setting.clock.at(float(planned.ends[at, free - 1])),
        )
        for at in np.flatnonzero(waits > limit)
        if planned.ends[at, free - 1] > again.now
    ]


def _hours_end(studio: Studio, setting: DaySetting) -> datetime:
    """Return the end of the studio's own hours."""
    return wall_time("studio.toml hours.end", setting.date, studio.hours.end, setting.clock.zone)
