"""Which plan: many are made, and the one with the most good plates to be expected is taken."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import rules
from argentry.plan.dispatch import play
from argentry.plan.shop import DayRun, Rules, Runs, Shop
from argentry.plan.spread import worth
from argentry.plan.tasks import EXPOSURE
from argentry.records.day import MOST_PLATES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Whole
    from argentry.plan.shop import Drawn


RULE_DRAWS = 60
KEPT = 16  # plans that are judged by many days, of all that rules lead to
OWN_TIMES = 3  # times that a plan is played for the times that hands keep, at most
EARLIER = (20.0, 60.0, 600.0)  # idle hands may begin a plate this much before a plan, to try [min]
FIRST_LOOK = 0.3  # share of the days by which most plans are put aside
BY_ALL_DAYS = 4  # plans that are judged by all of them
FEW = 8  # so many are all judged by all days: a first look at them would cost as much
LIKE_GOOD = 0.005  # of two plans that differ by less in good plates the earlier one is taken


@dataclass(frozen=True)
class Chosen:
    """A plan with the rule by which hands keep to it.

    Attributes
    ----------
    plan : DayRun
        The day as planned.
    rule : Rules
        One rule.
    good : float
        Plates kept, each by the share of its odds that its waits leave, mean over the days.
    runs : Runs
        The days by which it was judged, as they ran by that rule.
    """

    plan: DayRun
    rule: Rules
    good: float
    runs: Runs


def plans_by_rule(shop: Shop, seed: int, draws: int = RULE_DRAWS) -> list[DayRun]:
    """Return different plans in which every plate is finished cleanly, the earliest first.

    Parameters
    ----------
    shop : Shop
        The day.
    seed : int
        Of the random rules.
    draws : int
        How many random rules to try.
    """
    return plans_and_most(shop, seed, draws)[0]


def plans_and_most(
    shop: Shop, seed: int, draws: int = RULE_DRAWS, *, full: bool = False
) -> tuple[list[DayRun], int]:
    """Return the plans of `plans_by_rule`, and the most plates that one of the rules finishes.

    Where the day is `full` the simple rules are thought not to find any: those that begin later
    are played with them, in one go.
    """
    plain = rules.plain_rules(shop, draws, seed)
    runs = rules.median_days(shop, joined([plain, rules.later_rules(shop)]) if full else plain)
    clean = runs.clean.sum(axis=2)
    most = int(clean.max())
    if clean[: len(plain)].max() == shop.plates:
        found = _clean(shop, runs, len(plain))
    elif full:
        found = _clean(shop, runs)
    else:  # begun at once a plate may be ripe in a break
        runs = rules.median_days(shop, rules.later_rules(shop))
        most = max(most, int(runs.clean.sum(axis=2).max()))
        found = _clean(shop, runs)
    return sorted(found.values(), key=lambda plan: plan.length), most


def _clean(shop: Shop, runs: Runs, first: int | None = None) -> dict[bytes, DayRun]:
    """Return the plans of the first runs that are clean, each once, by their starts."""
    different: dict[bytes, DayRun] = {}
    for at in np.flatnonzero(runs.clean[:first, 0].all(axis=1)):
        plan = in_order(runs.one(int(at)), shop.alike())
        different.setdefault(plan.starts.tobytes(), plan)
    return different


def holds(shop: Shop, seed: int, draws: int = 0) -> bool:
    """Say whether `plans_by_rule` finds a plan, for less work: not all of them are played out."""
    return rules.some_plan(shop, _every_rule(shop, draws, seed))


def most_by_rule(shop: Shop, seed: int, draws: int) -> int:
    """Return the most plates that a rule finishes cleanly, of those the shop wants."""
    clean = rules.median_days(shop, _every_rule(shop, draws, seed)).clean
    return int(clean.sum(axis=2).max())


def one_by_one_and_most(shop: Shop, seed: int) -> tuple[DayRun, int]:
    """Return the day with one plate in hand at a time, and `most_by_rule` without random rules."""
    every = joined([rules.one_by_one(shop), _every_rule(shop, 0, seed)])
    runs = rules.median_days(shop, every)
    return runs.one(0), int(runs.clean.sum(axis=2).max())


def _every_rule(shop: Shop, draws: int, seed: int) -> Rules:
    return joined([rules.plain_rules(shop, draws, seed), rules.later_rules(shop)])


def most_in_order(shop: Shop, seed: int) -> int:
    """Return how many plates rules finish of those that are wanted, each with all before it."""
    count = 0
    while count < MOST_PLATES and holds(replace(shop, plates=count + 1), seed):
        count += 1
    return count


def in_order(plan: DayRun, alike: Sequence[Whole]) -> DayRun:
    """Return a plan in which plates that are like each other are numbered by their beginnings.

    Parameters
    ----------
    plan : DayRun
        The plan.
    alike : sequence of Whole
        Groups of such plates.
    """
    order = np.arange(len(plan.starts))
    for group in alike:
        order[group] = group[np.argsort(plan.starts[group, 0], kind="stable")]
    return DayRun(plan.starts[order], plan.ends[order], plan.frame_kind[order])


def few_of(plans: Sequence[DayRun], blocks_that_fade: Sequence[int]) -> list[DayRun]:
    """Return the plans worth judging: those done first, and those whose plates wait least."""
    if len(plans) <= KEPT:
        return list(plans)

    def waits(plan: DayRun) -> float:
        return float(sum(plan.wait_before(block).sum() for block in blocks_that_fade))

    fresh = sorted(plans, key=waits)[: KEPT // 2]
    early = [plan for plan in plans if all(plan is not one for one in fresh)]
    return early[: KEPT - len(fresh)] + fresh


def begun_earlier(shop: Shop, plans: Sequence[DayRun]) -> list[DayRun]:
    """Return what plans become when idle hands begin plates earlier, each that is clean once.

    Parameters
    ----------
    shop : Shop
        The day.
    plans : sequence of DayRun
        At least one.
    """
    starts = np.stack([plan.starts for plan in plans])
    known = {plan.starts.tobytes() for plan in plans}
    tried = joined([rules.follow(shop, starts, lead) for lead in EARLIER])
    found = _clean(shop, rules.median_days(shop, tried))
    return [plan for key, plan in found.items() if key not in known]


def as_hands_keep(shop: Shop, plans: Sequence[DayRun]) -> list[DayRun]:
    """Return plans with the times that hands keep to on the day as expected, each once.

    Hands do not stand idle beside work that waits, as those of a solver's plan may: what they
    begin sooner is planned sooner. Where such a day would end later the plan keeps its own times.

    Parameters
    ----------
    shop : Shop
        The day.
    plans : sequence of DayRun
        At least one.
    """
    kept = list(plans)
    for _ in range(OWN_TIMES):
        starts = np.stack([plan.starts for plan in kept])
        runs = rules.median_days(shop, rules.follow(shop, starts, 0.0))
        clean = np.atleast_1d(runs.clean[:, 0].all(axis=1))
        played = [in_order(runs.one(at), shop.alike()) for at in range(len(kept))]
        kept = [
            new if fine and new.length <= plan.length else plan
            for plan, new, fine in zip(kept, played, clean, strict=True)
        ]
        if all((plan.starts == old).all() for plan, old in zip(kept, starts, strict=True)):
            break
    return list({plan.starts.tobytes(): plan for plan in reversed(kept)}.values())[::-1]


def choose(shop: Shop, plans: Sequence[DayRun], drawn: Drawn) -> Chosen:
    """Return the plan with the most good plates to be expected, and how to keep to it.

    Parameters
    ----------
    shop : Shop
        The day.
    plans : sequence of DayRun
        At least one.
    drawn : Drawn
        The days by which they are judged.

    Returns
    -------
    Chosen
        Of plans as good as each other, the one that is done first.
    """
    starts = np.stack([plan.starts for plan in plans])
    best = np.arange(len(plans))
    if len(plans) > FEW:
        first = drawn.first(max(int(FIRST_LOOK * drawn.days), 1))
        good = _good(shop, play(shop, rules.follow(shop, starts, 0.0), first))
        best = np.argsort(-good, kind="stable")[:BY_ALL_DAYS]
    tried = [(plans[int(at)], rules.follow(shop, starts[at : at + 1], 0.0)) for at in best]
    runs = play(shop, joined([rule for _, rule in tried]), drawn)
    good = _good(shop, runs)
    like = [i for i in range(len(tried)) if good[i] >= good.max() - LIKE_GOOD * shop.plates]
    taken = min(
        like, key=lambda i: (_kept_waiting(shop, tried[i][0]), tried[i][0].length, -good[i])
    )
    return Chosen(*tried[taken], float(good[taken]), runs.of_rule(taken))


def _kept_waiting(shop: Shop, plan: DayRun) -> float:
    """Return how long sitters wait in all; 0 where nobody comes [min]."""
    pose = next((i for i, b in enumerate(shop.blocks) if b.kind == EXPOSURE), 0)
    return float(np.nansum(plan.starts[:, pose] - shop.appointments))


def _good(shop: Shop, runs: Runs) -> Floats:
    return np.asarray(worth(runs, shop.blocks).sum(axis=2).mean(axis=1))


def joined(many: Sequence[Rules]) -> Rules:
    """Return several sets of rules as one."""
    return Rules(
        np.concatenate([one.priority for one in many]),
        np.concatenate([one.in_hand for one in many]),
        np.concatenate([one.not_before for one in many]),
    )


def held_back(rule: Rules, where: Sequence[tuple[int, int]], until: Floats) -> Rules:
    """Return copies of one rule, in each of which one block is not begun before a time.

    Parameters
    ----------
    rule : Rules
        One rule.
    where : sequence of (plate, block)
        The block held back in each copy.
    until : Floats, shape (copies,)
        [min]
    """
    copies = np.zeros(len(where), dtype=np.int64)
    many = rule.part(copies)
    not_before = many.not_before.copy()
    for copy, (plate, block) in enumerate(where):
        not_before[copy, plate, block] = max(until[copy], not_before[copy, plate, block])
    return replace(many, not_before=not_before)
