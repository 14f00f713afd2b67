"""One iodine box as the three numbers its vapour depends on."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.constants import kelvin
from argentry.physics.ranges import checked
from argentry.physics.vapour import diffusion
from argentry.physics.vapour.iodine import (
    coat_m3_per_mol_iodine,
    diffusivity_m2_s,
    saturated_concentration_mol_m3,
)

THICKEST_NM = 1000.0


def hindrance_mm(cover: Floats, spacing_mm: Floats) -> Floats:
    """Return the extra gap that a partly covered floor amounts to, in millimetres.

    Crystals as discs of radius `r`, one to each cell of the floor: ``pi r psi / (4 cover)`` with
    ``psi = (1 - sqrt(cover))^1.5`` for the crowding of neighbours (M. G. Cooper, B. B. Mikic and
    M. M. Yovanovich, Int. J. Heat Mass Transfer 12 (1969) 279, for heat through contact spots).
    """
    radius = spacing_mm * np.sqrt(cover / np.pi)
    crowding = (1.0 - np.sqrt(cover)) ** 1.5
    return np.asarray(np.pi * radius * crowding / (4.0 * cover))


def box(
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike,
    cover_share: ArrayLike | None,
    crystal_spacing_mm: ArrayLike | None,
) -> tuple[Floats, Floats, Floats]:
    """Return seconds per reduced time, nanometres per reduced amount, and the hindrance."""
    cover_share = trade.value("fuming", "cover_share") if cover_share is None else cover_share
    if crystal_spacing_mm is None:
        crystal_spacing_mm = trade.value("fuming", "crystal_spacing")
    temperature = kelvin(checked("box temperature", box_temperature_c, "fuming", "box_temperature"))
    gap = checked("gap", gap_mm, "fuming", "gap")
    pressure = checked("air pressure", pressure_pa, "air", "pressure")
    cover = checked("crystal cover", cover_share, "fuming", "cover_share")
    spacing = checked("crystal spacing", crystal_spacing_mm, "fuming", "crystal_spacing")
    return box_scales(temperature, gap, pressure, cover, spacing)


def box_scales(
    temperature_k: Floats,
    gap_mm: Floats,
    pressure_pa: Floats,
    cover: Floats,
    spacing_mm: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Return a box's scales from numbers already checked.

    Parameters
    ----------
    temperature_k, gap_mm, pressure_pa, cover, spacing_mm : ndarray
        Crystals [K], gap [mm], air pressure [Pa], share of floor covered [1], spacing [mm].

    Returns
    -------
    seconds, nanometres, hindrance : ndarray
        Seconds in one reduced time; nanometres of coat in the vapour of one full gap; share of
        the gap's resistance that the floor adds, see `argentry.physics.vapour.diffusion`.
    """
    gap_m = gap_mm * 1e-3
    seconds = gap_m**2 / diffusivity_m2_s(temperature_k, pressure_pa)
    vapour = saturated_concentration_mol_m3(temperature_k)
    nanometres = coat_m3_per_mol_iodine() * vapour * gap_m * 1e9
    return seconds, nanometres, hindrance_mm(cover, spacing_mm) / gap_mm


def film_term_s(thickness_nm: Floats, resistance: float) -> Floats:
    """Return the seconds a self-slowing film adds, ``h^2 / (2 k)``; `resistance` is 1/k in s/m2."""
    return np.asarray(0.5 * resistance * (thickness_nm * 1e-9) ** 2)


def film_value(film_resistance: float | None) -> float:
    """Return the film resistance given, else the trade's, checked, in s/m2."""
    if film_resistance is None:
        film_resistance = trade.value("fuming", "film_resistance")
    return float(checked("film resistance", film_resistance, "fuming", "film_resistance"))


def diffusion_s(
    h: Floats,
    scales: tuple[Floats, Floats, Floats],
    *,
    rested: bool,
) -> Floats:
    """Return the seconds that diffusion alone needs for `h` nanometres, by a box's scales."""
    seconds, nanometres, hindrance = scales
    return np.asarray(
        seconds * diffusion.time_to_take(h / nanometres, hindrance, rested=rested), dtype=float
    )
