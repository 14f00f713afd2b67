"""Light on a coat: air, silver iodide, a thin lossy layer of both, silver. In closed form.

A lossless film on perfect silver shows almost no colour, because silver gives back all that the
film does not take. Real plates do show it, so a thin layer of mixed silver and iodide between film
and metal is part of the model (`interlayer`). Iodine makes it with the film: a bare plate has none.

Every function takes coat thickness 0-250 nm and an angle of view 0-80 degrees from the plate's
normal; the light is unpolarised (mean of both planes).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.coat import thin_film
from argentry.physics.coat.interlayer import Interlayer, interlayer
from argentry.physics.coat.silver_iodide import (
    mixed_index,
    silver_index,
    silver_iodide_index,
)
from argentry.physics.ranges import within


@dataclass(frozen=True)
class Shares:
    """Where the light goes; the four add up to 1.

    Attributes
    ----------
    reflected, film, interlayer, silver : ndarray
        Shares of the incident light, shape (thickness, wavelength). [1]
    """

    reflected: Floats
    film: Floats
    interlayer: Floats
    silver: Floats


def _thickness(thickness_nm: ArrayLike) -> Floats:
    high = trade.value("film", "thickness_high_nm")
    return np.atleast_1d(within("coat thickness", thickness_nm, 0.0, high, "nm")).ravel()


def _stack(wavelength_nm: Floats, angle_deg: float, layer: Interlayer) -> thin_film.Stack:
    within("angle", angle_deg, 0.0, trade.value("film", "angle_high_deg"), "deg")
    iodide, silver = silver_iodide_index(wavelength_nm), silver_index(wavelength_nm)
    mixed = mixed_index(silver, iodide, layer.silver)
    return thin_film.stack((np.ones_like(iodide), iodide, mixed, silver), wavelength_nm, angle_deg)


def reflectance(
    wavelength_nm: ArrayLike,
    thickness_nm: ArrayLike,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
) -> Floats:
    """Return the share of unpolarised light a coated plate reflects.

    Closed form (`thin_film.reflected`), over a lossy layer that grows with the coat
    (`Interlayer.under`).

    Parameters
    ----------
    wavelength_nm : array_like
        Vacuum wavelengths, 342.5 to 892 nm. [nm]
    thickness_nm : array_like
        Coat thicknesses, 0 to 250 nm. [nm]
    angle_deg : float
        Angle from the normal, 0 to 80. [deg]
    layer : Interlayer, optional
        The lossy layer; the trade's seed when not given.

    Returns
    -------
    ndarray, shape (thickness, wavelength)
        Reflectance. [1]

    Raises
    ------
    BadInput
        If a thickness, wavelength, angle or interlayer lies out of range or is NaN.

    References
    ----------
    M. Born & E. Wolf, Principles of Optics, sections 1.5 and 1.6; layer within layer for the
    interlayer.
    """
    wavelength = np.atleast_1d(np.asarray(wavelength_nm, dtype=np.float64)).ravel()
    thickness = _thickness(thickness_nm)
    layer = layer or interlayer()
    stack = _stack(wavelength, angle_deg, layer)
    return thin_film.reflected(stack, thickness, layer.under(thickness))


def layer_shares(
    wavelength_nm: ArrayLike,
    thickness_nm: ArrayLike,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
) -> Shares:
    """Return where unpolarised light goes: back, into the film, the interlayer, the silver.

    Parameters
    ----------
    wavelength_nm, thickness_nm, angle_deg, layer
        As in `reflectance`.

    Returns
    -------
    Shares
        Four arrays of shape (thickness, wavelength). [1]

    Raises
    ------
    BadInput
        As in `reflectance`.
    """
    wavelength = np.atleast_1d(np.asarray(wavelength_nm, dtype=np.float64)).ravel()
    thickness = _thickness(thickness_nm)
    layer = layer or interlayer()
    stack = _stack(wavelength, angle_deg, layer)
    return Shares(*thin_film.shares(stack, thickness, layer.under(thickness)))


def coat_share(
    thickness_nm: ArrayLike,
    *,
    angle_deg: float = 0.0,
    layer: Interlayer | None = None,
) -> Floats:
    """Return the share of actinic daylight photons that the film itself absorbs.

    Daylight D65 photons of 360-500 nm, by the trapezoid rule every 5 nm. Absorption is taken as a
    stand-in for speed: the pattern (most at the first gold, least at steel, more again at the
    second yellow) is robust, the absolute share follows the assumed exciton strength.

    Parameters
    ----------
    thickness_nm : array_like
        Coat thicknesses, 0 to 250 nm, any shape. [nm]
    angle_deg, layer
        As in `reflectance`.

    Returns
    -------
    ndarray
        Absorbed share, same shape as `thickness_nm`. [1]

    Raises
    ------
    BadInput
        As in `reflectance`.
    """
    shape = np.shape(thickness_nm)
    wavelength = np.arange(
        trade.value("film", "share_low_nm"), trade.value("film", "share_high_nm") + 2.5, 5.0
    )
    light = trade.table("illuminant_d65").columns
    power = np.interp(wavelength, light["wavelength_nm"], light["relative_power"])
    photons = power * wavelength  # energy per photon goes as 1/wavelength
    photons[[0, -1]] /= 2  # trapezoid
    shares = layer_shares(wavelength, thickness_nm, angle_deg=angle_deg, layer=layer)
    return np.asarray(shares.film @ photons / photons.sum()).reshape(shape)


def relative_coat_speed(thickness_nm: ArrayLike, *, layer: Interlayer | None = None) -> Floats:
    """Return how fast a coat is beside the first gold (25 nm), by the light it absorbs.

    Parameters
    ----------
    thickness_nm : array_like
        Coat thicknesses, 0 to 250 nm, any shape. [nm]
    layer
        As in `reflectance`.

    Returns
    -------
    ndarray
        `coat_share` over its value at 25 nm, same shape as `thickness_nm`. [1]

    Raises
    ------
    BadInput
        As in `reflectance`.
    """
    both = np.append(np.ravel(thickness_nm), trade.value("film", "reference_coat_nm"))
    share = coat_share(both, layer=layer)
    return np.asarray(share[:-1] / share[-1]).reshape(np.shape(thickness_nm))


def seen_as_nm(thickness_nm: float, angle_deg: float) -> float:
    """Return the thickness that shows nearly this colour when seen straight on.

    A tilted film delays light less, by the cosine inside the film::

        seen = d sqrt(1 - sin(angle)^2 / n^2)

    Parameters
    ----------
    thickness_nm : float
        [nm]
    angle_deg : float
        Angle from the normal. [deg]

    Returns
    -------
    float
        [nm]
    """
    sine = np.sin(np.radians(angle_deg)) / trade.value("film", "iodide_index")
    return float(thickness_nm * np.sqrt(1 - sine**2))
