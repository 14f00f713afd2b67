"""How even a coat comes out, and whether the air in the box stays still."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.constants import STANDARD_ATMOSPHERE_PA, kelvin
from argentry.physics.ranges import checked, within
from argentry.physics.room.air import kinematic_viscosity_m2_s, thermal_diffusivity_m2_s
from argentry.physics.vapour.iodine import (
    diffusivity_m2_s,
    saturated_concentration_mol_m3,
    saturated_ppm,
)
from argentry.physics.vapour.iodine_box import THICKEST_NM

GRAVITY_M_S2 = 9.80665  # standard acceleration of free fall, exact by definition
AIR_MOLAR_MASS = 28.9644  # g/mol, US Standard Atmosphere 1976


def evenness(
    gap_mm: float,
    tilt_mm: float = 0.0,
    crystal_spacing_mm: float | None = None,
    *,
    thickness_nm: float = 0.0,
    cover_share: float | None = None,
    tray_difference_k: float = 0.0,
    box_temperature_c: float | None = None,
) -> dict[str, float]:
    """Return how far the coat differs across the plate in settled fuming.

    Crystals a distance apart throw a ripple that fades with height: the ripple of the *flow* at
    the floor by ``1 / cosh(k L)`` and that of the *height* of the bed by ``k L / sinh(k L)``, with
    ``k = 2 pi / spacing`` (Laplace's equation in the gap, plate at zero). The flow at the floor is
    taken as stripes, on over the crystals and off between. A tilt changes the gap, a warmer side
    of the tray the vapour. The plate's turn at half time halves the last two, not the ripple.

    Parameters
    ----------
    gap_mm, tilt_mm : float
        Mean gap and its difference from edge to edge. [mm]
    crystal_spacing_mm : float, optional
        Middle to middle of neighbouring crystals. [mm] Default: the trade's.
    thickness_nm : float
        Coat, for the same figures in nanometres. [nm]
    cover_share : float, optional
        Share of the floor under crystals. [1] Default: the trade's.
    tray_difference_k : float
        Difference in temperature from side to side of the crystals. [K]
    box_temperature_c : float, optional
        Temperature of the crystals. [°C] Default: the trade's.

    Returns
    -------
    dict
        ``ripple``, ``tilt``, ``tray``: thickest minus thinnest over the mean, each cause alone;
        ``relative``: all together at worst; ``nm``: the same in nanometres.
    """
    fact = trade.facts("fuming")
    spacing = fact["crystal_spacing"].value if crystal_spacing_mm is None else crystal_spacing_mm
    cover = fact["cover_share"].value if cover_share is None else cover_share
    temperature_c = (
        fact["box_temperature"].value if box_temperature_c is None else box_temperature_c
    )
    for name, number, key in (
        ("gap", gap_mm, "gap"),
        ("crystal spacing", spacing, "crystal_spacing"),
        ("crystal cover", cover, "cover_share"),
        ("tray difference", tray_difference_k, "tray_difference"),
        ("box temperature", temperature_c, "box_temperature"),
    ):
        checked(name, number, "fuming", key)
    within("tilt", tilt_mm, 0.0, gap_mm, "mm")
    within("thickness", thickness_nm, 0.0, THICKEST_NM, "nm")

    height = 2.0 * np.pi * gap_mm / spacing  # k L
    fades = np.exp(-height)
    stripes = 2.0 * abs(np.sinc(cover))  # first harmonic of on-off stripes over their mean
    bumps = fact["crystal_bump"].value * spacing / gap_mm
    # stripes / cosh(k L) + bumps k L / sinh(k L), where neither outgrows the numbers
    ripple = 4.0 * fades * (stripes / (1.0 + fades**2) + bumps * height / (1.0 - fades**2))
    tilt = tilt_mm / gap_mm
    tray = float(tray_difference_k * relative_rate_per_k(temperature_c))
    together = float(ripple + tilt + tray)
    return {
        "ripple": float(ripple),
        "tilt": float(tilt),
        "tray": tray,
        "relative": together,
        "nm": together * thickness_nm,
    }


def relative_rate_per_k(box_temperature_c: ArrayLike) -> Floats:
    """Return how much faster the coat grows per kelvin of the crystals, in 1/K."""
    t = kelvin(box_temperature_c)
    warm, cold = t + 0.5, t - 0.5
    rate_warm = saturated_concentration_mol_m3(warm) * diffusivity_m2_s(warm)
    rate_cold = saturated_concentration_mol_m3(cold) * diffusivity_m2_s(cold)
    return np.asarray(np.log(rate_warm / rate_cold))


def convection_margin_k(
    gap_mm: ArrayLike,
    box_temperature_c: ArrayLike,
    plate_temperature_c: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
) -> Floats:
    """Return how many kelvins colder the plate could still be before the air turns over.

    Crystals below are stable while the heavy vapour at the floor outweighs the warmth there. The
    air turns over when what is left of the difference passes Rayleigh's number 1708. The heavy
    vapour is counted as the warmth of equal buoyancy; because it spreads slower than warmth it
    holds the air somewhat longer than that, so the warning comes early rather than late.

    Parameters
    ----------
    gap_mm, box_temperature_c, plate_temperature_c, pressure_pa : array_like
        Gap [mm], temperature of crystals and plate [°C], air pressure [Pa]; shapes broadcast.

    Returns
    -------
    ndarray
        Margin; below zero the air turns over, the coat is quicker and mottled. [K]

    Raises
    ------
    BadInput
        If a temperature lies outside the range of solid iodine or a number is not positive.

    References
    ----------
    S. Chandrasekhar, Hydrodynamic and Hydromagnetic Stability, 1961, chapter II.
    """
    gap_m = np.asarray(gap_mm, dtype=float) * 1e-3
    crystals, plate = kelvin(box_temperature_c), kelvin(plate_temperature_c)
    if not (np.all(gap_m > 0) and np.all(plate > 0)):
        raise BadInput("gap or plate temperature", "it cannot be used", "give millimetres and °C")
    mean = 0.5 * (crystals + plate)
    per_kelvin = (
        (GRAVITY_M_S2 / mean)
        * gap_m**3
        / (
            kinematic_viscosity_m2_s(mean, pressure_pa)
            * thermal_diffusivity_m2_s(mean, pressure_pa)
        )
    )
    heavier = trade.value("iodine", "molar_mass") / AIR_MOLAR_MASS - 1.0
    vapour_k = 1e-6 * saturated_ppm(crystals, pressure_pa) * heavier * crystals
    allowed = trade.value("fuming", "onset_rayleigh") / per_kelvin + vapour_k
    return np.asarray(allowed - (crystals - plate))
