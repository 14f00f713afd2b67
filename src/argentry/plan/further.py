"""One plate beyond those that the usual day holds: begun on days that go well, and not on others.

It is begun when a step of another plate is done early enough. Until it begins, a day runs as
without it. So a few simulations, with it begun at set times and without it, answer for every such
step and every such hour. Once begun it waits for all other work, or it follows the last plate of
the plan at each step. The sheet in the morning and the bench in the middle of a day ask here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.choose import FIRST_LOOK, Chosen, joined
from argentry.plan.dispatch import play
from argentry.plan.rows import Branch
from argentry.plan.rules import follow
from argentry.plan.shop import Rules, Runs
from argentry.plan.spread import same_light, worth

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.daylight import DayLight
    from argentry.plan.shop import DayRun, Drawn, Shop
    from argentry.plan.tasks import Block


EVERY_MINUTES = 30.0  # of the times at which it is begun, to try; twice as far at first
LEAST_LOOK = 40  # days of a first look, where there are so many
WORTH_TELLING = 0.05  # good plates that it must bring
SURE = 1.0  # times the standard error of what it brings, as the best of many times is told
LIKELY = 0.8  # share of the days on which it is begun that must finish it if nobody asked for it
BEHIND = (0.0, 30.0, 60.0)  # behind the plate that it follows, to try; 0: behind all work [min]
LAST = 1e6  # a priority behind all planned work
NEVER = 1e7  # a minute behind all others
TOLD_TIMES = 4  # days by which odds and ranges are told, of each by which the plan was chosen
TOLD_SEED = 50  # away from the seed of those


@dataclass(frozen=True)
class Further:
    """A plate begun beyond the plan on days that go well.

    Attributes
    ----------
    plate, block : int
        When this block of this plate of the plan is done it may be begun; -1 where no plate is
        left to wait for.
    until : float
        Latest minute at which it is begun. [min]
    way : int
        Beyond which of the plans.
    follows : int
        The plate of the plan that it follows at each step; -1 where it waits for all other work.
    behind : float
        The time between the two at each step. [min]
    runs : Runs
        The simulated days, one rule: the plates of the plan, then this one.
    """

    plate: int
    block: int
    until: float
    way: int
    follows: int
    behind: float
    runs: Runs

    def good(self, blocks: tuple[Block, ...]) -> float:
        """Return the plates kept, each by the share of its odds that its waits leave, mean [1]."""
        return float(worth(self.runs, blocks).sum(axis=2).mean())

    @property
    def begun(self) -> Truth:
        """Whether it is begun, shape (days,)."""
        return np.isfinite(self.runs.starts[0, :, -1, 0])

    @property
    def sound(self) -> Truth:
        """Whether it is finished with its limits held, shape (days,)."""
        return np.asarray(self.runs.sound[0, :, -1])


def find(more: Shop, ways: Sequence[Rules], drawn: Drawn, *, asked: bool) -> Further | None:
    """Return how one plate more is best begun beyond a plan; None where it brings too little.

    Parameters
    ----------
    more : Shop
        The day with the plates of the plan and, as its last one, a plate like the others.
    ways : sequence of Rules
        Plans that it may go beyond, each as the one rule by which hands keep to it.
    drawn : Drawn
        Days as they may run.
    asked : bool
        True where the maker asked for more plates than the plan holds: then whatever it brings is
        welcome; else it must be finished on most of the days on which it is begun.
    """
    least = LIKELY * (not asked)
    few = drawn.first(min(max(int(FIRST_LOOK * drawn.days), LEAST_LOOK), drawn.days))
    behind = BEHIND if more.plates > 1 else BEHIND[:1]
    tries = [
        _Try(way, back, rule, _times(more, rule, 2.0 * EVERY_MINUTES))
        for way, rule in enumerate(ways)
        for back in behind
    ]
    without = _without(more, ways, drawn) if more.begun is None else None
    found = _begun_best(more, tries, without and without.first(few.days), few, least)
    looked = [one for one in found if one is not None]
    if not looked:
        return None
    best = max(looked, key=lambda one: one.good(more.blocks))
    rule = ways[best.way]
    again = _Try(best.way, best.behind, rule, _times(more, rule, EVERY_MINUTES))
    return _begun_best(more, [again], without, drawn, least, sure=SURE)[0]


def beyond(
    more: Shop, chosen: Chosen, earlier: Sequence[DayRun], drawn: Drawn, without: Drawn
) -> tuple[Chosen, Further | None]:
    """Return a plan with a plate more that is begun on days that go well, where it pays.

    Parameters
    ----------
    more : Shop
        As of `find`.
    chosen : Chosen
        The plan that is best by itself.
    earlier : sequence of DayRun
        The same with plates begun earlier: that may leave room for one more.
    drawn : Drawn
        Days of all the plates.
    without : Drawn
        Days of the plates of the plan.
    """
    shop = replace(more, plates=more.plates - 1)
    ways = [(chosen.plan, chosen.rule)]
    ways += [(plan, follow(shop, plan.starts[None], 0.0)) for plan in earlier]
    one = find(more, [rule for _, rule in ways], drawn, asked=True)
    if one is None or one.way == 0:
        return chosen, one
    plan, rule = ways[one.way]
    runs = play(shop, rule, without)
    return Chosen(plan, rule, float(worth(runs, shop.blocks).sum(axis=2).mean()), runs), one


def on_other_days(
    shop: Shop,
    chosen: Chosen,
    drawn: Drawn,
    one: Further | None,
    light: DayLight,
    seed: int,
) -> tuple[Runs, Further | None]:
    """Return a plan, and the plate beyond it, on days that had no part in the choice.

    What was the best of many on some days looks better on those than it is.

    Parameters
    ----------
    shop : Shop
        The day, with the plates of the plan.
    chosen : Chosen
        The plan.
    drawn : Drawn
        The days by which it was chosen.
    one : Further or None
        The plate beyond it.
    light : DayLight
        Of these days and of the others.
    seed : int
        That they were drawn by.
    """
    more = shop if one is None else replace(shop, plates=shop.plates + 1)
    days, seed = TOLD_TIMES * drawn.days, seed + TOLD_SEED
    others = same_light(drawn, more, light, days=days, seed=seed, turned=drawn.days)
    if one is None:
        return play(shop, chosen.rule, others), None
    one = on_days(more, chosen.rule, one, others)
    return one.runs.of_plates(np.arange(shop.plates)), one


def on_days(more: Shop, rule: Rules, one: Further, drawn: Drawn) -> Further:
    """Return a plate beyond a plan on other days than those by which it was chosen.

    Parameters
    ----------
    more : Shop
        The day with that plate as its last one.
    rule : Rules
        By which the plates of the plan are kept to it.
    one : Further
        The plate.
    drawn : Drawn
        The other days.
    """
    times = _times(more, rule, EVERY_MINUTES)
    times = times[(times <= one.until) | (times == NEVER)]
    tried = _Try(one.way, one.behind, rule, times).rules
    if more.begun is None:
        without = _without(more, [rule], drawn)
        taken = _taken(times, without, one.plate, one.block)
        later = (np.arange(len(times))[:, None] == taken) & (taken > 0)  # nothing else is asked
        like = Branch(without, np.where(later, times[:, None], np.inf))
        runs = play(more, tried, drawn, like)
    else:
        runs = play(more, tried, drawn)
        taken = _taken(times, runs, one.plate, one.block)
    day = np.arange(drawn.days)
    taken = np.where(runs.starts[taken, day, -1, 0] <= one.until, taken, 0)
    return replace(one, runs=_by_day(runs, taken))


def _by_day(runs: Runs, rule: Whole) -> Runs:
    """Return each day as it ran by a rule of its own, as days of one rule."""
    return Runs(*(values[rule, np.arange(len(rule))][None] for values in vars(runs).values()))


def _taken(times: Floats, runs: Runs, plate: int, block: int) -> Whole:
    """Return which of the times is the next once a block is done, by day; 0 where there is none."""
    done = runs.ends[0, :, plate, block] if plate >= 0 else np.full(runs.ends.shape[1], -LAST)
    taken = 1 + np.searchsorted(times[1:], np.nan_to_num(done, nan=NEVER))
    return np.where(taken < len(times), taken, 0)


@dataclass(frozen=True)
class _Try:
    """A plan to go beyond, how far behind, and when the plate is begun; at `NEVER` it is not."""

    way: int
    behind: float
    rule: Rules
    times: Floats

    @property
    def rules(self) -> Rules:
        return joined([with_one_more(self.rule, at, self.behind) for at in self.times])


def _times(more: Shop, rule: Rules, every: float) -> Floats:
    """Return when a plate more may be begun, to try [min]."""
    begun = float(rule.not_before[0, :, 0].min()) if more.plates > 1 else 0.0
    first = max(begun, more.first_minute, 0.0)
    last = more.last_minute - sum(block.minutes for block in more.blocks)
    return np.array([NEVER, *np.arange(first, max(last, first + 1.0), every)])


def _without(more: Shop, ways: Sequence[Rules], drawn: Drawn) -> Runs:
    """Return the days of plans on which the plate more is never begun, each plan one rule."""
    return play(more, joined([with_one_more(rule, NEVER) for rule in ways]), drawn)


def _begun_best(
    more: Shop,
    tries: Sequence[_Try],
    without: Runs | None,
    drawn: Drawn,
    least: float,
    sure: float = 0.0,
) -> list[Further | None]:
    """Return after which step and until when it is best begun, of each try: all are played at once.

    `without` it the days run as by `_without`, and so they do until it may be begun: only what
    follows is played; None plays all, from the middle of a day. What it brings must be so many
    times the standard error of that; 0 for a first look.
    """
    times = np.concatenate([one.times for one in tries])
    way = np.concatenate([np.full(len(one.times), one.way) for one in tries])
    minute = np.where(times < NEVER, times, np.inf)
    minute = np.broadcast_to(minute[:, None], (len(times), drawn.days))
    like = None if without is None else Branch(without, minute, way)
    runs = play(more, joined([one.rules for one in tries]), drawn, like)
    ends = np.cumsum([len(one.times) for one in tries])
    parts = [
        Runs(*(values[end - len(one.times) : end] for values in vars(runs).values()))
        for one, end in zip(tries, ends, strict=True)
    ]
    return [_best_of(more, *pair, least, sure) for pair in zip(tries, parts, strict=True)]


def _best_of(more: Shop, tried: _Try, runs: Runs, least: float, sure: float) -> Further | None:
    """Return the best of one try."""
    plates, days, times = more.plates - 1, runs.starts.shape[1], tried.times
    good = worth(runs, more.blocks).sum(axis=2)
    starts, gain, sound = runs.starts[:, :, -1, 0], good - good[0], runs.sound[:, :, -1]
    day = np.arange(days)
    best: tuple[float, int, int, float, Whole] | None = None
    for plate, block in np.ndindex(plates, len(more.blocks)) if plates else [(-1, -1)]:
        taken = _taken(times, runs, plate, block)
        until, brought = _best_time(starts[taken, day], gain[taken, day], sound[taken, day], least)
        if brought >= WORTH_TELLING and (best is None or brought > best[0]):
            best = brought, plate, block, until, np.where(starts[taken, day] <= until, taken, 0)
    if best is None:
        return None
    brought, plate, block, until, taken = best
    if brought < sure * float(gain[taken, day].std()) / np.sqrt(days):
        return None
    follows = _last(tried.rule) if tried.behind else -1
    return Further(plate, block, until, tried.way, follows, tried.behind, _by_day(runs, taken))


def _last(rule: Rules) -> int:
    """Return the plate that the plan begins last."""
    return int(rule.priority[0, :, 0].argmax())


def with_one_more(rule: Rules, minute: float, behind: float = 0.0) -> Rules:
    """Return a rule with a plate more, not begun before a minute and so far behind the last one.

    Parameters
    ----------
    rule : Rules
        One rule, of the plates without it.
    minute : float
        It is begun then or later. [min]
    behind : float
        Behind the plate that is begun last, at each step; 0: behind all work. [min]
    """
    count = rule.priority.shape[2]
    not_before = np.full((1, 1, count), -np.inf)
    not_before[:, :, 0] = minute
    last = LAST + np.arange(count, dtype=np.float64)[None, None]
    if behind:
        last = rule.priority[:, [_last(rule)]] + behind
    return Rules(
        np.concatenate([rule.priority, last], axis=1),
        rule.in_hand + 1,
        np.concatenate([rule.not_before, not_before], axis=1),
    )


def _best_time(start: Floats, gain: Floats, sound: Truth, least: float) -> tuple[float, float]:
    """Return until when to begin for the most to be gained, and that gain, mean over the days.

    At least this share of the days on which it is begun finish it.
    """
    order = np.argsort(start)  # those never begun come last
    begun = int(np.isfinite(start).sum())
    if not begun:
        return -np.inf, 0.0
    minute = np.ceil(start[order[:begun]])
    sums = np.cumsum(gain[order[:begun]]) / len(start)
    share = np.cumsum(sound[order[:begun]]) / np.arange(1, begun + 1)
    whole = np.append(minute[1:] > minute[:-1], True)  # not some days of a minute: all of them
    sums = np.where(whole & (share >= least), sums, -np.inf)
    best = int(np.argmax(sums))
    return float(minute[best]), float(sums[best])
