"""A stage read a second way: most conditions do nothing there, and a few do much.

The chain of probits (`fitting`) lets every condition matter a little; the sets weighed for the
causes (`causes.inclusion`) let a few matter much. Which of the two a studio is like, few plates can
tell. So the odds are drawn half from the one and half from the other, and where they disagree the
range is wide.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Generic, TypeVar

import numpy as np

from argentry import trade
from argentry.learn.causes.spreads import fill, spread_out, spreads
from argentry.learn.causes.suspects import SINCE
from argentry.learn.stages.likelihood import normal_cdf
from argentry.learn.stages.table import standardised

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.arrays import Floats
    from argentry.learn.causes.guilty_stage import WholePlate
    from argentry.learn.causes.studio_causes import StageView


DRAWS = 768


View = TypeVar("View", "StageView", "WholePlate")


@dataclass(frozen=True)
class SetReading(Generic[View]):
    """Draws of the sets of a stage, and what is needed to read a new plate by them.

    Attributes
    ----------
    view : StageView or WholePlate
        The stage, or the plate as one stage, weighed.
    base : ndarray (s,)
        Intercept of the fault's probit.
    effect : ndarray (s, sides)
        Effects; 0 where a side is not in the set drawn.
    scale : tuple of ndarray
        Middle and spread of each condition, as by `spreads`.
    mean, variance : ndarray (p,)
        Of each condition in the studio's spreads, for what is not known.
    latest : ndarray (sides,)
        Of a step in time its value for a plate to come; else 0.
    misfit : float
        As by `misfit_of`.
    luck : ndarray (s,)
        Unit normals: the luck of a session, and the doubt of what is not known, of each draw.
    session : float
        Variance of the luck of a session as learned here. [probit^2]
    """

    view: View
    base: Floats
    effect: Floats
    scale: tuple[Floats, Floats]
    mean: Floats
    variance: Floats
    latest: Floats
    misfit: float
    luck: Floats
    session: float

    def chances(self, known: Mapping[str, float | str], *, averaged: bool = False) -> Floats:
        """Return draws of P(ok) of a plate to come, (s,); `averaged` over luck, else with it.

        The sets are weighed with a luck of sessions wide for most studios, so that one bad day does
        not count for many plates. It is averaged but for what sessions differ by here.
        """
        table = self.view.table
        x = spread_out(standardised(table.conditions, known)[None], *self.scale)
        (at,), (unsure,) = self.bad(x)
        most = trade.value("causes", "session_sd") ** 2
        drawn = min(self.session, most)
        rest = 1.0 + most - drawn
        eta = -(self.base + self.effect @ at) / sqrt(rest)
        spread = (drawn + self.effect**2 @ unsure) / rest
        return shown(eta, spread, self.misfit, None if averaged else self.luck)

    def bad(self, x: Floats) -> tuple[Floats, Floats]:
        """Return how bad plates are on each side, and the variance of it; each (n, sides).

        Parameters
        ----------
        x : ndarray (n, p)
            Conditions in the studio's spreads; NaN where not known.
        """
        missing = np.isnan(x)
        x, doubt = np.where(missing, self.mean, x), np.where(missing, self.variance, 0.0)
        at = np.tile(self.latest, (len(x), 1))
        unsure = np.zeros_like(at)
        for j, side in enumerate(self.view.sides):
            if side.side != SINCE:
                k = side.column
                condition = self.view.table.conditions[k]
                at[:, j], unsure[:, j] = side.bad(x[:, k], doubt[:, k], condition)
        return at, unsure


def set_reading(view: View, seed: int, session: float = 0.0) -> SetReading[View]:
    """Return a stage read by its sets.

    Parameters
    ----------
    view : StageView or WholePlate
        The stage, or the plate as one stage, weighed.
    seed : int
        Of the draws.
    session : float
        Variance of the luck of a session as learned here. [probit^2]
    """
    random = np.random.default_rng(seed)
    weighed, weight = view.weighed, view.weights[0]
    even = (np.arange(DRAWS) + random.uniform()) / DRAWS  # sets as often as they are believed
    at = random.permutation(np.searchsorted(np.cumsum(weight), even * weight.sum(), side="right"))
    at = np.minimum(at, weight.size - 1)
    noise = random.standard_normal((DRAWS, weighed.effect.shape[1]))
    effect = weighed.effect[at] + np.sqrt(weighed.variance[at]) * noise
    base = weighed.base[at] + np.sqrt(weighed.base_variance[at]) * random.standard_normal(DRAWS)
    scale = spreads(view.table)
    filled, _ = fill(spread_out(view.table.x, *scale), view.table.session)
    plates = max(len(filled), 1)
    mean = filled.sum(axis=0) / plates
    variance = np.where(
        np.isnan(view.table.x).all(axis=0), 1.0, ((filled - mean) ** 2).sum(axis=0) / plates
    )
    latest = np.array(
        [view.data.x[:, j].max() if s.side == SINCE else 0.0 for j, s in enumerate(view.sides)]
    )
    told = weight @ weighed.base + view.data.x @ (weight @ weighed.effect)
    luck = random.standard_normal(DRAWS)
    misfit = misfit_of(told, view.data.weight)
    return SetReading(view, base, effect, scale, mean, variance, latest, misfit, luck, session)


def misfit_of(told: Floats, weight: Floats) -> float:
    """Return how far a plate's true probit may lie from what its conditions tell, beyond luck.

    The more conditions tell plates apart, the more the form that they are given may be wrong (a
    cliff is told as a slope): in proportion to the spread of what is told of the plates. The form
    is found out as plates come, so its variance falls as that of a belief worth some plates.

    Parameters
    ----------
    told : NDArray (n,)
        Probit of each plate by its conditions.
    weight : NDArray (n,)
        How much each counts. [plates]
    """
    worth = trade.value("causes", "misfit_plates")
    left = worth / (worth + float(weight.sum()))
    return (
        trade.value("causes", "misfit_share") * sqrt(left) * float(told.std()) if told.size else 0.0
    )


def shown(eta: Floats, variance: Floats, misfit: float, luck: Floats | None) -> Floats:
    """Return draws of a chance, its luck drawn and not averaged, so that ranges hold it.

    Parameters
    ----------
    eta : NDArray (s,)
        Draws of the probit.
    variance : NDArray (s,)
        Of luck and of what is not known.
    misfit : float
        Standard deviation of what the form leaves out. [probit]
    luck : NDArray (s,) or None
        Unit normals; None: luck is averaged.

    Returns
    -------
    NDArray (s,)
        Their mean is that of ``Phi(eta / sqrt(1 + variance))``.
    """
    if luck is None:
        return normal_cdf(eta / np.sqrt(1.0 + variance))
    grow = 1.0 + misfit**2
    return normal_cdf(np.sqrt(grow) * eta + np.sqrt(variance * grow + misfit**2) * luck)
