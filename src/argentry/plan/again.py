"""A plan made again in the middle of its day, changing as little as possible.

What has happened stays; what is running ends when it must by all that is seen of it so far. The
order that stands is kept unless another gives clearly more good plates, and a plate not yet begun
that would more likely be lost than finished is left out.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.plan import choose, further, latest, rules, spread
from argentry.plan.check import faults
from argentry.plan.day import Planned, nothing
from argentry.plan.dispatch import play
from argentry.plan.further import NEVER
from argentry.plan.middle import LEAD, STILL, as_it_stands, taken_up, waits_for_light
from argentry.plan.problem import After, Standing
from argentry.plan.tasks import blocks_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Whole
    from argentry.plan.further import Further
    from argentry.plan.middle import Middle
    from argentry.plan.problem import Day
    from argentry.plan.shop import DayRun, Drawn, Rules, Runs


DAYS = 120  # behind the odds of a plan made again
RULE_DRAWS = 40  # random rules tried for another order
WORTH_A_CHANGE = 0.15  # good plates that another order must bring
WORTH_BEGINNING = 0.3  # chance of being finished under which a plate is not begun
ON_MOST_DAYS = 0.5  # of which one that nobody asked for is begun, and all are finished with it
AS_GOOD = 0.03  # good plates by which orders like the old one are as good as each other
IN_HOURS = 10.0  # such minutes that a plate done within the hours is worth
AS_FIRM = 5.0  # minutes in which such a pause spoils a plate: fewer of them make no other order
TRIED = 6  # plans that are judged by all days


@dataclass(frozen=True)
class Again:
    """A plan made again.

    Attributes
    ----------
    planned : Planned
        The plan of the plates in `plates`; what has happened is part of it.
    plates : Whole, shape (plates placed,)
        Which of the standing's plates they are.
    left_out : tuple of int
        Plates not begun that no longer fit.
    not_finished : tuple of int
        Plates begun that the day will not finish, as far as can be foreseen.
    reordered : bool
        True when another order is taken than the one that stood.
    kept_share : float or None
        Chance that all plates are finished by the order that stood; None where the two plans hold
        other plates, and one would lie beside two. [1]
    faults : tuple of str
        Why no order keeps every rule from here on; the plan is empty then.
    now : float
        When it was made. [min]
    """

    planned: Planned
    plates: Whole
    left_out: tuple[int, ...]
    not_finished: tuple[int, ...]
    reordered: bool
    kept_share: float | None
    faults: tuple[str, ...]
    now: float


def plan_again(
    day: Day,
    standing: Standing,
    *,
    days: int = DAYS,
    seed: int = 1,
) -> Again:
    """Make the plan again from where the plates stand.

    Parameters
    ----------
    day : Day
        Its `first_minute` is now; its `plates` is not looked at.
    standing : Standing
        Where the plates stand.
    days : int
        Simulated days behind the odds.
    seed : int
        For the draws.

    Returns
    -------
    Again
        With no plates placed when nothing that is left can be finished.
    """
    began = time.perf_counter()
    blocks = blocks_of(day.tasks)
    if not len(standing.begun):  # all are lost
        planned = nothing(blocks, began, 0.0, proved=False)
        return Again(planned, np.arange(0), (), (), False, None, (), day.first_minute)
    whole = day
    middle = taken_up(day, blocks, standing, days, seed)
    kept = play(middle.shop, middle.follow(standing.kept), middle.drawn)
    stood = np.flatnonzero(np.isfinite(standing.kept[:, 0]))
    unbegun = [p for p, row in enumerate(middle.begun.starts) if np.isnan(row).all()]
    last_first = sorted(
        unbegun, key=lambda p: -float(np.nan_to_num(standing.kept[p, 0], nan=NEVER))
    )
    held = np.arange(len(standing.begun))
    for doubtful in [*last_first, None]:
        taken = _best(day, middle, seed)
        plan = taken.plan
        usual = play(middle.shop, taken.rule, middle.drawn)
        if doubtful is None:
            break
        at = int(np.flatnonzero(held == doubtful)[0])
        if _has_place(plan, usual, at):
            break
        held = np.delete(held, at)
        if not len(held):
            break
        day = whole.of_plates(held)
        middle = taken_up(day, blocks, standing.part(held), days, seed)
    left_out = tuple(p for p in unbegun if p not in held)
    if not len(held):
        planned = nothing(blocks, began, time.perf_counter() - began, proved=False)
        return Again(planned, held, left_out, (), False, None, (), day.first_minute)
    done = np.isfinite(plan.ends[:, -1])
    which = np.flatnonzero(done)
    planned = _planned(middle, taken, usual, which, began)
    planned = replace(planned, special=day.of_plates(which).special)
    not_finished = tuple(int(p) for p in held[~done])
    placed = held[done] if planned.placed else held[:0]
    alike = len(placed) > 0 and np.array_equal(placed, stood)
    kept_share = float(kept.sound[0][:, stood].all(axis=1).mean()) if alike else None
    return Again(
        planned,
        placed,
        left_out,
        not_finished,
        taken.reordered,
        kept_share,
        taken.faults,
        day.first_minute,
    )


@dataclass(frozen=True)
class OneMore:
    """Whether one plate more is begun beyond a plan made again.

    Attributes
    ----------
    found : Further or None
        How it is best begun, with its odds on days that had no part in the choice; None for none.
    too_rare : float or None
        The chance of being finished that was too low for it; None where that did not decide. [1]
    """

    found: Further | None
    too_rare: float | None = None


def one_more(
    day: Day, standing: Standing, again: Again, *, asked: bool, days: int = DAYS, seed: int = 1
) -> OneMore:
    """Return how one plate more is best begun beyond a plan made again.

    Only one that the plan made when it is taken has a place for, else that would leave it out, and
    that the odds told of it speak for. One
    that nobody asked for is not for the rare day alone: it is begun on most days, and all are
    finished with it on most. Nor is it named while a plate waits for light
    of which no forecast or reading tells: that is seen first.

    Parameters
    ----------
    day, standing
        As of `plan_again`.
    again : Again
        Its answer; it holds every plate that stands.
    asked : bool
        As of `further.find`.
    days : int
        Simulated days.
    seed : int
        For the draws.
    """
    blocks = again.planned.blocks
    middle, rule = beside_one_more(day, standing, again, days, seed)
    if not asked and day.light.sky_seen and waits_for_light(middle):
        return OneMore(None)
    found = further.find(middle.shop, [rule], middle.drawn, asked=asked)
    if found is None:
        return OneMore(None)
    many, seed_told = further.TOLD_TIMES * days, seed + further.TOLD_SEED
    told, _ = beside_one_more(day, standing, again, many, seed_told)
    found = further.on_days(told.shop, rule, found, told.drawn)
    if not (asked or found.begun.mean() >= ON_MOST_DAYS):
        return OneMore(None)
    stand = middle.shop.plates - 1
    if found.plate >= 0:  # as it will be planned once it is taken
        after = [standing.after_of(plate) for plate in range(stand)]
        middle = middle.waiting((*after, After(found.plate, blocks[found.block].last, found.until)))
    taken = _best(day, middle, seed)
    usual = play(middle.shop, taken.rule, middle.drawn)
    if not (asked or usual.sound[0].all(axis=1).mean() >= ON_MOST_DAYS):
        return OneMore(None)
    if not np.isfinite(taken.plan.ends[stand, -1]):
        return OneMore(None)
    share = min(float(found.sound.mean()), float(usual.sound[0][:, stand].mean()))
    return OneMore(None, share) if share < WORTH_BEGINNING else OneMore(found)


def beside_one_more(
    day: Day, standing: Standing, again: Again, days: int, seed: int
) -> tuple[Middle, Rules]:
    """Return the day with one plate more, and the rule by which the others keep to their plan.

    Parameters
    ----------
    day, standing
        As of `plan_again`.
    again : Again
        Its answer; it holds every plate that stands.
    days : int
        Simulated days.
    seed : int
        For the draws.
    """
    middle = taken_up(day, again.planned.blocks, standing.with_one_more(), days, seed)
    shop = replace(middle.shop, plates=middle.shop.plates - 1)
    return middle, rules.follow(shop, again.planned.starts[None], LEAD)


def _has_place(plan: DayRun, usual: Runs, plate: int) -> bool:
    """Tell whether a plate not begun is finished as expected, and often enough to be begun."""
    share = float(usual.sound[0][:, plate].mean())
    return bool(np.isfinite(plan.ends[plate, -1])) and share >= WORTH_BEGINNING


def _best(day: Day, middle: Middle, seed: int) -> _Taken:
    """Return the plan to go on by."""
    own, unmoved = as_it_stands(middle)
    at_once = len(own) - 1
    if day.hours_end < day.last_minute:
        own.append(_plate_by_plate(middle))
    known = {plan.starts.tobytes() for plan, _ in own}
    others = [(plan, middle.follow(plan.starts)) for plan in _others(middle, known, seed)]
    ways = [*own, *others]
    few = middle.drawn.first(max(int(choose.FIRST_LOOK * middle.drawn.days), 1))
    good = _good(middle, [rule for _, rule in ways], few)
    wrong = [_faults(day, middle, plan) for plan, _ in own]
    tried = [at for at in range(len(own)) if not wrong[at]]
    for at in np.argsort(-good, kind="stable"):
        if at >= len(own) and len(tried) < TRIED and not _faults(day, middle, ways[at][0]):
            tried.append(int(at))
    if not tried:
        return _Taken(*own[0], False, wrong[0])
    good = _good(middle, [ways[at][1] for at in tried], middle.drawn)
    like = [k for k, at in enumerate(tried) if at < len(own)]
    best = int(np.argmax(good))
    if like and good[best] <= good[like].max() + WORTH_A_CHANGE:
        spare = WORTH_A_CHANGE if unmoved and like[0] == 0 else AS_GOOD
        firm = [k for k in like if good[k] >= good[like].max() - spare]
        most = max(_finished(ways[tried[k]][0]) for k in firm)
        firm = [k for k in firm if _finished(ways[tried[k]][0]) == most]
        stands = unmoved and firm[0] == 0
        cost = {k: _cost(day, middle, ways[tried[k]][0]) for k in firm}
        least = min(cost.values()) + AS_FIRM
        best = firm[0] if stands else next(k for k in firm if cost[k] <= least)
        if stands and _idle_for_nothing(middle, own, at_once, tried, good):
            best = tried.index(at_once)
    plan, rule = ways[tried[best]]
    return _Taken(plan, rule, tried[best] >= len(own), ())


def _finished(plan: DayRun) -> int:
    return int(np.isfinite(plan.ends[:, -1]).sum())


def _idle_for_nothing(
    middle: Middle,
    own: Sequence[tuple[DayRun, Rules]],
    at_once: int,
    tried: Sequence[int],
    good: Floats,
) -> bool:
    """Tell whether the plan that stands, the first, lets hands stand idle beside a plate to begin.

    Where that is the next thing that hands could do, and more good plates come of the same order
    begun at once, waiting has lost its reason: with the plate before, mostly.
    """
    if at_once not in tried:
        return False
    stands, soonest = (own[at][0].starts for at in (0, at_once))
    attended = [block.attended for block in middle.shop.blocks]
    ahead = np.isnan(middle.begun.starts) & np.isfinite(soonest) & attended
    first = soonest[ahead].min(initial=np.inf)
    idle = (soonest[:, 0] == first) & (stands[:, 0] - first > STILL)
    gain = good[tried.index(at_once)] - good[tried.index(0)]
    return bool(idle.any() and gain > AS_GOOD)


def _cost(day: Day, middle: Middle, plan: DayRun) -> float:
    """Return what speaks against an order that is as good as others, in minutes open to pauses."""
    in_hours = np.count_nonzero(plan.ends[:, -1] <= day.hours_end)
    return _open_to_pauses(middle, plan) - IN_HOURS * in_hours


def _open_to_pauses(middle: Middle, plan: DayRun) -> float:
    """Return in how many minutes hands that are called away would spoil a plate [min].

    A minute of waiting counts by the share of the pauses, none to the trade's longest, that would
    outlast what is then left of the limit.
    """
    longest = trade.value("day", "called_away")
    waits_from = np.fmax(plan.ends[:, :-1], middle.shop.first_minute)
    waits = np.nan_to_num(plan.starts[:, 1:] - waits_from)
    limits = [np.inf if block.within is None else block.within for block in middle.shop.blocks[1:]]
    left = np.array(limits) - np.nan_to_num(plan.starts[:, 1:] - plan.ends[:, :-1])
    spoilt = np.clip(1.0 - left / longest, 0.0, 1.0)
    return float((np.maximum(waits, 0.0) * spoilt).sum())


def _plate_by_plate(middle: Middle) -> tuple[DayRun, Rules]:
    """Return a plan in which who is to be done first is finished first, with its rule.

    Past the hours some plates are then done within them, where by the order that stands each waits
    for the last step of the others.
    """
    soon = middle.follow(middle.standing.kept)
    place = np.argsort(np.argsort(soon.priority[0, :, -1], kind="stable"))
    plan = middle.run(replace(soon, priority=soon.priority + NEVER * place[:, None])).one(0)
    return plan, middle.follow(plan.starts)


@dataclass(frozen=True)
class _Taken:
    """A plan to go on by, the rule that keeps to it, whether it is another order, its faults."""

    plan: DayRun
    rule: Rules
    reordered: bool
    faults: tuple[str, ...]


def _faults(day: Day, middle: Middle, plan: DayRun) -> tuple[str, ...]:
    """Return what is wrong with the plan of the plates that it finishes."""
    which = np.flatnonzero(np.isfinite(plan.ends[:, -1]))
    if not len(which):
        return ()
    begun = np.isfinite(middle.begun.starts)[which]
    blocks, kinds = middle.shop.blocks, plan.frame_kind[which]
    day = day.of_plates(which)
    return faults(day, blocks, plan.starts[which], plan.ends[which], kinds, begun=begun)


def _good(middle: Middle, many: Sequence[Rules], drawn: Drawn) -> Floats:
    runs = play(middle.shop, choose.joined(many), drawn)
    return np.asarray(spread.worth(runs, middle.shop.blocks).sum(axis=2).mean(axis=1))


def _others(middle: Middle, known: set[bytes], seed: int) -> list[DayRun]:
    """Return plans by other orders, each once, those that finish most plates first."""
    runs = middle.run(rules.plain_rules(middle.shop, RULE_DRAWS, seed))
    plans = [runs.one(rule) for rule in range(len(runs.finished))]
    found = {plan.starts.tobytes(): plan for plan in plans}

    def rank(plan: DayRun) -> tuple[int, float]:
        ends = plan.ends[:, -1]
        return -_finished(plan), float(np.nan_to_num(ends).sum())

    others = [plan for starts, plan in found.items() if starts not in known]
    return sorted(others, key=rank)[: choose.KEPT]


def _planned(
    middle: Middle,
    taken: _Taken,
    usual: Runs,
    which: Whole,
    began: float,
) -> Planned:
    """Return the plan of the plates that will be finished, with odds and latest starts."""
    shop, plan = middle.shop, taken.plan
    seconds = time.perf_counter() - began
    if taken.faults or not len(which):  # a plan with a fault is never shown
        return nothing(shop.blocks, began, seconds, proved=False)
    starts, ends = plan.starts[which], plan.ends[which]
    counted = usual.of_plates(which)
    safe, limited = latest.latest_starts(shop, taken.rule, plan.starts, middle.drawn, usual, which)
    end = float(ends[:, -1].max())
    return Planned(
        blocks=shop.blocks,
        starts=starts,
        ends=ends,
        latest=safe[which],
        limited=limited[which],
        frame_kind=plan.frame_kind[which],
        days=spread.spread_of(counted, shop.blocks),
        finish=end,
        earliest=end,
        bound=float("nan"),
        proved=False,
        first_plan_seconds=seconds,
        seconds=time.perf_counter() - began,
        most=len(which),
        most_proved=False,
        one_by_one=0,
        one_by_one_minutes=float("nan"),
    )
