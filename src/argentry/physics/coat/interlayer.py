"""The lossy layer of mixed silver and iodide between a coat and its plate, and what it may be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, sqrt

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.ranges import checked
from argentry.trade import Fact


@dataclass(frozen=True)
class Interlayer:
    """A lossy layer.

    Attributes
    ----------
    nm : float
        Thickness when it is fully grown; 0 is the textbook film on perfect silver. [nm]
    silver : float
        Share of silver in it, by volume. [1]
    growth_nm : float
        Coat over which it comes to 63 % of its full thickness. [nm]
    """

    nm: float
    silver: float
    growth_nm: float

    def under(self, thickness_nm: ArrayLike) -> Floats:
        """Return the thickness of the layer under a coat; bare silver has none.

        ::

            layer = nm (1 - exp(-coat / growth_nm))

        Parameters
        ----------
        thickness_nm : array_like
            Coat thicknesses. [nm]

        Returns
        -------
        ndarray
            Same shape. [nm]
        """
        return np.asarray(-self.nm * np.expm1(-np.asarray(thickness_nm) / self.growth_nm))


def interlayer(
    nm: float | None = None, silver: float | None = None, growth_nm: float | None = None
) -> Interlayer:
    """Return a lossy layer; what is not known of it is the trade's seed.

    Parameters
    ----------
    nm, silver, growth_nm : float or None
        As in `Interlayer`.

    Raises
    ------
    BadInput
        If a value is out of range or NaN.
    """
    known = {"nm": nm, "silver": silver, "growth_nm": growth_nm}
    return Interlayer(
        **{
            part: _seed(part).value
            if value is None
            else float(checked(f"interlayer {part}", value, "film", f"interlayer_{part}"))
            for part, value in known.items()
        }
    )


def likely(
    nm: float | None = None, silver: float | None = None, growth_nm: float | None = None
) -> tuple[tuple[float, Interlayer], ...]:
    """Return the lossy layers that a plate may have, each with its weight, the middle one first.

    What is known is in all of them. Each of the rest is moved alone to sqrt(3) standard deviations
    of the trade's seed on either side, with a weight of 1/6, so that weighted means and spreads of
    whatever follows from the layer are right to the second order.

    Parameters
    ----------
    nm, silver, growth_nm : float or None
        As in `Interlayer`.

    Raises
    ------
    BadInput
        If a value is out of range or NaN.

    References
    ----------
    S. J. Julier & J. K. Uhlmann, "Unscented filtering and nonlinear estimation", Proc. IEEE 92,
    401 (2004): sigma points.
    """
    known = {"nm": nm, "silver": silver, "growth_nm": growth_nm}
    middle = interlayer(**known)
    sides = []
    for part in (part for part, value in known.items() if value is None):
        seed, step = _seed(part).value, sqrt(3) * _seed(f"{part}_spread").value
        ends = (
            (seed - step, seed + step)
            if part == "silver"
            else (seed * exp(-step), seed * exp(step))
        )
        sides += [(1 / 6, replace(middle, **{part: end})) for end in ends]
    return ((1 - len(sides) / 6, middle), *sides)


def _seed(part: str) -> Fact:
    return trade.facts("film")[f"interlayer_{part}"]
