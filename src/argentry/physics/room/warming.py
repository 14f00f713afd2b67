"""Warming a copper plate in air: one temperature for the whole plate."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.ranges import checked


def time_constant_s(
    plate_thickness_mm: ArrayLike, film_coefficient_w_m2_k: ArrayLike | None = None
) -> Floats:
    """Return the time in which a plate in air closes 63 % of the difference.

    ``density x heat x thickness / (2 h)``, both faces in air. Copper leads so well that the plate
    has one temperature (Biot number below 1e-4).

    Parameters
    ----------
    plate_thickness_mm : array_like
        Copper thickness. [mm]
    film_coefficient_w_m2_k : array_like, optional
        Heat passed to the air per face. [W/(m2 K)] Default: the trade's.

    Returns
    -------
    ndarray
        [s]

    Examples
    --------
    >>> round(float(time_constant_s(1.0, 10.0)))
    172
    """
    if film_coefficient_w_m2_k is None:
        film_coefficient_w_m2_k = trade.value("air", "film_coefficient")
    thickness = checked("plate thickness", plate_thickness_mm, "air", "plate_thickness")
    film = checked("film coefficient", film_coefficient_w_m2_k, "air", "film_coefficient")
    stored = trade.value("air", "copper_density") * trade.value("air", "copper_heat")  # J/(m3 K)
    return np.asarray(stored * thickness * 1e-3 / (2.0 * film))


def warm_seconds(
    plate_thickness_mm: ArrayLike,
    from_c: ArrayLike,
    to_c: ArrayLike,
    air_c: ArrayLike,
    film_coefficient_w_m2_k: ArrayLike | None = None,
) -> Floats:
    """Return the seconds a plate takes to warm (or cool) from one temperature to another in air.

    Parameters
    ----------
    plate_thickness_mm : array_like
        Copper thickness. [mm]
    from_c, to_c, air_c : array_like
        Plate now, plate wanted, and the air or warm place around it. [°C]
    film_coefficient_w_m2_k : array_like, optional
        As in `time_constant_s`.

    Returns
    -------
    ndarray
        [s] Zero when the plate is there already.

    Raises
    ------
    BadInput
        If the air is not beyond the wanted temperature, so that the plate never gets there.

    Examples
    --------
    >>> round(float(warm_seconds(1.0, 10.0, 19.0, 20.0, 10.0)) / 60, 1)
    6.6
    """
    start, end, air = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (from_c, to_c, air_c))
    )
    now, then = air - start, air - end
    there = then == now
    reaches = there | ((now * then > 0) & (np.abs(then) < np.abs(now)))
    if not np.all(reaches):
        raise BadInput(
            "warming the plate",
            "air at {air:g} °C never brings a plate to {end:g} °C",
            "use a place warmer than the plate must be",
            air=air[~reaches][0],
            end=end[~reaches][0],
        )
    ratio = np.divide(now, then, out=np.ones_like(now), where=~there)
    return np.asarray(time_constant_s(plate_thickness_mm, film_coefficient_w_m2_k) * np.log(ratio))
