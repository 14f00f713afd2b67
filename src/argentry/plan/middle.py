"""A day taken up in its middle: where its plates stand, and when what is running will end."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.picture import dose as light_dose
from argentry.plan import rules
from argentry.plan.daylight import whole_ends
from argentry.plan.dispatch import play
from argentry.plan.further import NEVER
from argentry.plan.problem import shop_of
from argentry.plan.seen_light import weathers_seen
from argentry.plan.shop import Begun, between
from argentry.plan.spread import draw_days
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.arrays import Floats, Truth
    from argentry.plan.daylight import DayLight, Frames
    from argentry.plan.problem import After, Day, Standing
    from argentry.plan.shop import DayRun, Drawn, Rules, Runs, Shop
    from argentry.plan.tasks import Block, Task


LEAD = 20.0  # idle hands may begin a plate this much before the plan that stands [min]
LONG = 1e9  # what never ends [min]
POSE_WAITS = 4.0  # a pose that is due and not begun so long after the coat waits for light [min]
RIPENS_LATE = 0.25  # of the time under the expected sky: the spread of plates is no more than that
STILL = 5.0  # a plan whose steps all move by less stands [min]
TINY = JUST = 1e-9


@dataclass(frozen=True)
class Middle:
    """A day taken up in its middle.

    Attributes
    ----------
    standing : Standing
        Where its plates stand.
    begun : Begun
        The same by blocks.
    shop : Shop
        What does not change.
    drawn : Drawn
        How the rest may turn out.
    until : Floats, shape (plates,)
        When what is running is expected to end; NaN where nothing is. [min]
    held : Floats, shape (plates,), or None
        Before when each plate is not begun on the expected day. [min]
    """

    standing: Standing
    begun: Begun
    shop: Shop
    drawn: Drawn
    until: Floats
    held: Floats | None = None

    def run(self, many: Rules) -> Runs:
        """Return the rest of the day by each rule, as it is expected."""
        return rules.median_days(self.shop, many, self.until, self.held)

    def follow(self, starts: Floats) -> Rules:
        """Return the rule that keeps to a plan; a plate that it does not hold is not begun."""
        return rules.follow(self.shop, np.nan_to_num(starts, nan=NEVER)[None], LEAD)

    def at_once(self, starts: Floats) -> Rules:
        """Return the rule that keeps to its order, each plate begun as soon as hands are free.

        The plate of a sitter waits for its time.
        """
        rule = self.follow(starts)
        free = np.isfinite(starts[:, 0]) & ~np.isfinite(self.shop.due[self.shop.by_plate, 0])
        rule.not_before[:, free, 0] = -np.inf
        return rule

    def waiting(self, after: tuple[After | None, ...]) -> Middle:
        """Return it with plates that wait for what they are begun after.

        Until such a plate begins a day runs as without it, so that tells when what it waits for is
        done.
        """
        standing = replace(self.standing, after=after)
        waits = {p: a for p in range(self.shop.plates) if (a := standing.after_of(p)) is not None}
        if not waits:
            return self
        kept = standing.kept.copy()
        kept[list(waits)] = np.nan
        rule = self.follow(kept)
        held = [
            _held(self.shop, waits, runs.ends[0])
            for runs in (play(self.shop, rule, self.drawn), self.run(rule))
        ]
        drawn = replace(self.drawn, held_back=held[0])
        return replace(self, standing=standing, drawn=drawn, held=held[1][0])


def _held(shop: Shop, waits: Mapping[int, After], ends: Floats) -> Floats:
    """Return before when plates are not begun, by the days without them, shape (days, plates)."""
    held = np.full(ends.shape[:2], -np.inf)
    for plate, after in waits.items():
        block = next(i for i, one in enumerate(shop.blocks) if after.task <= one.last)
        done = ends[:, after.plate, block]
        held[:, plate] = np.where(done <= after.until, done, NEVER)
    return held


def taken_up(
    day: Day, blocks: tuple[Block, ...], standing: Standing, days: int, seed: int
) -> Middle:
    """Return a day as it is from now on.

    Parameters
    ----------
    day : Day
        Its `first_minute` is now.
    blocks : tuple of Block
        A plate's blocks.
    standing : Standing
        Where its plates stand.
    days : int
        How many days to draw for the rest.
    seed : int
        For the draws.
    """
    begun = begun_blocks(blocks, standing)
    shop = replace(shop_of(day, blocks, len(standing.begun)), begun=begun)
    drawn = draw_days(shop, day.light, days=days, seed=seed)
    if day.light.sky_seen:  # else the forecast or the reading has told
        used = min(days, len(day.light.exposure_days))
        weather = weathers_seen(blocks, begun, day.light, day.first_minute, days, used)
        drawn = replace(drawn, weather=weather)
    until = running_until(shop, standing, day.light, drawn, seed + 2)
    # what the light ends is looked for as it was planned, until that time has passed
    middle = np.ceil(np.median(until, axis=0) - JUST)
    planned = _by_light(shop, standing, day.light)
    middle = np.where(planned > shop.first_minute, planned, middle)
    taken = Middle(standing, begun, shop, replace(drawn, running_until=until), middle)
    return taken.waiting(standing.after)


def _by_light(shop: Shop, standing: Standing, light: DayLight) -> Floats:
    """Return when the light ends what is running on the expected day, shape (plates,) [min].

    A plate that should be ripe and is not is one of those that need more; one whose end its
    pictures moved keeps that.
    """
    begun = shop.begun
    assert begun is not None
    ends = np.full(shop.plates, np.nan)
    exposures, ripe = whole_ends(shop.exposure_tables), whole_ends(shop.expected_ripe)
    for plate, index in enumerate(_running(begun)):
        start = int(max(begun.starts[plate, index], 0.0)) if index >= 0 else 0
        if index < 0 or start >= exposures.shape[1]:
            continue
        kind, frame = shop.blocks[index].kind, int(begun.frame_kind[plate])
        if kind == EXPOSURE:
            ends[plate] = exposures[shop.by_plate[plate], start]
        elif kind == DEVELOPMENT:
            own = standing.ripe_of(plate)
            ends[plate] = ripe[frame, start] if own is None else np.ceil(own[0] - JUST)
            if 0.0 <= ends[plate] <= shop.first_minute:
                late = _ripe(light.frames[frame], (start, shop.first_minute), own)
                ends[plate] = np.ceil(late[0])
    return ends


def waits_for_light(middle: Middle) -> bool:
    """Tell whether a plate waits for light that the expected sky would have given by now."""
    shop, begun, now = middle.shop, middle.begun, middle.shop.first_minute
    exposing = next(i for i, block in enumerate(shop.blocks) if block.kind == EXPOSURE)
    ripe = whole_ends(shop.expected_ripe)
    for plate, index in enumerate(_running(begun)):
        if index < 0 and exposing and np.isnan(begun.starts[plate, exposing]):
            coated, planned = begun.ends[plate, exposing - 1], middle.standing.kept[plate, exposing]
            if now - coated > POSE_WAITS and planned <= now:
                return True
        if index < 0 or shop.blocks[index].kind != DEVELOPMENT or middle.standing.ripe_of(plate):
            continue
        start = int(max(begun.starts[plate, index], 0.0))
        ends = ripe[int(begun.frame_kind[plate]), min(start, ripe.shape[1] - 1)]
        if ends >= 0.0 and now - start > (1.0 + RIPENS_LATE) * (ends - start):
            return True
    return False


def _running(begun: Begun) -> list[int]:
    """Return the block that is running of every plate, -1 for none."""
    open_ = np.isfinite(begun.starts) & np.isnan(begun.ends)
    return [int(np.flatnonzero(row)[0]) if row.any() else -1 for row in open_]


def begun_blocks(blocks: tuple[Block, ...], standing: Standing) -> Begun:
    """Return by blocks where the plates stand.

    A block is over with its last step, and begun with its first. A step that nobody saw begin
    before a later one counts as over when that one began.

    Parameters
    ----------
    blocks : tuple of Block
        A plate's blocks.
    standing : Standing
        By steps.
    """
    plates = len(standing.begun)
    starts, ends = np.full((plates, len(blocks)), np.nan), np.full((plates, len(blocks)), np.nan)
    for plate in range(plates):
        begun = np.where(
            np.isnan(standing.begun[plate]), standing.ended[plate], standing.begun[plate]
        )
        ended = standing.ended[plate].copy()
        touched = np.flatnonzero(np.isfinite(begun))
        if not len(touched):
            continue
        for task in range(int(touched[-1]) - 1, -1, -1):
            begun[task] = begun[task] if np.isfinite(begun[task]) else begun[task + 1]
            ended[task] = ended[task] if np.isfinite(ended[task]) else begun[task + 1]
        for index, block in enumerate(blocks):
            starts[plate, index] = begun[block.first]
            ends[plate, index] = ended[block.last]
    return Begun(starts, ends, standing.frame_kind)


def running_until(
    shop: Shop, standing: Standing, light: DayLight, drawn: Drawn, seed: int
) -> Floats:
    """Return when what is running ends on each day, by all that is seen of it so far.

    A step that has taken long already is known to be a long one; a plate that is not ripe yet
    needs more than the light that it has had.

    Parameters
    ----------
    shop : Shop
        The day, with where its plates stand by blocks.
    standing : Standing
        The same by steps.
    light : DayLight
        The day's light.
    drawn : Drawn
        The days.
    seed : int
        For the draws.

    Returns
    -------
    Floats, shape (days, plates)
        NaN for a plate of which nothing is running; a long time where it never ends. [min]
    """
    begun = shop.begun
    assert begun is not None
    now = shop.first_minute
    generator = np.random.default_rng(seed)
    until = np.full((drawn.days, shop.plates), np.nan)
    running, skies = _running(begun), len(drawn.exposure_ends) // len(shop.routes)
    for plate in range(shop.plates):
        chance = generator.random((drawn.days, len(standing.begun[plate])))
        if running[plate] < 0:
            continue
        block, start = shop.blocks[running[plate]], float(begun.starts[plate, running[plate]])
        if block.kind == EXPOSURE:
            table = drawn.weather + skies * shop.by_plate[plate]
            lens = between(drawn.exposure_ends, table, np.full(drawn.days, start))
            ends = np.where(np.isnan(lens), start + light.longest_exposure, lens)
        elif block.kind == DEVELOPMENT:
            kind = int(begun.frame_kind[plate])
            ends = _ripe(
                light.frames[kind], (start, now), standing.ripe_of(plate), drawn, chance[:, 0]
            )
        else:
            ends = np.full(drawn.days, now)
            for index, task in enumerate(block.tasks, block.first):
                if np.isnan(standing.ended[plate, index]):
                    spent = max(now - float(standing.begun[plate, index]), 0.0)
                    ends += _left(task, spent if np.isfinite(spent) else 0.0, chance[:, index])
        until[:, plate] = np.maximum(ends, now)
    return until


def _left(task: Task, spent: float, chance: Floats) -> Floats:
    """Return what is left of a step that has taken so long already [min]."""
    if task.log_sd <= 0.0 or task.minutes <= 0.0:
        return np.full(len(chance), max(task.minutes - spent, 0.0))
    least = np.full(len(chance), np.log(max(spent, TINY) / task.minutes) / task.log_sd)
    whole = task.minutes * np.exp(task.log_sd * _above(least, chance))
    return np.asarray(np.maximum(whole - spent, 0.0))


def _ripe(
    frame: Frames,
    span: tuple[float, float],
    own: tuple[float, float] | None = None,
    drawn: Drawn | None = None,
    chance: Floats | None = None,
) -> Floats:
    """Return when a plate put out at the first of two minutes is ripe, not ripe at the second.

    Parameters
    ----------
    frame : Frames
        It lies in.
    span : tuple of float
        [min]
    own : (float, float), optional
        The end that its pictures gave it on the likely day [min], and the doubt of the logarithm of
        its light [1]; else the studio's dose counts.
    drawn : Drawn, optional
        Days; else the middle one.
    chance : Floats, shape (days,), optional
        For the draws; else the middle.

    Returns
    -------
    Floats, shape (days,)
        [min]
    """
    sums = frame.middle[None] if drawn is None else frame.days
    weather = np.zeros(1, dtype=np.int64) if drawn is None else drawn.weather
    start, now = (np.full(len(weather), max(minute, 0.0)) for minute in span)
    had = np.nan_to_num(between(sums, weather, now) - between(sums, weather, start))
    needs, sd = frame.dose, float(np.hypot(frame.dose_log_sd, frame.dose_doubt_log_sd))
    if own is not None:
        likely, day = frame.middle[None], np.zeros(1, dtype=np.int64)
        to_own, to_start = (
            float(between(likely, day, np.array([max(minute, 0.0)]))[0])
            for minute in (own[0], span[0])
        )
        if to_own > to_start:  # else it ends after the light that is known
            needs, sd = to_own - to_start, own[1]
    dose = np.full(len(weather), needs)
    if sd > 0.0:
        least = np.log(np.maximum(had, TINY) / needs) / sd
        luck = _above(least, np.full(len(weather), 0.5) if chance is None else chance)
        dose = needs * np.exp(sd * luck)
    ends = light_dose.ends_in(sums, weather, start, dose)
    return np.asarray(np.where(np.isnan(ends), LONG, ends))


def _above(least: Floats, chance: Floats) -> Floats:
    """Return standard normal values, known to lie above some, at chances from 0 to 1."""
    from scipy.special import ndtr, ndtri  # heavy: only where something is running

    share = ndtr(-least) * (1.0 - chance)  # of what lies above: the upper tail keeps its figures
    return np.asarray(-ndtri(np.maximum(share, 1e-300)))


def as_it_stands(middle: Middle) -> tuple[list[tuple[DayRun, Rules]], bool]:
    """Return plans by the order that stands, each with the rule that keeps to it.

    With nothing before its planned time, where that still leads to the plan that stands; with each
    step as soon as hands are free for it; with what spoils before what keeps; and, as the last,
    with each plate begun at once, however long before its time. True beside them when the first one
    is the plan that stands.

    Parameters
    ----------
    middle : Middle
        Where the plates stand, and by which plan.
    """
    kept = middle.standing.kept
    soon = middle.follow(kept)
    waiting = middle.run(replace(soon, not_before=soon.priority.copy())).one(0)
    ahead = np.isnan(middle.begun.starts) & np.isfinite(kept)
    held = np.isfinite(kept).all(axis=1) | np.isnan(middle.begun.starts).all(axis=1)
    unmoved = bool(held.all() and (np.abs(waiting.starts - kept)[ahead] <= STILL).all())
    found = [(waiting, middle.follow(waiting.starts))] if unmoved else []
    plan = middle.run(soon).one(0)
    found.append((plan, middle.follow(plan.starts)))
    spoils = np.array([i > 0 and b.within is not None for i, b in enumerate(middle.shop.blocks)])
    first = middle.run(_spoiling_first(soon, spoils)).one(0)
    found.append((first, _spoiling_first(middle.follow(first.starts), spoils)))
    at_once = middle.run(middle.at_once(kept)).one(0)
    found.append((at_once, middle.follow(at_once.starts)))
    return found, unmoved


def _spoiling_first(rule: Rules, spoils: Truth) -> Rules:
    return replace(rule, priority=rule.priority - NEVER * spoils)
