"""A film and a thin layer beneath it on an opaque base: reflection in closed form, any media.

Media are numbered from above: 0 where the light comes from (no absorption), 1 the film, 2 the
layer, 3 the base. Angles are measured in medium 0 from the normal.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.physics.silver_iodide import ComplexArray, FloatArray

# Values per block in `reflected`: the working arrays of a block then stay in cache.
_BLOCK = 16384


@dataclass(frozen=True)
class Plane:
    """What one plane of polarisation needs, per wavelength; film thickness is not in it.

    Attributes
    ----------
    front : ndarray of complex
        Amplitude reflected at the film's face. [1]
    back : ndarray of complex
        Amplitude reflected by all that lies below the film. [1]
    into_film : ndarray
        Squared amplitude let through the film's face. [1]
    flux_film, flux_base : ndarray
        Energy flux at the film's foot, and into the base, for unit amplitude going down at the
        film's foot, over the flux that falls on the film. [1]
    """

    front: ComplexArray
    back: ComplexArray
    into_film: FloatArray
    flux_film: FloatArray
    flux_base: FloatArray


@dataclass(frozen=True)
class Stack:
    """Film, layer and base, ready for any film thickness.

    Attributes
    ----------
    planes : tuple of Plane
        Perpendicular (s) and parallel (p) plane; one only on the normal, where both are alike.
    phase_per_nm, damping_per_nm : ndarray, shape (wavelength,)
        Of the film's round trip. [rad/nm, 1/nm]
    """

    planes: tuple[Plane, ...]
    phase_per_nm: FloatArray
    damping_per_nm: FloatArray


def stack(
    index: Sequence[ComplexArray], wavelength_nm: FloatArray, layer_nm: float, angle_deg: float
) -> Stack:
    """Return a film, layer and base, prepared for any film thickness.

    Parameters
    ----------
    index : sequence of four ndarray, shape (wavelength,)
        Complex index n + ik of the media from above. [1]
    wavelength_nm : ndarray, shape (wavelength,)
        Vacuum wavelength. [nm]
    layer_nm : float
        Thickness of the layer beneath the film. [nm]
    angle_deg : float
        Angle of incidence in medium 0, below 90. [deg]

    Returns
    -------
    Stack
        For `reflected`.

    References
    ----------
    M. Born & E. Wolf, Principles of Optics, sections 1.5.2 (Fresnel) and 1.6 (films).
    """
    sine = index[0] * np.sin(np.radians(angle_deg))
    cosine = [np.sqrt(1 - (sine / n) ** 2) for n in index]
    round_trip = np.exp(4j * np.pi * index[2] * cosine[2] * layer_nm / wavelength_nm)
    per_nm = 4 * np.pi * index[1] * cosine[1] / wavelength_nm
    kinds = (True,) if angle_deg == 0 else (True, False)
    planes = tuple(_plane(index, cosine, round_trip, in_s=in_s) for in_s in kinds)
    return Stack(planes, per_nm.real, per_nm.imag)


def _plane(
    index: Sequence[ComplexArray],
    cosine: list[ComplexArray],
    round_trip: ComplexArray,
    *,
    in_s: bool,
) -> Plane:
    # Fresnel amplitudes (Born & Wolf, section 1.5.2), for fields; `a` and `b` swap with the plane.
    def fresnel(i: int) -> tuple[ComplexArray, ComplexArray]:
        j = i + 1
        if in_s:
            a, b = index[i] * cosine[i], index[j] * cosine[j]
        else:
            a, b = index[j] * cosine[i], index[i] * cosine[j]
        return (a - b) / (a + b), 2 * index[i] * cosine[i] / (a + b)

    incident = (index[0] * cosine[0]).real

    def flux(i: int, up: ComplexArray) -> FloatArray:
        # Poynting vector along the normal of a wave of unit amplitude and its echo `up`, over
        # that of the wave that falls on the film.
        if in_s:
            through = index[i] * cosine[i] * np.conj(1 + up) * (1 - up)
        else:
            through = index[i] * np.conj(cosine[i]) * (1 + up) * np.conj(1 - up)
        return np.asarray(through.real / incident)

    (r01, t01), (r12, t12), (r23, t23) = (fresnel(i) for i in range(3))
    loop = 1 + r12 * r23 * round_trip
    back = (r12 + r23 * round_trip) / loop
    to_base = np.abs(t12 * t23 / loop) ** 2 * np.abs(round_trip)
    return Plane(
        front=r01,
        back=back,
        into_film=np.abs(t01) ** 2,
        flux_film=flux(1, back),
        flux_base=to_base * flux(3, np.zeros_like(back)),
    )


def reflected(prepared: Stack, thickness_nm: FloatArray, *, plane: int | None = None) -> FloatArray:
    """Return the reflectance of a stack for every thickness of its film.

    With front amplitude r, back amplitude g (layer and base taken together) and the film's round
    trip p = exp(i 4 pi n cos d / wavelength)::

        R = |r + g p|^2 / |1 + r g p|^2

    written out in real numbers, so that each (thickness, wavelength) costs one sine, one cosine
    and one exponential; all else is computed once per wavelength.

    Parameters
    ----------
    prepared : Stack
        From `stack`.
    thickness_nm : ndarray, shape (thickness,)
        Film thickness, 0 or more. [nm]
    plane : int, optional
        0 for the perpendicular (s), 1 for the parallel (p) plane; the mean of both, which is
        unpolarised light, when not given.

    Returns
    -------
    ndarray, shape (thickness, wavelength)
        Reflectance. [1]
    """
    planes = prepared.planes if plane is None else (prepared.planes[plane],)
    phase, damping = prepared.phase_per_nm, prepared.damping_per_nm
    coefficients = [_coefficients(one, 1 / len(planes)) for one in planes]
    out = np.empty((thickness_nm.size, phase.size))
    rows = max(1, _BLOCK // max(1, phase.size))
    for start in range(0, thickness_nm.size, rows):
        part = thickness_nm[start : start + rows, None]
        _fill(out[start : start + rows], part, phase, damping, coefficients)
    return out


def _coefficients(plane: Plane, weight: float) -> tuple[FloatArray, ...]:
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
