"""How sure the seconds over iodine are: the box's own doubts drawn through the start-up."""

from __future__ import annotations

from functools import cache
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.constants import STANDARD_ATMOSPHERE_PA, kelvin
from argentry.physics.ranges import within
from argentry.physics.stops import quantiles
from argentry.physics.vapour.iodine_box import (
    THICKEST_NM,
    box,
    box_scales,
    diffusion_s,
    film_term_s,
    film_value,
)

DRAWS = 512


@cache
def _normal_draws(count: int, dimensions: int) -> Floats:
    """Return the same normal draws every time, spread evenly (golden-ratio lattice)."""
    golden = np.zeros(dimensions + 2)  # x^(d + 1) = x + 1, whose largest root is real
    golden[[0, -2, -1]] = 1.0, -1.0, -1.0
    root = np.roots(golden).real.max()
    steps = root ** -np.arange(1.0, dimensions + 1.0)
    points = (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0
    normal = NormalDist().inv_cdf
    draws = np.array([[normal(p) for p in row] for row in points])
    draws -= draws.mean(axis=0)
    draws /= draws.std(axis=0)
    draws.flags.writeable = False
    return draws


def seconds_range(
    thickness_nm: ArrayLike,
    *,
    box_temperature_c: float,
    gap_mm: float,
    pressure_pa: float = STANDARD_ATMOSPHERE_PA,
    cover_share: float | None = None,
    crystal_spacing_mm: float | None = None,
    rested: bool = True,
    box_factor: float = 1.0,
    film_resistance: float | None = None,
    temperature_sd_k: float | None = None,
    gap_sd_mm: float | None = None,
    box_spread: float | None = None,
    constants_known: bool = False,
    share: float = 0.8,
) -> tuple[Floats, Floats]:
    """Return the range that holds the true seconds in `share` of cases.

    The crystals' temperature, the gap, the diffusion coefficient, the vapour pressure and what the
    box adds of its own are drawn together, always the same 512 draws, through the full start-up.

    Parameters
    ----------
    thickness_nm : array_like
        Wanted coat. [nm] The box as in `seconds_to_thickness`, single numbers.
    temperature_sd_k, gap_sd_mm : float, optional
        One standard deviation of the crystals' temperature [K] and of the gap [mm].
    box_spread : float, optional
        One standard deviation of the log of measured over computed seconds. [1]
    constants_known : bool
        True when the box factor holds what is wrong with iodine's vapour and diffusion.
    share : float
        0.8 gives the 10 % and 90 % marks. [1]

    Returns
    -------
    low, high : ndarray
        [s] Shape of `thickness_nm`.

    Raises
    ------
    BadInput
        If anything is out of its range or not a number.
    """
    h = within("thickness", thickness_nm, 0.0, THICKEST_NM, "nm")
    share = float(within("share", share, 0.01, 0.99, "1"))
    factor = float(within("box factor", box_factor, 0.05, 20.0, "1"))
    box(box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm)  # checks
    spreads: dict[str, Any] = {
        "temperature_sd": temperature_sd_k,
        "gap_sd": gap_sd_mm,
        "box_spread": box_spread,
    }
    known = {
        key: trade.value("fuming", key) if given is None else float(within(key, given, 0, 20, "1"))
        for key, given in spreads.items()
    }
    draw = _normal_draws(DRAWS, 5).T
    temperature = kelvin(box_temperature_c) + known["temperature_sd"] * draw[0]
    gap = np.maximum(gap_mm + known["gap_sd"] * draw[1], 0.2 * gap_mm)
    cover = trade.value("fuming", "cover_share") if cover_share is None else cover_share
    spacing = trade.value("fuming", "crystal_spacing")
    spacing = spacing if crystal_spacing_mm is None else crystal_spacing_mm
    unit_s, unit_nm, hindrance = box_scales(
        temperature, gap, *(np.asarray(x, dtype=float) for x in (pressure_pa, cover, spacing))
    )
    if not constants_known:
        unit_s = unit_s / np.exp(trade.value("iodine", "diffusion_sd") * draw[2])
        unit_nm = unit_nm * np.exp(trade.value("iodine", "pressure_sd") * draw[3])
    wide = h[..., np.newaxis]
    seconds = diffusion_s(wide, (unit_s, unit_nm, hindrance), rested=rested)
    seconds = seconds + film_term_s(wide, film_value(film_resistance))
    seconds = factor * seconds * np.exp(known["box_spread"] * draw[4])
    low, high = quantiles(seconds, (0.5 - share / 2, 0.5 + share / 2))
    return low, high
