"""Seconds over iodine to a wanted coat, from the box alone.

Iodine leaves the crystals at their own vapour pressure, crosses the still air of the gap, and every
molecule that meets silver stays. The rate in nanometres of silver iodide per second is

    g = (silver iodide per mole of iodine) c / (L / D + R)

with `c` the vapour over the crystals, `L` the gap, `D` the diffusion coefficient and `R` the
hindrance of a floor only partly covered. A box that stood shut starts full of vapour and runs
ahead of ``h / g``; one swept by a fresh opening lags behind it, see
`argentry.physics.vapour.diffusion`. A film that slows its own growth adds ``h^2 / (2 k)``. One
factor per box, learned from its log, multiplies the whole.

The rate at which crystals give off vapour and silver takes it is a hundred thousand times that of
diffusion (Hertz-Knudsen: 0.03 s/m against 2500 s/m over 20 mm), so neither enters.
What plate, damp and worked silver add is a weak prior of its own (`film_growth`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry.arrays import Floats
from argentry.physics.constants import STANDARD_ATMOSPHERE_PA
from argentry.physics.halving import halved
from argentry.physics.ranges import within
from argentry.physics.vapour import diffusion
from argentry.physics.vapour.evenness import convection_margin_k, evenness
from argentry.physics.vapour.fuming_range import seconds_range
from argentry.physics.vapour.iodine import headspace_loss_mg, iodine_mg
from argentry.physics.vapour.iodine_box import (
    THICKEST_NM,
    box,
    diffusion_s,
    film_term_s,
    film_value,
)

__all__ = [
    "convection_margin_k",
    "evenness",
    "headspace_loss_mg",
    "iodine_mg",
    "rest_seconds",
    "seconds_range",
    "seconds_to_thickness",
    "steady_rate_nm_s",
    "thickness_after",
]


def seconds_to_thickness(
    thickness_nm: ArrayLike,
    *,
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
    cover_share: ArrayLike | None = None,
    crystal_spacing_mm: ArrayLike | None = None,
    rested: bool = True,
    box_factor: float = 1.0,
    film_resistance: float | None = None,
) -> Floats:
    """Return the seconds a plate must lie over the crystals.

    Parameters
    ----------
    thickness_nm : array_like
        Wanted coat of silver iodide, 0 to 1000. [nm]
    box_temperature_c : array_like
        Temperature of the crystals. [°C]
    gap_mm : array_like
        From the crystals' upper face to the plate. [mm]
    pressure_pa : array_like
        Air pressure. [Pa]
    cover_share : array_like, optional
        Share of the box floor under crystals. [1] Default: the trade's.
    crystal_spacing_mm : array_like, optional
        Middle to middle of neighbouring crystals; matters only when `cover_share` is below 1. [mm]
    rested : bool
        True when the box stood shut long enough to fill (`rest_seconds`), False when it was just
        swept by opening.
    box_factor : float
        Measured over computed seconds of this box. [1]
    film_resistance : float, optional
        ``1/k`` of a film that slows its own growth. [s/m2] Default: the trade's, zero.

    Returns
    -------
    ndarray
        Seconds; shapes broadcast. Rises with thickness, gap and pressure, falls with temperature.

    Raises
    ------
    BadInput
        If anything is out of its range or not a number.

    Examples
    --------
    >>> box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    >>> [round(float(seconds_to_thickness(45.0, rested=r, **box))) for r in (True, False)]
    [105, 130]
    """
    h = within("thickness", thickness_nm, 0.0, THICKEST_NM, "nm")
    factor = float(within("box factor", box_factor, 0.05, 20.0, "1"))
    scales = box(box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm)
    return factor * (
        diffusion_s(h, scales, rested=rested) + film_term_s(h, film_value(film_resistance))
    )


def thickness_after(
    seconds: ArrayLike,
    *,
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
    cover_share: ArrayLike | None = None,
    crystal_spacing_mm: ArrayLike | None = None,
    rested: bool = True,
    box_factor: float = 1.0,
    film_resistance: float | None = None,
) -> Floats:
    """Return the coat after some seconds: the inverse of `seconds_to_thickness`.

    Parameters
    ----------
    seconds : array_like
        Time over the crystals, 0 to 100000. [s] The rest as in `seconds_to_thickness`.

    Returns
    -------
    ndarray
        Thickness. [nm]

    Raises
    ------
    BadInput
        If anything is out of its range or not a number.
    """
    t = within("seconds", seconds, 0.0, 1e5, "s")
    t = t / float(within("box factor", box_factor, 0.05, 20.0, "1"))
    scales = box(box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm)
    unit_s, unit_nm, hindrance = scales
    free = unit_nm * diffusion.taken(t / unit_s, hindrance, rested=rested)
    film = film_value(film_resistance)
    if film == 0.0:
        return np.asarray(free)

    def lasts(coat: Floats) -> Floats:
        return diffusion_s(coat, scales, rested=rested) + film_term_s(coat, film)

    return halved(lasts, t, np.zeros_like(free), free)  # a film only slows


def steady_rate_nm_s(
    *,
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
    cover_share: ArrayLike | None = None,
    crystal_spacing_mm: ArrayLike | None = None,
    box_factor: float = 1.0,
) -> Floats:
    """Return the growth once the box has settled, without a film term, in nm/s.

    Parameters and Raises as in `seconds_to_thickness`.
    """
    factor = float(within("box factor", box_factor, 0.05, 20.0, "1"))
    seconds, nanometres, hindrance = box(
        box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm
    )
    return np.asarray(nanometres / seconds * diffusion.steady_rate(hindrance) / factor)


def rest_seconds(
    *,
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
) -> Floats:
    """Return how long a swept box must stand shut until it is 95 % full again.

    A closed gap fills as ``1 - 4/pi sum (-1)^n/(2n+1) exp(-(2n+1)^2 pi^2 D t / (4 L^2))`` at its
    lid (Crank 1975, eq. 4.17); the first term alone gives the time. [s]
    """
    seconds = box(box_temperature_c, gap_mm, pressure_pa, None, None)[0]
    return np.asarray(seconds * 4.0 / np.pi**2 * np.log(4.0 / (np.pi * 0.05)))
