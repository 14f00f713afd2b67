"""What has been learned of each condition, next to what was assumed of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.stops import Z80
from argentry.records.learned import Effect
from argentry.trade.conditions import usual_strength

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats
    from argentry.learn.odds.fitting import Fitted, StageFit
    from argentry.trade.conditions import Condition

    Best = tuple[float, float, float] | tuple[None, None, None]

_AT_80 = Z80 * np.array([-1.0, 0.0, 1.0])  # low, middle and high of a unit normal


def effects(fitted: Fitted) -> tuple[Effect, ...]:
    """Return every condition's effect, by stage in the order of the work.

    Parameters
    ----------
    fitted : Fitted
        What has been learned.

    Returns
    -------
    tuple of Effect
        In probit per width, with 80 % ranges before and after the plates.
    """
    return tuple(
        _effect(stage, column, condition)
        for stage in fitted.stages.values()
        for column, condition in enumerate(stage.table.conditions)
    )


def _effect(stage: StageFit, column: int, condition: Condition) -> Effect:
    # a window's effect is told as a fall: what one width off its best value costs
    form = "free" if condition.form in ("free", "switch") else "one_way"
    form = "window" if condition.form == "window" else form
    sign = {"free": 1.0, "one_way": float(condition.sign), "window": -1.0}[form]
    ends = (condition.effect_low, condition.effect_middle, condition.effect_high)
    # as before the first plate: the trade's word is of a studio in which conditions matter much
    believed = _signed([usual_strength() * end for end in ends], sign)
    learned, best = believed, _values(condition, condition.optimum_sd * _AT_80)
    found = np.flatnonzero(stage.table.seen == column)
    if found.size:
        u, points = stage.model.unknowns, stage.draws.points
        at = int(np.flatnonzero(getattr(u, form) == found[0])[0])
        values = points[:, u.parts["curve" if form == "window" else form].start + at]
        spread = np.quantile(values if form == "free" else np.exp(values), [0.1, 0.5, 0.9])
        learned = _signed(spread, sign)
        if form == "window":
            widths = points[:, u.parts["best"].start + at]
            best = _values(condition, np.quantile(widths, [0.1, 0.5, 0.9]))
    known = ~np.isnan(stage.table.x[:, column])
    if form != "window":
        best = (None, None, None)
    return Effect(
        condition=condition.key,
        stage=condition.stage,
        title=condition.title,
        form=condition.form,
        unit=condition.unit,
        effect=learned[0],
        low=learned[1],
        high=learned[2],
        believed=believed[0],
        believed_low=believed[1],
        believed_high=believed[2],
        plates=float(stage.table.weight[known].sum()),
        best=best[0],
        best_low=best[1],
        best_high=best[2],
        source=condition.source,
        widths={"centre": condition.centre, "width": condition.width},
    )


def _signed(ends: Sequence[float] | Floats, sign: float) -> tuple[float, float, float]:
    """Return middle, low and high of an effect, from its low, middle and high without a sign."""
    low, middle, high = (sign * float(v) for v in ends)
    return middle, min(low, high), max(low, high)


def _values(condition: Condition, widths: Floats) -> Best:
    """Return middle, low and high of a best value in its unit, from low, middle, high widths."""
    low, middle, high = (float(v) * condition.width for v in widths)
    if condition.scale == "doublings":
        low, middle, high = (condition.centre * 2.0**v for v in (low, middle, high))
        return middle, low, high
    return condition.centre + middle, condition.centre + low, condition.centre + high
