"""Light on a coat: air, silver iodide, a thin lossy layer of both, silver. In closed form.

A lossless film on perfect silver shows almost no colour, because silver gives back all that the
film does not take. Real plates do show it, so a thin layer of mixed silver and iodide between film
and metal is part of the model. Its thickness and its share of silver belong to the studio.

Every function takes coat thickness 0-250 nm and an angle of view 0-80 degrees from the plate's
normal; the light is unpolarised (mean of both planes).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import check_range
from argentry.physics.silver_iodide import mixed_index, silver_index, silver_iodide_index

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from argentry.physics.silver_iodide import ComplexArray, FloatArray

# Values per block in `reflectance`: the six working arrays of a block then stay in cache.
_BLOCK = 16384


@dataclass(frozen=True)
class Shares:
    """Where the light goes; the four add up to 1.

    Attributes
    ----------
    reflected, film, interlayer, silver : ndarray
        Shares of the incident light, shape (thickness, wavelength). [1]
    """

    reflected: FloatArray
    film: FloatArray
    interlayer: FloatArray
    silver: FloatArray


@dataclass(frozen=True)
class _Plane:
    """What one plane of polarisation needs, per wavelength; thickness is not in it yet."""

    front: ComplexArray  # amplitude reflected at air | film
    back: ComplexArray  # amplitude reflected by all that lies below the film
    into_film: FloatArray  # |transmitted amplitude|^2 at air | film
    flux_film: FloatArray  # flux at the film's foot per |amplitude|^2 there
    flux_silver: FloatArray  # flux into silver per |amplitude|^2 at the film's foot


def seed_interlayer() -> tuple[float, float]:
    """Return the trade's starting interlayer: thickness [nm] and share of silver [1]."""
    return trade.value("film", "interlayer_nm"), trade.value("film", "interlayer_silver")


def _thickness(thickness_nm: ArrayLike) -> FloatArray:
    thickness = np.atleast_1d(np.asarray(thickness_nm, dtype=np.float64)).ravel()
    high = trade.value("film", "thickness_high_nm")
    outside = thickness[~((thickness >= 0) & (thickness <= high))]
    if outside.size:
        check_range("coat thickness", float(outside[0]), 0, high, "nm")
    return thickness


def _interlayer(
    interlayer_nm: float | None, interlayer_silver: float | None
) -> tuple[float, float]:
    facts = trade.facts("film")
    nm = facts["interlayer_nm"].value if interlayer_nm is None else interlayer_nm
    silver = facts["interlayer_silver"].value if interlayer_silver is None else interlayer_silver
    for name, value in (("interlayer_nm", nm), ("interlayer_silver", silver)):
        fact = facts[name]
        check_range(name.replace("_", " "), value, fact.low, fact.high, fact.unit.strip("1"))
    return nm, silver


def _planes(
    wavelength_nm: FloatArray, angle_deg: float, interlayer_nm: float, interlayer_silver: float
) -> tuple[list[_Plane], FloatArray, FloatArray]:
    """Return both planes, and the film's phase and damping per nm of thickness there and back."""
    check_range("angle", angle_deg, 0, trade.value("film", "angle_high_deg"), "deg")
    iodide, silver = silver_iodide_index(wavelength_nm), silver_index(wavelength_nm)
    mixed = mixed_index(silver, iodide, interlayer_silver)
    index = [np.ones_like(iodide), iodide, mixed, silver]
    sine2 = np.sin(np.radians(angle_deg)) ** 2
    cosine = [np.sqrt(1 - sine2 / n**2) for n in index]
    round_trip = np.exp(4j * np.pi * mixed * cosine[2] * interlayer_nm / wavelength_nm)
    per_nm = 4 * np.pi * iodide * cosine[1] / wavelength_nm
    planes = [_plane(index, cosine, round_trip, in_s=in_s) for in_s in (True, False)]
    # On the normal both planes are one.
    return planes[: 1 if angle_deg == 0 else 2], per_nm.real, per_nm.imag


def _plane(
    index: list[ComplexArray], cosine: list[ComplexArray], round_trip: ComplexArray, *, in_s: bool
) -> _Plane:
    # Fresnel amplitudes (Born & Wolf, section 1.5.2), for fields; `a` and `b` swap with the plane.
    def fresnel(i: int) -> tuple[ComplexArray, ComplexArray]:
        j = i + 1
        if in_s:
            a, b = index[i] * cosine[i], index[j] * cosine[j]
        else:
            a, b = index[j] * cosine[i], index[i] * cosine[j]
        return (a - b) / (a + b), 2 * index[i] * cosine[i] / (a + b)

    def flux(i: int, up: ComplexArray) -> FloatArray:
        # Poynting vector along the normal of a wave of unit amplitude and its echo `up`, over
        # that of the incident wave in air.
        if in_s:
            through = index[i] * cosine[i] * np.conj(1 + up) * (1 - up)
        else:
            through = index[i] * np.conj(cosine[i]) * (1 + up) * np.conj(1 - up)
        return np.asarray(through.real / cosine[0].real)

    (r01, t01), (r12, t12), (r23, t23) = (fresnel(i) for i in range(3))
    loop = 1 + r12 * r23 * round_trip
    back = (r12 + r23 * round_trip) / loop
    to_silver = np.abs(t12 * t23 / loop) ** 2 * np.abs(round_trip)
    return _Plane(
        front=r01,
        back=back,
        into_film=np.abs(t01) ** 2,
        flux_film=flux(1, back),
        flux_silver=to_silver * flux(3, np.zeros_like(back)),
    )


def reflectance(
    wavelength_nm: ArrayLike,
    thickness_nm: ArrayLike,
    *,
    angle_deg: float = 0.0,
    interlayer_nm: float | None = None,
    interlayer_silver: float | None = None,
) -> FloatArray:
    """Return the share of unpolarised light a coated plate reflects.

    With front amplitude r, back amplitude g (interlayer and silver taken together) and the film's
    round trip p = exp(i 4 pi n cos d / wavelength)::

        R = |r + g p|^2 / |1 + r g p|^2

    written out in real numbers so that each (thickness, wavelength) costs one sine, one cosine
    and one exponential, and nothing else depends on thickness.

    Parameters
    ----------
    wavelength_nm : array_like
        Vacuum wavelengths, 342.5 to 892 nm. [nm]
    thickness_nm : array_like
        Coat thicknesses, 0 to 250 nm. [nm]
    angle_deg : float
        Angle from the normal, 0 to 80. [deg]
    interlayer_nm, interlayer_silver : float, optional
        Thickness [nm] and share of silver [1] of the lossy layer; the trade's seed when not given.
        A thickness of 0 is the textbook film on perfect silver.

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
    nm, silver = _interlayer(interlayer_nm, interlayer_silver)
    planes, phase, damping = _planes(wavelength, angle_deg, nm, silver)
    coefficients = [_coefficients(plane, 1 / len(planes)) for plane in planes]
    out = np.empty((thickness.size, wavelength.size))
    rows = max(1, _BLOCK // max(1, wavelength.size))
    for start in range(0, thickness.size, rows):
        part = thickness[start : start + rows, None]
        _fill(out[start : start + rows], part, phase, damping, coefficients)
    return out


def _coefficients(plane: _Plane, weight: float) -> tuple[FloatArray, ...]:
    """Return what |r + g p|^2 and |1 + r g p|^2 are made of, per wavelength."""
    r, g = plane.front, plane.back
    over, under = np.conj(r) * g, r * g
    return (
        weight * np.abs(r) ** 2,
        weight * np.abs(g) ** 2,
        2 * weight * over.real,
        -2 * weight * over.imag,
        np.abs(under) ** 2,
        2 * under.real,
        -2 * under.imag,
    )


def _fill(
    out: FloatArray,
    thickness: FloatArray,
    phase: FloatArray,
    damping: FloatArray,
    coefficients: list[tuple[FloatArray, ...]],
) -> None:
    size = thickness * damping
    np.negative(size, out=size)
    np.exp(size, out=size)
    angle = thickness * phase
    real = np.cos(angle)
    imaginary = np.sin(angle, out=angle)
    real *= size
    imaginary *= size
    np.multiply(size, size, out=size)
    work = np.empty_like(out)
    below = np.empty_like(out)
    out.fill(0.0)
    for one, square, cosine, sine, square_b, cosine_b, sine_b in coefficients:
        above = square * size
        above += one
        above += np.multiply(cosine, real, out=work)
        above += np.multiply(sine, imaginary, out=work)
        np.multiply(square_b, size, out=below)
        below += 1.0
        below += np.multiply(cosine_b, real, out=work)
        below += np.multiply(sine_b, imaginary, out=work)
        above /= below
        out += above


def layer_shares(
    wavelength_nm: ArrayLike,
    thickness_nm: ArrayLike,
    *,
    angle_deg: float = 0.0,
    interlayer_nm: float | None = None,
    interlayer_silver: float | None = None,
) -> Shares:
    """Return where unpolarised light goes: back, into the film, the interlayer, the silver.

    The share of a layer is the energy flux at its face less that at its foot.

    Parameters
    ----------
    wavelength_nm, thickness_nm, angle_deg, interlayer_nm, interlayer_silver
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
    thickness = _thickness(thickness_nm)[:, None]
    nm, silver = _interlayer(interlayer_nm, interlayer_silver)
    planes, phase, damping = _planes(wavelength, angle_deg, nm, silver)
    size = np.exp(-thickness * damping)
    trip = size * np.exp(1j * thickness * phase)
    reflected, film, interlayer, metal = np.zeros((4, thickness.size, wavelength.size))
    for plane in planes:
        loop = 1 + plane.front * plane.back * trip
        back = np.abs((plane.front + plane.back * trip) / loop) ** 2
        # |amplitude|^2 of the wave going down, at the film's foot
        foot = plane.into_film * size / np.abs(loop) ** 2
        reflected += back / len(planes)
        film += (1 - back - foot * plane.flux_film) / len(planes)
        interlayer += foot * (plane.flux_film - plane.flux_silver) / len(planes)
        metal += foot * plane.flux_silver / len(planes)
    return Shares(reflected, film, interlayer, metal)


def coat_share(
    thickness_nm: ArrayLike,
    *,
    angle_deg: float = 0.0,
    interlayer_nm: float | None = None,
    interlayer_silver: float | None = None,
) -> FloatArray:
    """Return the share of actinic daylight photons that the film itself absorbs.

    Daylight D65 photons of 360-500 nm, by the trapezoid rule every 5 nm. Absorption is taken as a
    stand-in for speed: the pattern (most at the first gold, least at steel, more again at the
    second yellow) is robust, the absolute share follows the assumed exciton strength.

    Parameters
    ----------
    thickness_nm : array_like
        Coat thicknesses, 0 to 250 nm, any shape. [nm]
    angle_deg, interlayer_nm, interlayer_silver
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
    shares = layer_shares(
        wavelength,
        thickness_nm,
        angle_deg=angle_deg,
        interlayer_nm=interlayer_nm,
        interlayer_silver=interlayer_silver,
    )
    return np.asarray(shares.film @ photons / photons.sum()).reshape(shape)


def relative_coat_speed(
    thickness_nm: ArrayLike,
    *,
    interlayer_nm: float | None = None,
    interlayer_silver: float | None = None,
) -> FloatArray:
    """Return how fast a coat is beside the first gold (25 nm), by the light it absorbs.

    Parameters
    ----------
    thickness_nm : array_like
        Coat thicknesses, 0 to 250 nm, any shape. [nm]
    interlayer_nm, interlayer_silver
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
    share = coat_share(both, interlayer_nm=interlayer_nm, interlayer_silver=interlayer_silver)
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
