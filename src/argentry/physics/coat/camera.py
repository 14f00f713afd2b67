"""A coat beside bare silver as a camera sees it: three channels, its matrix made for daylight.

A camera's filters are not those of the eye, and one matrix, made for daylight, turns what they see
into red, green and blue under every light. So a gold looks other to a camera under a lamp than to
the eye; the ratio to bare silver in the same picture takes out lens, light and exposure, not that.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.physics.coat import colour, film

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from argentry.physics.coat.colour import FloatArray, Light
    from argentry.physics.coat.interlayer import Interlayer

_WAVES = 6  # smooth spectra that the matrix is fitted to: cosines with up to so many half waves


def beside_silver(
    thickness_nm: ArrayLike,
    source: Light,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
) -> FloatArray:
    """Return linear red, green and blue of coats over those of bare silver, in a mean camera.

    Parameters
    ----------
    thickness_nm : array_like
        Coat thicknesses, 0 to 250. [nm]
    source : Light
        The light.
    angle_deg, layer
        As in `film.reflectance`.

    Returns
    -------
    ndarray, shape (thickness, 3)
        Ratio to bare silver. [1]
    """
    spectra = film.reflectance(
        colour.WAVELENGTH_NM, np.append(0.0, thickness_nm), angle_deg=angle_deg, layer=layer
    )
    seen = camera_rgb(spectra, source)
    return np.asarray(seen[1:] / seen[0])


def bare_silver(source: Light, angle_deg: float = 0.0) -> FloatArray:
    """Return linear red, green and blue of bare silver over those of a white card.

    Parameters
    ----------
    source : Light
        The light on both.
    angle_deg : float
        Of view. [deg]

    Returns
    -------
    ndarray, shape (3,)
        [1]
    """
    spectra = film.reflectance(colour.WAVELENGTH_NM, [0.0], angle_deg=angle_deg)
    return np.asarray(camera_rgb(spectra, source)[0])


def camera_rgb(spectra: ArrayLike, source: Light) -> FloatArray:
    """Return linear red, green and blue of a mean camera balanced on white in its light.

    Parameters
    ----------
    spectra : array_like, shape (..., 81)
        Reflectance at `colour.WAVELENGTH_NM`. [1]
    source : Light
        The light.

    Returns
    -------
    ndarray, shape (..., 3)
        1 for white. [1]
    """
    weights = _channels() * source.power[:, None]
    raw = np.asarray(spectra) @ (weights / weights.sum(axis=0))
    return np.asarray(raw @ _daylight_matrix())


@cache
def _channels() -> FloatArray:
    at = colour.WAVELENGTH_NM[:, None]
    middle = [trade.value("seeing", f"camera_{name}_nm") for name in ("red", "green", "blue")]
    width = [trade.value("seeing", f"camera_{name}_width_nm") for name in ("red", "green", "blue")]
    return np.asarray(np.exp(-(((at - middle) / width) ** 2) / 2))


@cache
def _daylight_matrix() -> FloatArray:
    """Return the matrix that brings white and smooth colours nearest to sRGB in daylight."""
    place = np.linspace(0.0, np.pi, colour.WAVELENGTH_NM.size)
    waves = np.cos(np.outer(np.arange(1, _WAVES + 1), place))
    spectra = np.concatenate([np.ones((1, place.size)), (1 + waves) / 2, (1 - waves) / 2])
    day = colour.light("D65")
    weights = _channels() * day.power[:, None]
    raw = spectra @ (weights / weights.sum(axis=0))
    wanted = colour.linear_srgb(colour.xyz(spectra, day), colour.white(day))
    found, *_ = np.linalg.lstsq(raw, wanted, rcond=None)
    return np.asarray(found / found.sum(axis=0))
