"""Seconds over iodine to a wanted coat, from the box alone.

Iodine leaves the crystals at their own vapour pressure, crosses the still air of the gap, and every
molecule that meets silver stays. The rate in nanometres of silver iodide per second is

    g = (silver iodide per mole of iodine) c / (L / D + R)

with `c` the vapour over the crystals, `L` the gap, `D` the diffusion coefficient and `R` the
hindrance of a floor only partly covered. A box that stood shut starts full of vapour and runs
ahead of ``h / g``; one swept by a fresh opening lags behind it (`argentry.physics.diffusion`).
A film that slows its own growth adds ``h^2 / (2 k)``. One factor per box, learned from its log,
multiplies the whole.

The rate at which crystals give off vapour and silver takes it is a hundred thousand times that of
diffusion (Hertz-Knudsen: 0.03 s/m against 2500 s/m over 20 mm), so neither enters.
Damp is known to slow iodising, without a figure: it is logged and has no effect here.
"""

from __future__ import annotations

from functools import cache
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.physics import diffusion
from argentry.physics.evenness import convection_margin_k, evenness
from argentry.physics.iodine import (
    STANDARD_ATMOSPHERE_PA,
    coat_m3_per_mol_iodine,
    diffusivity_m2_s,
    headspace_loss_mg,
    iodine_mg,
    kelvin,
    saturated_concentration_mol_m3,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

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

DRAWS = 512
THICKEST_NM = 1000.0


def _checked(name: str, given: ArrayLike, subject: str, key: str) -> NDArray[np.float64]:
    fact = trade.facts(subject)[key]
    return _within(name, given, fact.low, fact.high, fact.unit)


def _within(name: str, given: ArrayLike, low: float, high: float, unit: str) -> NDArray[np.float64]:
    array = np.asarray(given, dtype=float)
    inside = (array >= low) & (array <= high)
    if not np.all(inside):  # NaN lands here
        shown = "" if unit == "1" else f" {unit}"
        raise BadInput(
            name,
            f"{float(array[~inside].flat[0]):g}{shown} is out of range",
            f"give a number from {low:g} to {high:g}{shown}",
        )
    return array


def _hindrance_mm(
    cover: NDArray[np.float64], spacing_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the extra gap that a partly covered floor amounts to. [mm]

    Crystals as discs of radius `r`, one to each cell of the floor: ``pi r psi / (4 cover)`` with
    ``psi = (1 - sqrt(cover))^1.5`` for the crowding of neighbours (M. G. Cooper, B. B. Mikic and
    M. M. Yovanovich, Int. J. Heat Mass Transfer 12 (1969) 279, for heat through contact spots).
    """
    radius = spacing_mm * np.sqrt(cover / np.pi)
    crowding = (1.0 - np.sqrt(cover)) ** 1.5
    return np.asarray(np.pi * radius * crowding / (4.0 * cover))


def _box(
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike,
    cover_share: ArrayLike | None,
    crystal_spacing_mm: ArrayLike | None,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return seconds per reduced time, nanometres per reduced amount, and the hindrance."""
    cover_share = trade.value("fuming", "cover_share") if cover_share is None else cover_share
    if crystal_spacing_mm is None:
        crystal_spacing_mm = trade.value("fuming", "crystal_spacing")
    temperature = kelvin(
        _checked("box temperature", box_temperature_c, "fuming", "box_temperature")
    )
    gap = _checked("gap", gap_mm, "fuming", "gap")
    pressure = _checked("air pressure", pressure_pa, "air", "pressure")
    cover = _checked("crystal cover", cover_share, "fuming", "cover_share")
    spacing = _checked("crystal spacing", crystal_spacing_mm, "fuming", "crystal_spacing")
    return _scales(temperature, gap, pressure, cover, spacing)


def _scales(
    temperature_k: NDArray[np.float64],
    gap_mm: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    cover: NDArray[np.float64],
    spacing_mm: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    gap_m = gap_mm * 1e-3
    seconds = gap_m**2 / diffusivity_m2_s(temperature_k, pressure_pa)
    vapour = saturated_concentration_mol_m3(temperature_k)
    nanometres = coat_m3_per_mol_iodine() * vapour * gap_m * 1e9
    return seconds, nanometres, _hindrance_mm(cover, spacing_mm) / gap_mm


def _film_term_s(thickness_nm: NDArray[np.float64], resistance: float) -> NDArray[np.float64]:
    return np.asarray(0.5 * resistance * (thickness_nm * 1e-9) ** 2)


def _film(film_resistance: float | None) -> float:
    if film_resistance is None:
        film_resistance = trade.value("fuming", "film_resistance")
    return float(_checked("film resistance", film_resistance, "fuming", "film_resistance"))


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
) -> NDArray[np.float64]:
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
        If anything is out of its range or no number.

    Examples
    --------
    >>> box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    >>> [round(float(seconds_to_thickness(45.0, rested=r, **box))) for r in (True, False)]
    [105, 130]
    """
    h = _within("thickness", thickness_nm, 0.0, THICKEST_NM, "nm")
    factor = float(_within("box factor", box_factor, 0.05, 20.0, "1"))
    scales = _box(box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm)
    return factor * (
        _diffusion_s(h, scales, rested=rested) + _film_term_s(h, _film(film_resistance))
    )


def _diffusion_s(
    h: NDArray[np.float64],
    scales: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    *,
    rested: bool,
) -> NDArray[np.float64]:
    seconds, nanometres, hindrance = scales
    return np.asarray(
        seconds * diffusion.time_to_take(h / nanometres, hindrance, rested=rested), dtype=float
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
) -> NDArray[np.float64]:
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
        If anything is out of its range or no number.
    """
    t = _within("seconds", seconds, 0.0, 1e5, "s")
    t = t / float(_within("box factor", box_factor, 0.05, 20.0, "1"))
    scales = _box(box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm)
    unit_s, unit_nm, hindrance = scales
    free = unit_nm * diffusion.taken(t / unit_s, hindrance, rested=rested)
    film = _film(film_resistance)
    if film == 0.0:
        return np.asarray(free)
    low, high = np.zeros_like(free), free.copy()  # a film only slows
    for _ in range(60):
        middle = 0.5 * (low + high)
        spent = _diffusion_s(middle, scales, rested=rested) + _film_term_s(middle, film)
        low, high = np.where(spent < t, middle, low), np.where(spent < t, high, middle)
    return np.asarray(0.5 * (low + high))


def steady_rate_nm_s(
    *,
    box_temperature_c: ArrayLike,
    gap_mm: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
    cover_share: ArrayLike | None = None,
    crystal_spacing_mm: ArrayLike | None = None,
    box_factor: float = 1.0,
) -> NDArray[np.float64]:
    """Return the growth once the box has settled, without a film term. [nm/s]

    Parameters and Raises as in `seconds_to_thickness`.
    """
    factor = float(_within("box factor", box_factor, 0.05, 20.0, "1"))
    seconds, nanometres, hindrance = _box(
        box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm
    )
    return np.asarray(nanometres / seconds * diffusion.steady_rate(hindrance) / factor)


def rest_seconds(
    *, box_temperature_c: ArrayLike, gap_mm: ArrayLike, pressure_pa: ArrayLike = 101325.0
) -> NDArray[np.float64]:
    """Return how long a swept box must stand shut until it is 95 % full again.

    A closed gap fills as ``1 - 4/pi sum (-1)^n/(2n+1) exp(-(2n+1)^2 pi^2 D t / (4 L^2))`` at its
    lid (Crank 1975, eq. 4.17); the first term alone gives the time. [s]
    """
    seconds = _box(box_temperature_c, gap_mm, pressure_pa, None, None)[0]
    return np.asarray(seconds * 4.0 / np.pi**2 * np.log(4.0 / (np.pi * 0.05)))


@cache
def _normal_draws(count: int, dimensions: int) -> NDArray[np.float64]:
    """Return the same normal draws every time, spread evenly (golden-ratio lattice)."""
    root = 2.0
    for _ in range(64):  # solves root^(d + 1) = root + 1
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1.0)
    points = (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0
    normal = NormalDist().inv_cdf
    draws = np.array([[normal(min(max(p, 1e-9), 1 - 1e-9)) for p in row] for row in points])
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
    share: float = 0.8,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
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
    share : float
        0.8 gives the 10 % and 90 % marks. [1]

    Returns
    -------
    low, high : ndarray
        [s] Shape of `thickness_nm`.

    Raises
    ------
    BadInput
        If anything is out of its range or no number.
    """
    h = _within("thickness", thickness_nm, 0.0, THICKEST_NM, "nm")
    share = float(_within("share", share, 0.01, 0.99, "1"))
    factor = float(_within("box factor", box_factor, 0.05, 20.0, "1"))
    _box(box_temperature_c, gap_mm, pressure_pa, cover_share, crystal_spacing_mm)  # checks
    spreads: dict[str, Any] = {
        "temperature_sd": temperature_sd_k,
        "gap_sd": gap_sd_mm,
        "box_spread": box_spread,
    }
    known = {
        key: trade.value("fuming", key) if given is None else float(_within(key, given, 0, 20, "1"))
        for key, given in spreads.items()
    }
    draw = _normal_draws(DRAWS, 5).T
    temperature = kelvin(box_temperature_c) + known["temperature_sd"] * draw[0]
    gap = np.maximum(gap_mm + known["gap_sd"] * draw[1], 0.2 * gap_mm)
    cover = trade.value("fuming", "cover_share") if cover_share is None else cover_share
    spacing = trade.value("fuming", "crystal_spacing")
    spacing = spacing if crystal_spacing_mm is None else crystal_spacing_mm
    unit_s, unit_nm, hindrance = _scales(
        temperature, gap, *(np.asarray(x, dtype=float) for x in (pressure_pa, cover, spacing))
    )
    unit_s = unit_s / np.exp(trade.value("iodine", "diffusion_sd") * draw[2])
    unit_nm = unit_nm * np.exp(trade.value("iodine", "pressure_sd") * draw[3])
    wide = h[..., np.newaxis]
    seconds = _diffusion_s(wide, (unit_s, unit_nm, hindrance), rested=rested)
    seconds = seconds + _film_term_s(wide, _film(film_resistance))
    seconds = factor * seconds * np.exp(known["box_spread"] * draw[4])
    low, high = np.quantile(seconds, [0.5 - share / 2, 0.5 + share / 2], axis=-1)
    return np.asarray(low), np.asarray(high)
