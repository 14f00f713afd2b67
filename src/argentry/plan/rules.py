"""Which rules the hands may follow: plain ones to find plans by, and those that keep to a plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.daylight import whole_ends
from argentry.plan.dispatch import play, some_clean
from argentry.plan.shop import Drawn, Rules, Runs, Shop

if TYPE_CHECKING:
    from argentry.arrays import Floats


APART_MINUTES = (0.0, 30.0, 60.0, 90.0, 120.0)  # between the beginnings of plates, to try

EARLY = (10.0, 20.0, 5.0, 35.0)  # that a coat is ready before its sitter comes, to try [min]
LATEST_BEGINNING = 300.0  # of the first plate, after the room is ready, to try [min]


def median_days(
    shop: Shop, rules: Rules, until: Floats | None = None, held: Floats | None = None
) -> Runs:
    """Simulate one day by each rule, with median durations and the middle light.

    Everything lies on whole minutes, so that the solver can take such a day as its first plan.

    Parameters
    ----------
    shop : Shop
        The day.
    rules : Rules
        What the hands prefer.
    until : Floats, shape (plates,), optional
        When what is running now is expected to end, in the middle of a day. [min]
    held : Floats, shape (plates,), optional
        No plate is begun before this. [min]
    """
    # in the middle of a day hands may give up a break for what would spoil, as on the day itself;
    # nothing else is planned to run into one
    return play(_by_the_minute(shop), rules, _median(shop, until, held))


def some_plan(shop: Shop, rules: Rules) -> bool:
    """Say whether one of the rules leads to a plan in which every plate is finished cleanly."""
    return some_clean(_by_the_minute(shop), rules, _median(shop))


def _by_the_minute(shop: Shop) -> Shop:
    """Return a shop as plans are made by."""
    first = float(np.ceil(shop.first_minute))
    strict = shop.begun is None
    return replace(shop, strict_breaks=strict, break_grace=0.0, first_minute=first)


def _median(shop: Shop, until: Floats | None = None, held: Floats | None = None) -> Drawn:
    """Return one day with median durations and the middle light."""
    routes = [[float(b.whole_minutes) for b in route] for route in shop.routes]
    minutes = np.array(routes)[shop.by_plate][None]
    return Drawn(
        minutes=minutes,
        weather=np.zeros(1, dtype=np.int64),
        exposure_ends=_whole(shop.exposure_tables),
        sums=(),
        doses=(),
        expected_exposures=shop.exposure_tables,
        expected_ripe=shop.expected_ripe[:, None],
        ripe_ends=_whole(shop.expected_ripe),
        running_until=None if until is None else until[None],
        held_back=None if held is None else held[None],
    )


def _whole(ends: Floats) -> Floats:
    whole = whole_ends(ends).astype(np.float64)
    return np.where(whole < 0, np.nan, whole)


def plain_rules(shop: Shop, draws: int, seed: int) -> Rules:
    """Return rules worth trying: the simple ones of the trade, then random ones.

    What is nearest to its end first, or what is begun first; with few or many plates in hand; the
    plates begun at once or apart; and random orders of preference.

    Parameters
    ----------
    shop : Shop
        The day.
    draws : int
        How many random ones.
    seed : int
        For the draws.
    """
    count = len(shop.blocks)
    generator = np.random.default_rng(seed)
    start_early = np.arange(count, dtype=np.float64)
    frames = sum(shop.frame_counts)
    limits = sorted(
        ({1, 2, 3, 4, shop.plates} & set(range(1, shop.plates + 1)))
        # of many plates, as many as the frames hold and hands work at beside, or come in turns
        | ({frames + shop.workers, 2 * frames} & set(range(5, shop.plates)))
    )
    tried = [
        (priority, limit, apart)
        for apart in (APART_MINUTES if shop.plates > 1 else APART_MINUTES[:1])
        for priority in (start_early, -start_early)
        for limit in limits
    ]
    tried += [
        (generator.random(count), int(generator.choice(limits)), generator.choice(APART_MINUTES))
        for _ in range(draws)
    ]
    turn = np.arange(shop.plates, dtype=np.float64)
    return _rules(shop, [(one, limit, np.asarray(turn * apart)) for one, limit, apart in tried])


def later_rules(shop: Shop) -> Rules:
    """Return the two simple rules with many or few plates in hand, the first begun later and later.

    Parameters
    ----------
    shop : Shop
        The day.
    """
    early = np.arange(len(shop.blocks), dtype=np.float64)
    tried = [
        (priority, limit, np.full(shop.plates, later))
        for later in np.arange(0.0, LATEST_BEGINNING, 15.0)
        for priority in (early, -early)
        for limit in sorted({1, shop.plates})
    ]
    return _rules(shop, tried)


def _rules(shop: Shop, tried: Sequence[tuple[Floats, int, Floats]]) -> Rules:
    """Return rules of preference, plates in hand, and minutes from the first to each beginning."""
    not_before = np.full((len(tried), shop.plates, len(shop.blocks)), -np.inf)
    for row, (_, _, after) in enumerate(tried):
        not_before[row, :, 0] = shop.first_minute + after
        _not_too_early(shop, not_before[row, :, 0], EARLY[row % len(EARLY)])
    priority = np.stack([np.tile(one, (shop.plates, 1)) for one, _, _ in tried])
    return Rules(priority, np.array([limit for _, limit, _ in tried]), not_before)


def _not_too_early(shop: Shop, beginnings: Floats, early: float) -> None:
    """Begin the plate of a sitter so that its coat is fresh when the sitter comes."""
    for plate, sort in enumerate(shop.by_plate):
        if sort and np.isfinite(shop.sorts[sort - 1].light.window[0]):
            coat = shop.routes[sort][0].minutes
            beginnings[plate] = shop.sorts[sort - 1].light.window[0] - coat - early


def one_by_one(shop: Shop) -> Rules:
    """Return the rule that has one plate in hand at a time."""
    shape = (1, shop.plates, len(shop.blocks))
    priority = np.broadcast_to(np.arange(shape[2], dtype=np.float64), shape)
    return Rules(priority, np.ones(1, dtype=np.int64), np.full(shape, -np.inf))


def follow(shop: Shop, starts: Floats, lead_minutes: float) -> Rules:
    """Return the rules that keep to the order of plans as far as the day allows.

    Parameters
    ----------
    shop : Shop
        The day.
    starts : Floats, shape (plans, plates, blocks)
        Planned starts. [min]
    lead_minutes : float
        A plate may be begun this much before its planned start when hands are idle. [min]

    Returns
    -------
    Rules
        Earlier planned work goes first; what is urgent still goes before it.
    """
    not_before = np.full(starts.shape, -np.inf)
    # a coat for a sitter is begun when the plan says, so that the plan is judged by that
    early = np.where(np.isfinite(shop.due[shop.by_plate, 0]), 0.0, lead_minutes)
    not_before[:, :, 0] = starts[:, :, 0] - early
    return Rules(starts, np.full(len(starts), shop.plates), not_before)
