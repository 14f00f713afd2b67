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

    from argentry.arrays import Floats
    from argentry.physics.coat.silver_iodide import ComplexArray


@dataclass(frozen=True)
class Plane:
    """What one plane of polarisation needs, per wavelength; no thickness is in it.

    Attributes
    ----------
    front, middle, back : ndarray of complex
        Amplitude reflected at the face of the film, of the layer and of the base. [1]
    into_film, into_layer, into_base : ndarray of complex
        Amplitude let through each of those faces. [1]
    """

    front: ComplexArray
    middle: ComplexArray
    back: ComplexArray
    into_film: ComplexArray
    into_layer: ComplexArray
    into_base: ComplexArray


@dataclass(frozen=True)
class Stack:
    """Film, layer and base, ready for any thickness of film and layer.

    Attributes
    ----------
    index, cosine : tuple of ndarray of complex, shape (wavelength,)
        Index of the four media, and the cosine of the ray's angle in each. [1]
    planes : tuple of Plane
        Perpendicular (s) and parallel (p) plane; one only on the normal, where both are alike.
    film_per_nm, layer_per_nm : ndarray of complex, shape (wavelength,)
        Phase (real part) and damping (imaginary part) of a round trip. [rad/nm]
    """

    index: tuple[ComplexArray, ...]
    cosine: tuple[ComplexArray, ...]
    planes: tuple[Plane, ...]
    film_per_nm: ComplexArray
    layer_per_nm: ComplexArray


def stack(index: Sequence[ComplexArray], wavelength_nm: Floats, angle_deg: float) -> Stack:
    """Return a film, layer and base, prepared for any thickness.

    Parameters
    ----------
    index : sequence of four ndarray, shape (wavelength,)
        Complex index n + ik of the media from above. [1]
    wavelength_nm : ndarray, shape (wavelength,)
        Vacuum wavelength. [nm]
    angle_deg : float
        Angle of incidence in medium 0, below 90. [deg]

    References
    ----------
    M. Born & E. Wolf, Principles of Optics, sections 1.5.2 (Fresnel) and 1.6 (films).
    """
    sine = index[0] * np.sin(np.radians(angle_deg))
    cosine = tuple(np.sqrt(1 - (sine / n) ** 2) for n in index)
    film, layer = (4 * np.pi * index[i] * cosine[i] / wavelength_nm for i in (1, 2))
    kinds = (True,) if angle_deg == 0 else (True, False)
    planes = tuple(_plane(index, cosine, in_s=in_s) for in_s in kinds)
    return Stack(tuple(index), cosine, planes, film, layer)


def _plane(index: Sequence[ComplexArray], cosine: Sequence[ComplexArray], *, in_s: bool) -> Plane:
    # Fresnel amplitudes (Born & Wolf, section 1.5.2), for fields; `a` and `b` swap with the plane.
    def fresnel(i: int) -> tuple[ComplexArray, ComplexArray]:
        j = i + 1
        if in_s:
            a, b = index[i] * cosine[i], index[j] * cosine[j]
        else:
            a, b = index[j] * cosine[i], index[i] * cosine[j]
        return (a - b) / (a + b), 2 * index[i] * cosine[i] / (a + b)

    (r01, t01), (r12, t12), (r23, t23) = (fresnel(i) for i in range(3))
    return Plane(r01, r12, r23, t01, t12, t23)


def reflected(
    prepared: Stack, film_nm: Floats, layer_nm: Floats, *, plane: int | None = None
) -> Floats:
    """Return the reflectance of a stack for every thickness of its film and layer.

    With the amplitudes r1, r2, r3 at the faces of film, layer and base, and the round trips p of
    the film and q of the layer, each exp(i 4 pi n cos d / wavelength)::

        below = r2 + r3 q,   loop = 1 + r2 r3 q
        R = |r1 loop + below p|^2 / |loop + r1 below p|^2

    Parameters
    ----------
    prepared : Stack
        From `stack`.
    film_nm, layer_nm : ndarray, shape (thickness,)
        Thickness of the film and of the layer beneath it, 0 or more. [nm]
    plane : int, optional
        0 for the perpendicular (s), 1 for the parallel (p) plane; the mean of both, which is
        unpolarised light, when not given.

    Returns
    -------
    ndarray, shape (thickness, wavelength)
        Reflectance. [1]
    """
    planes = prepared.planes if plane is None else (prepared.planes[plane],)
    film_trip = _round_trip(film_nm, prepared.film_per_nm)
    layer_trip = _round_trip(layer_nm, prepared.layer_per_nm)
    out = np.zeros(film_trip.shape)
    for one in planes:
        loop = 1 + one.middle * one.back * layer_trip
        below = (one.middle + one.back * layer_trip) * film_trip
        out += _squared(one.front * loop + below) / _squared(loop + one.front * below)
    return out / len(planes)


def _round_trip(thickness_nm: Floats, per_nm: ComplexArray) -> ComplexArray:
    # Sine, cosine and exponential of real numbers: several times faster than one of complex ones.
    thickness = thickness_nm[:, None]
    size = np.exp(-thickness * per_nm.imag)
    angle = thickness * per_nm.real
    trip = np.empty(angle.shape, dtype=np.complex128)
    np.multiply(np.cos(angle), size, out=trip.real)
    np.multiply(np.sin(angle, out=angle), size, out=trip.imag)
    return trip


def _squared(amplitude: ComplexArray) -> Floats:
    return np.asarray(amplitude.real**2 + amplitude.imag**2)


def shares(
    prepared: Stack, film_nm: Floats, layer_nm: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return where unpolarised light goes: back, into the film, the layer, the base.

    The share of a layer is the energy flux at its face less that at its foot.

    Parameters
    ----------
    prepared, film_nm, layer_nm
        As in `reflected`.

    Returns
    -------
    tuple of four ndarray, shape (thickness, wavelength)
        Shares of the incident light. [1]
    """
    film_trip = _round_trip(film_nm, prepared.film_per_nm)
    layer_trip = _round_trip(layer_nm, prepared.layer_per_nm)
    still = np.zeros_like(layer_trip)
    total = np.zeros((4, *film_trip.shape))
    for i, plane in enumerate(prepared.planes):
        loop = 1 + plane.middle * plane.back * layer_trip
        below = (plane.middle + plane.back * layer_trip) / loop
        whole = 1 + plane.front * below * film_trip
        up = _squared((plane.front + below * film_trip) / whole)
        # |amplitude|^2 of the wave going down, at the foot of the film and in the base
        at_foot = _squared(plane.into_film / whole) * np.abs(film_trip)
        in_base = at_foot * _squared(plane.into_layer * plane.into_base / loop)
        in_base *= np.abs(layer_trip)
        from_film = at_foot * _flux(prepared, 1, below, in_s=i == 0)
        to_base = in_base * _flux(prepared, 3, still, in_s=i == 0)
        total += (up, 1 - up - from_film, from_film - to_base, to_base)
    reflected, film, layer, base = total / len(prepared.planes)
    return reflected, film, layer, base


def _flux(prepared: Stack, medium: int, up: ComplexArray, *, in_s: bool) -> Floats:
    """Return the Poynting vector along the normal of a wave of unit amplitude and its echo `up`.

    Over that of the wave that falls on the film.
    """
    n, cosine = prepared.index[medium], prepared.cosine[medium]
    if in_s:
        through = n * cosine * np.conj(1 + up) * (1 - up)
    else:
        through = n * np.conj(cosine) * (1 + up) * np.conj(1 - up)
    return np.asarray(through.real / (prepared.index[0] * prepared.cosine[0]).real)
