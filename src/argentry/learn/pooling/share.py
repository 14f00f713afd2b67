"""What a studio's plates taught, as figures that say nothing of plates, people or place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.causes.suspects import SINCE
from argentry.learn.numbers.box_doubt import elsewhere
from argentry.learn.odds.effects import effects
from argentry.learn.pooling.scales import scale_of, with_trade
from argentry.physics.stops import Z80
from argentry.records.learned import SharedFigure
from argentry.trade.conditions import conditions

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from argentry.arrays import Floats
    from argentry.learn.odds.fitting import Fitted, StageFit
    from argentry.records.decision import Learned

LEAST_PLATES = 1.0  # known of a condition, under which nothing is said of it


def figures_of(fitted: Fitted, numbers: Sequence[Learned]) -> tuple[SharedFigure, ...]:
    """Return what is shared: documented things only, no column and no word of the maker's own.

    Parameters
    ----------
    fitted : Fitted
        What the plates taught of the odds.
    numbers : sequence of Learned
        The studio's own numbers.
    """
    return tuple(
        figure
        for figure in _all(fitted, numbers)
        if (scale := scale_of(*figure.key)) is not None
        and scale.low < figure.low <= figure.value <= figure.high < scale.high
        and figure.low < figure.high
    )


def _all(fitted: Fitted, numbers: Sequence[Learned]) -> Iterator[SharedFigure]:
    came = [bool(one) for one in fitted.came if one is not None]
    if came:
        yield _good(sum(came), len(came))
    for key, stage in fitted.stages.items():
        if stage.table.plates > 0.0:
            yield _stage(key, stage)
    documented = {(c.stage, c.key) for c in conditions()}
    for one in effects(fitted):
        if one.plates < LEAST_PLATES or (one.stage, one.condition) not in documented:
            continue
        size = sorted(abs(v) for v in (one.low, one.effect, one.high))
        if one.form in ("free", "switch"):
            size = [one.low, one.effect, one.high]
        # as if conditions mattered as much as the trade says: how much they do here is of the stage
        low, middle, high = (v / fitted.stages[one.stage].strength for v in size)
        at = one.condition, one.stage
        yield with_trade(SharedFigure("effect", *at, middle, low, high, one.plates))
        if one.best is not None and one.best_low is not None and one.best_high is not None:
            best = one.best, one.best_low, one.best_high
            yield with_trade(SharedFigure("best", *at, *best, one.plates))
    for key, stage in fitted.stages.items():
        yield from _matters(key, stage)
    for row in numbers:
        if row.plates and not (row.of and row.what != "box_factor"):
            low, high = elsewhere(row)
            yield SharedFigure(
                "number", row.what, "", row.value, low, high, row.plates,
                row.believed, row.believed_low, row.believed_high,
            )  # fmt: skip


def _good(good: int, plates: int) -> SharedFigure:
    from scipy.special import betaincinv

    a, b = 1.0 + good, 1.0 + plates - good
    low, middle, high = (float(betaincinv(a, b, share)) for share in (0.1, 0.5, 0.9))
    return SharedFigure("good", "", "", middle, low, high, plates, 0.5, 0.1, 0.9)  # from any share


def _stage(key: str, stage: StageFit) -> SharedFigure:
    scale = scale_of("stage", "", key)
    assert scale is not None
    base = stage.draws.points[:, 0]
    mean, sd = float(base.mean()), float(base.std())
    low, middle, high = (scale.back(mean + z * sd) for z in (-Z80, 0.0, Z80))
    return with_trade(SharedFigure("stage", key, "", middle, low, high, stage.table.plates))


def _matters(key: str, stage: StageFit) -> Iterator[SharedFigure]:
    """Yield how likely each condition matters on this stage, had it begun at the trade's chance."""
    view, table = stage.sets.view, stage.table
    before = view.weighed.log_prior - view.weighed.log_prior.max()
    before = np.exp(before) / np.exp(before).sum()
    for condition in (c for c in conditions() if c.stage == key):
        columns = [
            j for j, side in enumerate(view.sides)
            if side.name == condition.key and side.side != SINCE and side.column < len(table.names)
        ]  # fmt: skip
        if not columns or not view.faults:
            continue
        members = view.weighed.members[:, columns].max(axis=1)
        odds = _odds(condition.inclusion) / _odds(float(before @ members))
        now = _odds(np.clip(view.weights @ members, 1e-6, 1.0 - 1e-6)) * odds
        inside = np.clip(now / (1.0 + now), 0.011, 0.989)
        value, (low, high) = float(inside[0]), np.quantile(inside[1:], [0.1, 0.9])
        read = float(max(view.sides[j].read for j in columns))
        yield with_trade(
            SharedFigure(
                "matters", condition.key, key, value,
                min(float(low), 0.95 * value), max(float(high), value + 0.05 * (1.0 - value)), read,
            )
        )  # fmt: skip


def _odds(share: Floats | float) -> Floats:
    return np.asarray(share) / (1.0 - np.asarray(share))
