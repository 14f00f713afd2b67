"""In which ways a condition may do harm: by a slope, beyond a value, far from the middle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.stages.likelihood import normal_cdf

if TYPE_CHECKING:
    from argentry.arrays import Floats
    from argentry.trade.conditions import Condition


@dataclass(frozen=True)
class Shape:
    """One way in which a condition may do harm.

    Attributes
    ----------
    cut : float
        In the studio's spreads: beyond it a plate is at risk and before it none; NaN: a slope.
    ends : bool
        Whether it is the distance from the middle that harms.
    middle, spread : float
        Of that measure over the plates.
    share : float
        How likely it is this shape, of all that are tried. [1]
    """

    cut: float
    ends: bool
    middle: float
    spread: float
    share: float

    def bad(
        self, x: Floats, doubt: Floats, side: str, condition: Condition
    ) -> tuple[Floats, Floats]:
        """Return the badness of plates by this shape, and its variance where it is not known."""
        if np.isnan(self.cut) and not self.ends:
            return bad_side(x, side, condition), doubt
        beyond = toward(x, side, ends=self.ends)
        if np.isnan(self.cut):
            return (beyond - self.middle) / self.spread, doubt
        sharp = doubt <= 0.0
        root = np.sqrt(np.where(sharp, 1.0, doubt))
        chance = np.where(sharp, beyond > self.cut, normal_cdf((beyond - self.cut) / root))
        spread = np.where(sharp, 0.0, chance * (1.0 - chance))
        return (chance - self.middle) / self.spread, spread / self.spread**2


def toward(x: Floats, side: str, *, ends: bool) -> Floats:
    """Return a condition turned towards its bad side, or its distance from the middle; (n,)."""
    if ends:
        return np.abs(x)
    return -x if side == "low" else x


def bad_side(x: Floats, side: str, condition: Condition) -> Floats:
    """Return the badness of a condition (n,) in the studio's spreads; more is worse."""
    toward = -x if side == "low" else x
    if condition.form != "window":
        return toward
    if side == "either":
        return np.abs(x) - 0.8
    soft = np.logaddexp(0.0, 2.0 * toward) / 2.0
    return np.asarray((soft - 0.534) / 0.545)  # mean and spread of a standard normal so bent
