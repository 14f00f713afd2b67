"""A coat beside bare silver as a camera sees it: three channels, its matrix made for daylight.

A camera's filters are not those of the eye, and one matrix, made for daylight, turns what they see
into red, green and blue under every light. So a gold looks other to a camera under a lamp than to
the eye; the ratio to bare silver in the same picture takes out lens, light and exposure, not that.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.coat import colour, film
from argentry.physics.coat.colour import Light
from argentry.physics.coat.interlayer import Interlayer

_DARKEST = 1e-3  # of white: a channel that sees nothing has no logarithm
_WAVES = 6  # smooth spectra that the matrix is fitted to: cosines with up to so many half waves


def beside_silver(
    thickness_nm: ArrayLike,
    source: Light,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
) -> Floats:
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


def bare_silver(source: Light, angle_deg: float = 0.0) -> Floats:
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


def camera_rgb(spectra: ArrayLike, source: Light) -> Floats:
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
    return _seen(spectra, source, *_mean_camera())


def camera_doubt(
    thickness_nm: ArrayLike,
    source: Light,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
    known_nm: tuple[float, float] | None = None,
) -> Floats:
    """Return how far cameras differ in what `beside_silver` tells, as covariances of logarithms.

    Each filter's middle, width and leak is moved by its doubt, and the matrix fitted again. The
    leak weighs under lamps, which hold much red and little blue.

    Parameters
    ----------
    thickness_nm, source, angle_deg, layer
        As in `beside_silver`; thicknesses rise.
    known_nm : (float, float) or None
        Coats that a scale of this very camera reaches: between them nothing is in doubt, beyond
        them what differs from the nearest. [nm]

    Returns
    -------
    ndarray, shape (thickness, 3, 3)
        Of the natural logarithms of red, green and blue. [1]
    """
    spectra = film.reflectance(
        colour.WAVELENGTH_NM, np.append(0.0, thickness_nm), angle_deg=angle_deg, layer=layer
    )

    def told(moved: Floats, wider: Floats, leaks: Floats) -> Floats:
        channels = _channels(moved, wider, leaks)
        seen = _seen(spectra, source, channels, _daylight_matrix(channels))
        seen = np.maximum(seen, _DARKEST)
        return np.asarray(np.log(seen[1:] / seen[0]))

    doubts = np.repeat(
        [trade.value("seeing", f"camera_{key}") for key in ("sd_nm", "width_sd", "leak_sd")], 3
    )
    slopes = [told(*move.reshape(3, 3)) - told(*-move.reshape(3, 3)) for move in np.diag(doubts)]
    each = np.stack(slopes, axis=-1) / 2.0
    if known_nm is not None:
        at = np.asarray(thickness_nm, dtype=float)
        low, high = np.searchsorted(at, known_nm).clip(0, at.size - 1)
        nearest = each[np.arange(at.size).clip(low, high)]
        each = each - np.where(((at >= at[low]) & (at <= at[high]))[:, None, None], each, nearest)
    return np.asarray(each @ each.transpose(0, 2, 1))


@cache
def _mean_camera() -> tuple[Floats, Floats]:
    channels = _channels()
    return channels, _daylight_matrix(channels)


def _seen(spectra: ArrayLike, source: Light, channels: Floats, matrix: Floats) -> Floats:
    weights = channels * source.power[:, None]
    raw = np.asarray(spectra) @ (weights / weights.sum(axis=0))
    return np.asarray(raw @ matrix)


def _channels(
    moved_nm: float | Floats = 0.0, wider: float | Floats = 0.0, leaks: float | Floats = 0.0
) -> Floats:
    """Return a camera's filters, moved by so much.

    Parameters
    ----------
    moved_nm, wider, leaks : float or ndarray of shape (3,)
        What is added to the middles [nm], to the logarithms of the widths and to the leak. [1]
    """
    at = colour.WAVELENGTH_NM[:, None]
    middle = [trade.value("seeing", f"camera_{name}_nm") for name in ("red", "green", "blue")]
    width = [trade.value("seeing", f"camera_{name}_width_nm") for name in ("red", "green", "blue")]
    wide = np.array(width) * np.exp(wider)
    bell = np.exp(-(((at - (np.array(middle) + moved_nm)) / wide) ** 2) / 2)
    return np.asarray(bell + np.maximum(trade.value("seeing", "camera_leak") + leaks, 0.0))


def _daylight_matrix(channels: Floats) -> Floats:
    """Return the matrix that brings white and smooth colours nearest to sRGB in daylight."""
    place = np.linspace(0.0, np.pi, colour.WAVELENGTH_NM.size)
    waves = np.cos(np.outer(np.arange(1, _WAVES + 1), place))
    spectra = np.concatenate([np.ones((1, place.size)), (1 + waves) / 2, (1 - waves) / 2])
    day = colour.light("D65")
    weights = channels * day.power[:, None]
    raw = spectra @ (weights / weights.sum(axis=0))
    wanted = colour.linear_srgb(colour.xyz(spectra, day), colour.white(day))
    found, *_ = np.linalg.lstsq(raw, wanted, rcond=None)
    return np.asarray(found / found.sum(axis=0))
