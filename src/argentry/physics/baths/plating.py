"""Silver put on by current, found by weighing, and taken off by polishing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, exp, log, sqrt

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.ranges import checked, within
from argentry.physics.stops import Z80
from argentry.trade.chemistry.substances import molar_mass_g_mol

FARADAY = 96485.33212  # C/mol, exact since 2019 (SI Brochure)
UM_CM2_PER_G = 1e4  # 1 g/cm3 over 1 cm2 is 1e4 um


@dataclass(frozen=True)
class Doubtful:
    """A value and one standard deviation of it.

    Attributes
    ----------
    value, sd : float
        In the unit of what it is.
    """

    value: float
    sd: float


def silver_g(
    current_a: ArrayLike, minutes: ArrayLike, efficiency: ArrayLike | None = None
) -> Floats:
    """Return the silver that a current puts on: ``eta I t M / F``.

    Parameters
    ----------
    current_a, minutes : array_like
        [A], [min]; shapes broadcast.
    efficiency : array_like, optional
        Share of the current that deposits silver, 0.8 to 1. [1] None: the trade's.

    Returns
    -------
    ndarray
        [g]

    Examples
    --------
    >>> round(float(silver_g(1.0, 60.0, 1.0)), 3)  # grams for an ampere hour
    4.025
    """
    amperes = within("current", current_a, 0.0, 1000.0, "A")
    time = within("time", minutes, 0.0, 1e5, "min")
    share = _efficiency(efficiency)
    return np.asarray(share * amperes * time * 60.0 * molar_mass_g_mol("Ag") / FARADAY)


def minutes_for(
    thickness_um: ArrayLike,
    area_cm2: ArrayLike,
    current_a: ArrayLike,
    efficiency: ArrayLike | None = None,
) -> Floats:
    """Return how long a current takes to put on a layer.

    Parameters
    ----------
    thickness_um, area_cm2, current_a : array_like
        Layer [µm], all the area that is plated, backs and racks included [cm2], current [A].
    efficiency : array_like, optional
        As in `silver_g`.

    Returns
    -------
    ndarray
        [min]

    Examples
    --------
    Ten micrometres on a square decimetre at one ampere.

    >>> round(float(minutes_for(10.0, 100.0, 1.0, 1.0)), 1)
    15.6
    """
    amperes = within("current", current_a, 1e-4, 1000.0, "A")
    grams = layer_g(thickness_um, area_cm2)
    per_minute = _efficiency(efficiency) * amperes * 60.0 * molar_mass_g_mol("Ag") / FARADAY
    return np.asarray(grams / per_minute)


def layer_g(thickness_um: ArrayLike, area_cm2: ArrayLike) -> Floats:
    """Return the silver in a layer.

    Parameters
    ----------
    thickness_um, area_cm2 : array_like
        [µm], [cm2]

    Returns
    -------
    ndarray
        [g]

    Examples
    --------
    >>> round(float(layer_g(10.0, 89.11)), 3)  # a quarter plate
    0.935
    """
    layer = within("silver", thickness_um, 0.0, 5000.0, "µm")
    area = within("plated area", area_cm2, 0.01, 1e6, "cm2")
    return np.asarray(layer * area * trade.value("plating", "silver_density") / UM_CM2_PER_G)


def layer_um(grams: ArrayLike, area_cm2: ArrayLike) -> Floats:
    """Return the mean thickness of so much silver; the reverse of `layer_g`."""
    area = within("plated area", area_cm2, 0.01, 1e6, "cm2")
    density = trade.value("plating", "silver_density")
    return np.asarray(np.asarray(grams, dtype=float) * UM_CM2_PER_G / density / area)


def weighed_um(
    before_g: float, after_g: float, area_cm2: float, balance_sd_g: float | None = None
) -> Doubtful:
    """Return the silver between two weighings, negative when it was taken off.

    Parameters
    ----------
    before_g, after_g : float
        The dry plate. [g]
    area_cm2 : float
        Area that gained or lost silver. [cm2]
    balance_sd_g : float, optional
        Standard deviation of one weighing. [g] None: the trade's.

    Returns
    -------
    Doubtful
        [µm] The balance's doubt of two weighings and the area's, as independent.

    Examples
    --------
    >>> weighed = weighed_um(80.0, 80.94, 89.11, 0.005)
    >>> round(weighed.value, 2), round(weighed.sd, 2)
    (10.06, 0.13)
    """
    start = float(within("weight before", before_g, 0.0, 1e5, "g"))
    end = float(within("weight after", after_g, 0.0, 1e5, "g"))
    if balance_sd_g is None:
        balance_sd_g = trade.value("plating", "balance_sd")
    balance = float(checked("balance", balance_sd_g, "plating", "balance_sd"))
    value = float(layer_um(end - start, area_cm2))
    of_balance = float(layer_um(balance * sqrt(2.0), area_cm2))
    return Doubtful(
        value, sqrt(of_balance**2 + (value * trade.value("plating", "area_doubt")) ** 2)
    )


def takes_um(key: str, weighed: Sequence[tuple[Doubtful, int]] = ()) -> Doubtful:
    """Return what one buffing or one polishing back takes off: the seed, taught by weighings.

    The seed is log-normal with its range as 90 %; each weighing adds its likelihood, on a grid.

    Parameters
    ----------
    key : str
        ``"buff_takes"`` or ``"repolish_takes"``.
    weighed : sequence of (Doubtful, int)
        Silver taken off in all, with a doubt above 0 [µm], and in how many passes.

    Returns
    -------
    Doubtful
        [µm] for one pass.
    """
    fact = trade.facts("plating")[key]
    centre, width = log(fact.value), log(fact.high / fact.low) / (2.0 * 1.6449)
    grid = np.linspace(centre - 5.0 * width, centre + 5.0 * width, 801)
    each = np.exp(grid)
    level = -0.5 * ((grid - centre) / width) ** 2
    for loss, passes in weighed:
        level -= 0.5 * ((loss.value - passes * each) / loss.sd) ** 2
    weight = np.exp(level - level.max())
    mean = float(np.sum(weight * each) / weight.sum())
    return Doubtful(mean, float(np.sqrt(np.sum(weight * (each - mean) ** 2) / weight.sum())))


def silver_left_um(
    plated: Doubtful, repolishes: int, buffings: int, repolish: Doubtful, buff: Doubtful
) -> Doubtful:
    """Return the silver left on a plate.

    Parameters
    ----------
    plated : Doubtful
        As plated. [µm]
    repolishes, buffings : int
        How often an image was polished back, and how often it was buffed.
    repolish, buff : Doubtful
        What one takes off (`takes_um`). [µm]

    Returns
    -------
    Doubtful
        [µm] Never below 0.
    """
    value = plated.value - repolishes * repolish.value - buffings * buff.value
    # the doubt is of the mean loss, so it grows with the count and not with its root
    sd = sqrt(plated.sd**2 + (repolishes * repolish.sd) ** 2 + (buffings * buff.sd) ** 2)
    return Doubtful(max(value, 0.0), sd)


def worn_chance(left: Doubtful, next_loss: Doubtful) -> float:
    """Return the chance that the next pass leaves less than the least silver.

    Parameters
    ----------
    left, next_loss : Doubtful
        Silver left and what the next pass takes. [µm]

    Returns
    -------
    float
        0 to 1.
    """
    margin = left.value - next_loss.value - trade.value("plating", "silver_least")
    spread = sqrt(left.sd**2 + next_loss.sd**2)
    if spread == 0.0:
        return float(margin < 0.0)
    return 0.5 * (1.0 - erf(margin / spread / sqrt(2.0)))


def passes_left(left: Doubtful, each: Doubtful) -> tuple[float, float, float]:
    """Return how many more repolishes the silver bears: low, middle, high (an 80 % range).

    Parameters
    ----------
    left, each : Doubtful
        Silver left, and what one repolish with its buffing takes. [µm]
    """
    least = trade.value("plating", "silver_least")
    spare = left.value - least
    wide = sqrt(log(1.0 + (each.sd / each.value) ** 2))
    ends = []
    for side in (-Z80, 0.0, Z80):
        loss = each.value * exp(-side * wide)
        ends.append(max(0.0, (spare + side * left.sd) / loss))
    return ends[0], ends[1], ends[2]


def _efficiency(given: ArrayLike | None) -> Floats:
    share = trade.value("plating", "efficiency") if given is None else given
    return checked("efficiency", share, "plating", "efficiency")
