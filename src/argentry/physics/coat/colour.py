"""Colour of a reflectance spectrum: XYZ, CIELAB, sRGB, and the difference of two colours.

Everything is for the CIE 1931 2-degree observer, summed every 5 nm from 380 to 780 nm. CIELAB is
taken relative to the white of the light itself, as a photograph balanced on a white card shows it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.lights.bands import spectrum_at
from argentry.trade.spectra import Curve

# The grid of every colour: 81 wavelengths. A 1 nm grid moves no coat by more than 0.03 dE.
WAVELENGTH_NM = np.arange(380.0, 781.0, 5.0)
WAVELENGTH_NM.flags.writeable = False

LIGHTS = {"D65": "illuminant_d65", "A": "illuminant_a", "LED": "illuminant_led"}

BEHIND = "{light} behind {name}"
NO_COLOUR = "it takes a whole part of the colours: no coat can be judged behind it"
LEAST_KEPT = 0.02  # of blue, green or red, the white being brought to the same brightness

# XYZ to linear sRGB under D65 (IEC 61966-2-1, inverse of its primaries and white).
_RGB_FROM_XYZ = np.array(
    [
        [3.2404542, -1.5371385, -0.4985314],
        [-0.9692660, 1.8760108, 0.0415560],
        [0.0556434, -0.2040259, 1.0572252],
    ]
)
_SRGB_WHITE = np.array([95.047, 100.0, 108.883])
# Bradford cone responses (Lam 1985; as in ICC.1).
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


@dataclass(frozen=True)
class Light:
    """A light to look at plates by.

    Attributes
    ----------
    name : str
        For the sheets.
    power : ndarray, shape (81,)
        Relative power at `WAVELENGTH_NM`. [1]
    """

    name: str
    power: Floats


def light(name: str) -> Light:
    """Return one of the lights the trade holds.

    Parameters
    ----------
    name : str
        ``"D65"`` (daylight), ``"A"`` (tungsten) or ``"LED"`` (white, CIE LED-B3).
    """
    if name not in LIGHTS:
        raise BadInput(
            "illuminant",
            "{name!r} is unknown",
            "choose one of {lights}",
            name=name,
            lights=", ".join(LIGHTS),
        )
    columns = trade.table(LIGHTS[name]).columns
    power = np.interp(WAVELENGTH_NM, columns["wavelength_nm"], columns["relative_power"])
    return Light(name, power)


def behind(seen_by: Light, name: str, passes: Curve) -> Light:
    """Return a light behind a pane or a filter.

    Parameters
    ----------
    seen_by : Light
        Before it.
    name : str
        Of the glass.
    passes : Curve
        Its wavelengths and transmissions. [nm, 1]

    Raises
    ------
    BadInput
        If so little blue, green or red comes through that no colour can be told.
    """
    power = seen_by.power * spectrum_at(WAVELENGTH_NM, passes)
    found = Light(BEHIND.format(light=seen_by.name, name=name), power)
    if power.sum() <= 0.0 or lacks_colour(found, seen_by):
        raise BadInput(name, NO_COLOUR, "judge the coat by a light that has all colours")
    return found


def lacks_colour(one: Light, beside: Light) -> bool:
    """Return True when a light has next to no blue, green or red beside that of another."""
    return bool((white(one) < LEAST_KEPT * white(beside)).any())


def lamp(name: str, wavelength_nm: ArrayLike, value: ArrayLike) -> Light:
    """Return a light from a measured spectrum, with no narrow line lost.

    Each of the 81 bins takes the mean of the spectrum over its own 5 nm, linear between rows.
    Outside the rows given the lamp is dark.

    Parameters
    ----------
    name : str
        For the sheets and for the error sentence.
    wavelength_nm : array_like
        Rising wavelengths that reach from 400 or below to 700 or above, no gap above 20 nm. [nm]
    value : array_like
        Relative power per nm at each, none negative, not all zero. [1]

    Returns
    -------
    Light
        The lamp on `WAVELENGTH_NM`.

    Raises
    ------
    BadInput
        If the spectrum cannot be used.
    """
    at = np.asarray(wavelength_nm, dtype=np.float64)
    power = np.asarray(value, dtype=np.float64)
    if at.size < 2 or not (np.isfinite(at).all() and np.isfinite(power).all()):
        raise BadInput(
            name, "the spectrum has too few numbers", "give rows of wavelength and value"
        )
    step = np.diff(at)
    if (step <= 0).any():
        raise BadInput(
            name, "the wavelengths are not in rising order", "sort the rows from violet to red"
        )
    if at[0] > 400 or at[-1] < 700 or step.max() > 20:
        raise BadInput(
            name,
            "the rows run from {first:g} to {last:g} nm with a gap of {gap:g} nm",
            "cover 400 to 700 nm with a row at least every 20 nm",
            first=at[0],
            last=at[-1],
            gap=step.max(),
        )
    seen = (at >= WAVELENGTH_NM[0]) & (at <= WAVELENGTH_NM[-1])
    if (power < 0).any() or not (power[seen] > 0).any():
        raise BadInput(name, "the spectrum is dark or below zero", "give the power as 0 or more")
    edges = np.append(WAVELENGTH_NM - 2.5, WAVELENGTH_NM[-1] + 2.5)
    # Integrate on the rows and the bin edges together, so that each bin is exact.
    knots = np.union1d(at, edges)
    levels = np.interp(knots, at, power, left=0.0, right=0.0)
    area = np.concatenate([[0.0], np.cumsum(np.diff(knots) * (levels[1:] + levels[:-1]) / 2)])
    bins = np.diff(area[np.searchsorted(knots, edges)]) / 5.0
    return Light(name, bins)


def _weights(source: Light) -> Floats:
    columns = trade.table("cie_observer_1931").columns
    rows = np.searchsorted(columns["wavelength_nm"], WAVELENGTH_NM)
    observer = np.stack([columns[key][rows] for key in ("x_bar", "y_bar", "z_bar")], axis=1)
    weights = observer * source.power[:, None]
    return np.asarray(100 * weights / weights[:, 1].sum())


def white(source: Light) -> Floats:
    """Return X, Y, Z of a perfect white under `source`, with Y = 100."""
    return np.asarray(_weights(source).sum(axis=0))


def xyz(reflectance: ArrayLike, source: Light) -> Floats:
    """Return the tristimulus values of spectra under a light.

    Parameters
    ----------
    reflectance : array_like, shape (..., 81)
        Reflectance at `WAVELENGTH_NM`. [1]
    source : Light
        The light.

    Returns
    -------
    ndarray, shape (..., 3)
        X, Y, Z with Y = 100 for a perfect white. [1]

    References
    ----------
    CIE 15, Colorimetry: sums of reflectance, light and observer.
    """
    return np.asarray(np.asarray(reflectance, dtype=np.float64) @ _weights(source))


def lab(xyz_values: ArrayLike, white_xyz: ArrayLike) -> Floats:
    """Return CIELAB of tristimulus values.

    Parameters
    ----------
    xyz_values : array_like, shape (..., 3)
        X, Y, Z. [1]
    white_xyz : array_like, shape (3,)
        White they are relative to, on the same scale. [1]

    Returns
    -------
    ndarray, shape (..., 3)
        L*, a*, b*. [1]

    References
    ----------
    ISO/CIE 11664-4, with its exact constants (6/29).
    """
    ratio = np.asarray(xyz_values, dtype=np.float64) / np.asarray(white_xyz, dtype=np.float64)
    delta = 6 / 29
    root = np.where(ratio > delta**3, np.cbrt(ratio), ratio / (3 * delta**2) + 4 / 29)
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def srgb(xyz_values: ArrayLike, white_xyz: ArrayLike) -> Floats:
    """Return sRGB of tristimulus values, their white brought to D65 by the Bradford transform.

    Parameters
    ----------
    xyz_values : array_like, shape (..., 3)
        X, Y, Z, 100 for white. [1]
    white_xyz : array_like, shape (3,)
        White of the light. [1]

    Returns
    -------
    ndarray, shape (..., 3)
        R, G, B from 0 to 1, what lies outside cut off. [1]

    References
    ----------
    IEC 61966-2-1 (sRGB).
    """
    linear = np.clip(linear_srgb(xyz_values, white_xyz), 0, 1)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def linear_srgb(xyz_values: ArrayLike, white_xyz: ArrayLike) -> Floats:
    """Return sRGB before its curve, not cut off; see `srgb`."""
    gain = (_BRADFORD @ _SRGB_WHITE) / (_BRADFORD @ np.asarray(white_xyz, dtype=np.float64))
    adapt = np.linalg.inv(_BRADFORD) @ np.diag(gain) @ _BRADFORD
    return np.asarray(np.asarray(xyz_values, dtype=np.float64) / 100 @ (_RGB_FROM_XYZ @ adapt).T)


def xyz_of_linear(rgb: ArrayLike) -> Floats:
    """Return X, Y, Z under D65 of linear sRGB, 100 for white (IEC 61966-2-1)."""
    return np.asarray(100 * np.asarray(rgb, dtype=np.float64) @ np.linalg.inv(_RGB_FROM_XYZ).T)


def from_srgb(level: ArrayLike) -> Floats:
    """Return linear light of sRGB levels from 0 to 1 (IEC 61966-2-1)."""
    level = np.asarray(level, dtype=np.float64)
    return np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4)


def from_srgb_bytes(picture: NDArray[np.uint8]) -> Floats:
    """Return 8-bit sRGB as linear light, 0 to 1, in the shape of the picture."""
    return np.asarray(from_srgb(np.arange(256) / 255.0)[picture])


def hex_colour(rgb: ArrayLike) -> str:
    """Return one sRGB colour (R, G, B from 0 to 1) as ``"#RRGGBB"``."""
    red, green, blue = np.rint(255 * np.asarray(rgb, dtype=np.float64)).astype(int)
    return f"#{red:02X}{green:02X}{blue:02X}"


def delta_e_2000(first: ArrayLike, second: ArrayLike) -> Floats:
    """Return the CIEDE2000 difference of two colours, all weights 1.

    Parameters
    ----------
    first, second : array_like, shape (..., 3)
        L*, a*, b*, broadcast against each other. [1]

    Returns
    -------
    ndarray, shape (...)
        Difference. [1]

    References
    ----------
    ISO/CIE 11664-6; G. Sharma, W. Wu & E. N. Dalal, Color Res. Appl. 30, 21 (2005).
    """
    l1, a1, b1 = np.moveaxis(np.asarray(first, dtype=np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(second, dtype=np.float64), -1, 0)
    mean_7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    grow = 1.5 - 0.5 * np.sqrt(mean_7 / (mean_7 + 25.0**7))
    c1, c2 = np.hypot(grow * a1, b1), np.hypot(grow * a2, b2)
    h1 = np.degrees(np.arctan2(b1, grow * a1)) % 360
    h2 = np.degrees(np.arctan2(b2, grow * a2)) % 360
    coloured = c1 * c2 > 0  # a grey has no hue
    turn = np.where(coloured, (h2 - h1 + 180) % 360 - 180, 0.0)
    # Opposite hues (180 degrees apart) count as a turn forward, as in the source.
    turn = np.where(coloured & (turn == -180) & (h2 > h1), 180.0, turn)
    d_l, d_c = l2 - l1, c2 - c1
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))
    l_m, c_m = (l1 + l2) / 2, (c1 + c2) / 2
    total = h1 + h2
    wrapped = np.where(total < 360, total + 360, total - 360) / 2
    h_m = np.where(np.abs(h1 - h2) > 180, wrapped, total / 2)
    h_m = np.where(coloured, h_m, total)
    t = (
        1
        - 0.17 * np.cos(np.radians(h_m - 30))
        + 0.24 * np.cos(np.radians(2 * h_m))
        + 0.32 * np.cos(np.radians(3 * h_m + 6))
        - 0.20 * np.cos(np.radians(4 * h_m - 63))
    )
    s_l = 1 + 0.015 * (l_m - 50) ** 2 / np.sqrt(20 + (l_m - 50) ** 2)
    s_c, s_h = 1 + 0.045 * c_m, 1 + 0.015 * c_m * t
    spin = 60 * np.exp(-(((h_m - 275) / 25) ** 2))
    r_c = 2 * np.sqrt(c_m**7 / (c_m**7 + 25.0**7))
    parts = (d_l / s_l, d_c / s_c, d_h / s_h)
    cross = -np.sin(np.radians(spin)) * r_c * parts[1] * parts[2]
    return np.asarray(np.sqrt(np.maximum(sum(p**2 for p in parts) + cross, 0.0)))
