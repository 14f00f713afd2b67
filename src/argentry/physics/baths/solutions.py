"""Diluting, mixing two strengths, warming, cooling by dissolving, and rounding to a balance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.physics.ranges import within
from argentry.trade.chemistry.substances import molar_mass_g_mol

BETWEEN = "it does not lie between the two strengths {low:g} and {high:g}"


def blend(strong: float, weak: float, wanted: float, volume_ml: float) -> tuple[float, float]:
    """Return how much of two strengths makes a third.

    Parameters
    ----------
    strong, weak, wanted : float
        In one unit, grams a litre for example; weak is 0 for water.
    volume_ml : float
        Volume wanted; of thin salt solutions volumes add. [mL]

    Returns
    -------
    tuple of (float, float)
        Of the strong, and of the weak. [mL]

    Raises
    ------
    BadInput
        If the wanted strength does not lie between them.

    Examples
    --------
    >>> blend(200.0, 0.0, 80.0, 500.0)
    (200.0, 300.0)
    """
    check_range("strong solution", strong, 0.0, 1e4, "g/L", open_low=True)
    check_range("weak solution", weak, 0.0, 1e4, "g/L")
    check_range("volume", volume_ml, 0.0, 1e6, "mL", open_low=True)
    low, high = sorted((weak, strong))
    if not low <= wanted <= high or low == high:
        right = "choose a strength between them, or another solution"
        raise BadInput("wanted strength", BETWEEN, right, low=low, high=high)
    share = (wanted - weak) / (strong - weak)
    return share * volume_ml, (1.0 - share) * volume_ml


def spirit_density_kg_m3(percent: ArrayLike) -> Floats:
    """Return the density of ethanol in water at 20 °C by volume per cent, 0 to 100.

    References
    ----------
    OIML R 22, International alcoholometric tables (``trade/tables/ethanol_density.csv``).
    """
    strength = within("spirit", percent, 0.0, 100.0, "% by volume")
    columns = trade.table("ethanol_density").columns
    return np.asarray(np.interp(strength, columns["percent"], columns["kg_m3"]))


def thin_spirit(have_pct: float, wanted_pct: float, volume_ml: float) -> tuple[float, float]:
    """Return spirit and water for a thinner spirit at 20 °C; the mixture shrinks.

    Parameters
    ----------
    have_pct, wanted_pct : float
        Ethanol by volume. [%]
    volume_ml : float
        Of the thinned spirit. [mL]

    Returns
    -------
    tuple of (float, float)
        Spirit and water. [mL] Together more than the volume.

    Raises
    ------
    BadInput
        If it would have to be made stronger.

    Examples
    --------
    >>> [round(part) for part in thin_spirit(96.0, 50.0, 1000.0)]
    [521, 511]
    """
    check_range("spirit at hand", have_pct, 1.0, 100.0, "% by volume")
    check_range("wanted spirit", wanted_pct, 0.0, have_pct, "% by volume", open_low=True)
    check_range("volume", volume_ml, 0.0, 1e6, "mL", open_low=True)
    have, wanted, water = (float(spirit_density_kg_m3(x)) for x in (have_pct, wanted_pct, 0.0))
    spirit_ml = volume_ml * wanted_pct / have_pct
    return spirit_ml, (volume_ml * wanted - spirit_ml * have) / water


def mixed_temperature_c(volumes_ml: ArrayLike, temperatures_c: ArrayLike) -> float:
    """Return the temperature of thin solutions poured together, nothing lost to the vessel.

    Examples
    --------
    >>> mixed_temperature_c([100.0, 300.0], [60.0, 20.0])
    30.0
    """
    volumes = within("volume", volumes_ml, 0.0, 1e6, "mL")
    temperatures = within("temperature", temperatures_c, 0.0, 100.0, "°C")
    return float(np.sum(volumes * temperatures) / np.sum(volumes))


def cooling_k(formula: str, grams: ArrayLike, volume_ml: ArrayLike) -> Floats:
    """Return by how much a bath cools while a salt dissolves; 0 for one whose heat is not known.

    Parameters
    ----------
    formula : str
        What is dissolved; hypo crystals take up heat.
    grams, volume_ml : array_like
        [g], and water [mL].

    Returns
    -------
    ndarray
        [K]

    Examples
    --------
    >>> round(float(cooling_k("Na2S2O3.5H2O", 150.0, 1000.0)), 1)
    5.9
    """
    mass = within("amount", grams, 0.0, 1e6, "g")
    water = within("water", volume_ml, 1e-6, 1e6, "mL")
    if formula != "Na2S2O3.5H2O":
        return np.zeros(np.broadcast_shapes(mass.shape, water.shape))
    heat = trade.value("substances", "thiosulfate_heat") * mass / molar_mass_g_mol(formula)
    return np.asarray(heat / (trade.value("substances", "water_heat") * (water + mass) / 1000.0))


def rounded(amount: float, step: float) -> float:
    """Return an amount as a balance or a cylinder shows it: the nearest of its steps.

    Parameters
    ----------
    amount, step : float
        In one unit, 0 or more; the step above 0.

    Examples
    --------
    >>> round(rounded(1.0272, 0.05), 6)
    1.05
    """
    check_range("balance", step, 0.0, 1e3, "g", open_low=True)
    # a half step and more goes up; the dust of binary decimals must not decide it
    return int(amount / step + 0.5 + 1e-9) * step
