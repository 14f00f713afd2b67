"""Make the plan of a day again from where its plates stand, and say what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from argentry.day import no_more
from argentry.day.again_lines import WORTH_TELLING, MadeAgain, lie_ripe, lines_of
from argentry.day.day_clock import Clock, wall_time
from argentry.day.plan import printed
from argentry.day.setting import DaySetting, setting_of
from argentry.day.sitters import Seat, seat_of
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.plan.again import AS_GOOD, DAYS, WORTH_A_CHANGE, Again, OneMore, one_more
from argentry.plan.again import plan_again as order_again
from argentry.plan.daylight import ALL_DAY
from argentry.plan.further import Further
from argentry.plan.problem import After, Day, Standing
from argentry.plan.tasks import Block, Task, blocks_of
from argentry.records.again import AfterStep, PlanAgain, PlateStanding
from argentry.records.day import MOST_PLATES, PlannedStep
from argentry.records.decision import OwnNumbers
from argentry.records.learned import GoodOdds
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook
from argentry.trade import steps as trade_steps

MOVED_MINUTES = 5.0  # a step that moves by less has not moved
OVERTIME_MINUTES = (0, 60, 120, 240)  # after the hours, for plates that are begun
LAST_MINUTE = "23:59"
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
    lost_now: bool = False,
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
        Plates that were asked for. Where fewer stand, as one was lost or had no place, one more is
        welcome whatever it brings, and looked for before all are begun.
    lost_now : bool
        True where a plate was lost since the plan that stands was made: that none can be begun in
        its place is said then, with the reason.
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

    def until(end: str, of: Studio = studio) -> DaySetting:
        return setting_of(
            replace(of, hours=replace(of.hours, end=end)), local.date(), outlook=outlook,
            haze=None, learned=learned, as_written=as_written, now=None, seed=seed,
        )  # fmt: skip

    room = _Room(now, _not_ready_min(standing))
    held = [n for n, plate in enumerate(standing) if not plate.lost]
    left_out: list[int] = []
    made: _Made | None = None
    for end in _ends(studio, local):
        setting = until(end)
        odds = None if learned is None else learned.good
        by = (odds, simulated_days, seed)
        tried = _ordered(setting, standing, held, room, _hours_end(studio, setting), by)
        if made is None:
            left_out = [held[at] for at in tried.again.left_out]
        if made is None or not tried.again.not_finished:
            made = tried
        if not tried.again.not_finished:
            break
        held = [n for n in held if n not in left_out]  # nobody works late for a plate not begun
    if made is None:
        raise BadInput("run", OVER, "plan another day", day=local.date())
    in_hours = made.setting.studio.hours.end == studio.hours.end
    more = _one_more(made, standing, asked) if in_hours else OneMore(None)
    why_none = ""
    if lost_now and more.found is None and len(made.held) < asked and len(standing) < MOST_PLATES:
        later = until(_ends(studio, local)[-1])
        why_none = _why_no_more(
            studio, made, standing, later, room, in_hours=in_hours, rare=more.too_rare
        )
        if in_hours and not studio.habits.seal_later:
            sealed = until(
                made.setting.studio.hours.end,
                replace(studio, habits=replace(studio.habits, seal_later=True)),
            )
            other = _ordered(sealed, standing, made.held, room, _hours_end(studio, sealed), by)
            why_none += no_more.sealed_later_line(_one_more(other, standing, asked).found)
    return _told(studio, made, standing, left_out, more.found, why_none)


@dataclass(frozen=True)
class _Room:
    """The moment, and how long the room is still not ready. [min]."""

    now: datetime
    not_ready_min: float


def _not_ready_min(standing: Sequence[PlateStanding]) -> float:
    """Return how long the room takes to make ready: 0 once a plate was begun, also a lost one."""
    once = step_lengths.day_rules()
    if any(plate.begun.keys() - {rule.key for rule in once} for plate in standing):
        return 0.0
    over = {key for plate in standing for key in plate.ended}
    return sum(rule.typical_minutes for rule in once if rule.key not in over)


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

    def better(self, other: _Made) -> bool:
        """Tell whether clearly more comes of it than of another, or as much and fewer lie ripe."""
        lost, others = len(self.again.not_finished), len(other.again.not_finished)
        days, were = self.again.planned.days, other.again.planned.days
        if days is None or were is None or lost != others:
            return days is not None and lost < others
        more = float(days.worth.sum(axis=1).mean() - were.worth.sum(axis=1).mean())
        fewer = len(lie_ripe(self.again)) < len(lie_ripe(other.again))
        return more > WORTH_A_CHANGE or (fewer and more >= -AS_GOOD)


def _ordered(
    setting: DaySetting,
    standing: Sequence[PlateStanding],
    held: list[int],
    room: _Room,
    hours_end: datetime,
    by: tuple[GoodOdds | None, int, int],
) -> _Made:
    """Return the plan of the plates held; one half polished is left for others where that pays."""
    own = [standing[n] for n in held]
    found = []
    for parted in (False, True)[: 1 + _half_polished(own)]:
        now_set, day, stands = _stands(setting, own, held, room, parted=parted)
        day = replace(day, hours_end=setting.clock.minute(hours_end))
        again = order_again(day, stands, days=by[1], seed=by[2])
        found.append(_Made(now_set, day, stands, again, held, *by))
    return found[-1] if len(found) > 1 and found[-1].better(found[0]) else found[0]


def _one_more(made: _Made, standing: Sequence[PlateStanding], asked: int) -> OneMore:
    """Return how one plate more is best begun, where none is in trouble."""
    wanted = asked > len(made.held)  # in place of one that was lost, or that had no place
    begun = wanted or all(standing[n].begun for n in made.held)
    days = made.again.planned.days
    likely = days is None or days.all_sound >= WORTH_TELLING  # those begun come first
    placed = made.again.planned.placed == len(made.held)
    if not (begun and placed and likely) or len(standing) >= MOST_PLATES:
        return OneMore(None)
    return one_more(
        made.day, made.stands, made.again,
        asked=wanted, days=made.simulated_days, seed=made.seed,
    )  # fmt: skip


def _why_no_more(
    studio: Studio,
    made: _Made,
    standing: Sequence[PlateStanding],
    later: DaySetting,
    room: _Room,
    *,
    in_hours: bool,
    rare: float | None,
) -> str:
    """Return why no plate is offered in the place of a lost one, by a day that ends later."""
    if not in_hours:
        return no_more.PAST_HOURS
    planned = made.again.planned
    likely = planned.days is None or planned.days.all_sound >= WORTH_TELLING
    if planned.placed < len(made.held) or not likely:
        return no_more.IN_HAND
    parted = any(task.apart for task in made.setting.tasks)
    setting, day, stands = _stands(
        later, [standing[n] for n in made.held], made.held, room, parted=parted
    )
    end = _hours_end(studio, setting)
    day = replace(day, hours_end=setting.clock.minute(end))
    found = no_more.not_offered(day, stands, made.again, days=made.simulated_days, seed=made.seed)
    return no_more.no_more_line(found, setting.clock, end, rare)


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
    setting: DaySetting,
    standing: Sequence[PlateStanding],
    numbers: Sequence[int],
    room: _Room,
    *,
    parted: bool,
) -> tuple[DaySetting, Day, Standing]:
    """Return the day from now on, and where its plates stand, as the planner asks it."""
    if parted:
        setting = replace(setting, tasks=_parted(setting.tasks))
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
        after=tuple(_after(clock, p.after, numbers, keys) for p in standing),
        ripe=tuple(
            None if p.ripe is None else (clock.minute(p.ripe[0]), p.ripe[1]) for p in standing
        ),
    )
    from_minute = max(clock.minute(room.now), 0.0)
    at = from_minute + room.not_ready_min
    seats = [_seat(setting, plate, from_minute) for plate in standing]
    if parted:
        seats = [None if seat is None else _parted_seat(seat) for seat in seats]
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


def _after(
    clock: Clock, after: AfterStep | None, numbers: Sequence[int], keys: Sequence[str]
) -> After | None:
    """Return what a plate waits for as the planner asks it; None where that plate is lost."""
    if after is None or after.plate - 1 not in numbers or after.step not in keys:
        return None
    at = numbers.index(after.plate - 1)
    return After(at, keys.index(after.step), clock.minute(after.until))


def _half_polished(standing: Sequence[PlateStanding]) -> bool:
    """Tell whether a plate waits for its final buff, or soon will, and may be left until then.

    A plate is polished in one go, but for what may be done the evening before: that is as far as it
    may be left for something that cannot wait. One that came so far polished has no such block.
    """
    early = [rule.key for rule in step_lengths.plate_rules() if rule.another_day == "before"]
    return not any(plate.polished for plate in standing) and any(
        any(key in plate.begun for key in early)
        and not any(key in plate.begun for key in _not_early())
        for plate in standing
    )


def _not_early() -> list[str]:
    """Return the steps of a plate that must be done on the day itself, or may be done later."""
    return [rule.key for rule in step_lengths.plate_rules() if rule.another_day != "before"]


def _parted(tasks: tuple[Task, ...]) -> tuple[Task, ...]:
    """Return steps that may be left before the first one that must be done on the day itself."""
    return tuple(replace(task, apart=task.key == _not_early()[0]) for task in tasks)


def _parted_seat(seat: Seat) -> Seat:
    return replace(seat, special=replace(seat.special, tasks=_parted(seat.special.tasks)))


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
    why_none: str,
) -> PlanAgain:
    """Return the plan with the standing's numbers, and what changed in words."""
    setting, again, held = made.setting, made.again, made.held
    planned = again.planned
    plan = printed(setting, planned, planned.placed, made.odds, seed=made.seed)
    numbers = [held[int(at)] + 1 for at in again.plates]
    steps = tuple(replace(step, plate=numbers[step.plate - 1]) for step in plan.steps if step.plate)
    plan = replace(plan, steps=steps, end=_hours_end(studio, setting))
    share = planned.days.all_sound if planned.days is not None else 0.0
    said = MadeAgain(setting, again, held, standing, plan, left_out, share, more, why_none)
    moved = tuple(
        (step.plate, step.step)
        for step in said.ahead
        if _moved_minutes(step, standing) > MOVED_MINUTES
    )
    lost = tuple(held[at] + 1 for at in again.not_finished)
    return PlanAgain(
        plan=plan,
        moved=moved,
        left_out=tuple(n + 1 for n in left_out),
        not_finished=lost,
        one_more=more is not None,
        more_after=None if more is None else _after_step(made, more),
        lines=lines_of(said),
        kept_share=again.kept_share,
        share=share if planned.placed else None,
    )


def _after_step(made: _Made, more: Further) -> AfterStep | None:
    """Return what a plate more is begun after; None where no plate is left to wait for."""
    if more.plate < 0:
        return None
    key = made.again.planned.blocks[more.block].tasks[-1].key
    return AfterStep(made.held[more.plate] + 1, key, made.setting.clock.at(more.until))


def _moved_minutes(step: PlannedStep, standing: Sequence[PlateStanding]) -> float:
    before = standing[step.plate - 1].planned.get(step.step)
    return float("inf") if before is None else abs((step.start - before).total_seconds()) / 60.0


def _hours_end(studio: Studio, setting: DaySetting) -> datetime:
    """Return the end of the studio's own hours."""
    return wall_time("studio.toml hours.end", setting.date, studio.hours.end, setting.clock.zone)
