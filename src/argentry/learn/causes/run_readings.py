"""How the readings of one run, beside the good runs, make each cause more or less likely."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.spreads import LEAST_READ
from argentry.learn.stages.derived_conditions import measure
from argentry.physics.stops import Z80
from argentry.trade.conditions import Condition, conditions

if TYPE_CHECKING:
    from argentry.arrays import Floats, Truth
    from argentry.learn.causes.studio_causes import StageView
    from argentry.records.plate import Making
    from argentry.trade.causes import KnownCause


_MOST = 0.97  # no reading proves a cause
_MOST_SURE = 0.95  # nor proves that a condition matters


@dataclass(frozen=True)
class Uplift:
    """What one reading says of one cause.

    Attributes
    ----------
    matters : float
        Probability that the condition matters here at all. [1]
    effect, doubt : float
        Rise of the cause's probit for one unit of badness, and its standard deviation.
    badness : float
        Of this plate, from the middle of the good runs.
    words : str
        The reading in words where it stands out; else empty.
    """

    matters: float
    effect: float
    doubt: float
    badness: float
    words: str


def uplifts(cause: KnownCause, view: StageView, making: Making, place: int) -> list[Uplift]:
    """Return what the readings of one plate say of one cause.

    Parameters
    ----------
    cause : KnownCause
        The cause.
    view : StageView
        Its stage.
    making : Making
        The plate.
    place : int
        Its place among all makings in order of time.

    Returns
    -------
    list of Uplift
        One for each condition of the cause that was read on this plate.
    """
    rows = np.flatnonzero(view.table.row == place)
    out = []
    told: set[str] = set()
    for j, side in enumerate(view.sides):
        if cause.key in side.causes and rows.size:
            told.add(side.own)
            x = view.table.x[:, side.column]
            if np.isfinite(x[rows[0]]):
                out.append(own_uplift(view, j, rows[0]))
    for name, side_name in cause.through:
        if name in told:
            continue
        known = [c for c in conditions() if c.key == name and c.form != "switch"]
        if known and (one := _trades(known[0], side_name, making)):
            out.append(one)
    return out


def raised(base: Floats, given: list[Uplift], effects: Floats) -> Floats:
    """Return a cause's probability once the readings are known.

    Parameters
    ----------
    base : Floats
        (draws,) probability before. [1]
    given : list of Uplift
        What the readings say.
    effects : Floats
        (draws, readings) effect of each.

    Returns
    -------
    Floats
        (draws,) each reading raises or lowers it as far as its condition matters.
    """
    from scipy.special import ndtr, ndtri

    start = np.clip(base, 1e-4, _MOST)
    out = start.copy()
    for one, effect in zip(given, effects.T, strict=True):
        # over all plates together the cause stays as common as it was
        moved = ndtr(ndtri(start) * np.sqrt(1.0 + effect**2) + effect * one.badness)
        out *= one.matters * moved / start + (1.0 - one.matters)
    return np.clip(out, 1e-4, _MOST)


def own_uplift(view: StageView, j: int, row: int) -> Uplift:
    """Return what the reading of side `j` says on a row of its stage, by this studio's plates."""
    side = view.sides[j]
    x = view.data.x[:, j]
    read = np.isfinite(view.table.x[:, side.column])
    good = view.table.ok & read
    middle = float(np.median(x[good])) if good.sum() >= LEAST_READ else float(np.median(x[read]))
    weight = view.weights[0]
    inside = view.weighed.members[:, j] > 0
    matters = float(weight[inside].sum())
    # a plate that failed is asked about every condition that may matter, not about the few that
    # explain most; the factor that guards against naming too many is taken back
    odds = matters / max(1.0 - matters, 1e-9) / trade.value("causes", "inclusion_share")
    part = weight[inside] / max(matters, 1e-300)
    effects = view.weighed.effect[inside, j]
    effect = float(part @ effects)
    doubt = float(part @ (view.weighed.variance[inside, j] + (effects - effect) ** 2)) ** 0.5
    badness = float(x[row]) - middle
    stands_out = good.sum() >= LEAST_READ and badness > float(np.quantile(x[good], 0.9)) - middle
    return Uplift(
        min(odds / (1.0 + odds), _MOST_SURE),
        effect,
        doubt,
        badness,
        _said(view, side.column, row, good) if stands_out else "",
    )


def _said(view: StageView, column: int, row: int, good: Truth) -> str:
    condition = view.table.conditions[column]
    if condition.form == "switch":
        return condition.title
    x = view.table.x
    low, high = np.quantile(x[good, column], [0.1, 0.9])
    unit = f" {condition.unit}" if condition.unit else ""
    return "{title} {shown}{unit}; your good plates had {low} to {high}{unit}".format(
        title=condition.title,
        shown=_shown(condition, x[row, column]),
        unit=unit,
        low=_shown(condition, low),
        high=_shown(condition, high),
    )


def _value(condition: Condition, standardised: float) -> float:
    away = float(standardised) * condition.width
    return (
        condition.centre * 2.0**away if condition.scale == "doublings" else condition.centre + away
    )


def _shown(condition: Condition, standardised: float) -> str:
    """Return a value to a twentieth of its width, or to three figures where it counts doublings."""
    value = _value(condition, standardised)
    if condition.scale == "doublings":
        return f"{value:.3g}"
    places = max(0, -int(np.floor(np.log10(condition.width / 20.0))))
    return f"{round(value, places) + 0.0:g}"


def _trades(condition: Condition, side: str, making: Making) -> Uplift | None:
    """Return what a reading says by the trade's word, where the studio has read it too rarely."""
    x = measure(condition, making.conditions)
    if x is None:
        return None
    badness = -x if side == "low" else x
    spread = (condition.effect_high - condition.effect_low) / (2.0 * Z80)
    unit = f" {condition.unit}" if condition.unit else ""
    words = "{title} {shown}{unit}; usual in the trade is about {centre:.3g}{unit}".format(
        title=condition.title, shown=_shown(condition, x), unit=unit, centre=condition.centre
    )
    return Uplift(
        condition.inclusion,
        abs(condition.effect_middle),
        spread,
        badness,
        words if badness > 1.0 else "",
    )
