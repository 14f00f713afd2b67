"""The clear sky's light in a band: direct beam and diffuse light, by sun height, haze and altitude.

From five degrees of sun up the spectrum is that of the Bird and Riordan model as pvlib computes it,
kept in a table built by ``builders/sky_bands.py`` (sun height x haze x air pressure x wavelength).
For one atmosphere and one band the table is summed over wavelength once, laid out on a fine grid of
sun heights and kept; each later question is a look-up. The model has no light at the horizon, where
the published daylight is some 500 lx; below five degrees diffuse light therefore follows that
daylight [4]_, through dusk to twelve degrees below the horizon, where moonlight exceeds it. All
bands fade alike.

References
----------
.. [1] R. Bird and C. Riordan, "Simple solar spectral model for direct and diffuse irradiance on
   horizontal and tilted planes at the earth's surface for cloudless atmospheres",
   SERI/TR-215-2436 (1984).
.. [2] ASTM G173-03, reference solar spectral irradiances.
.. [3] ISO 2533:1975, standard atmosphere.
.. [4] P. K. Seidelmann (ed.), "Explanatory Supplement to the Astronomical Almanac" (1992), section
   9.9: illumination by the sun; see the table ``twilight``.
.. [5] J. E. Hay, "Calculation of monthly mean solar radiation for horizontal and inclined
   surfaces", Solar Energy 23 (1979) 301-307: the sky's light from around the sun.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range
from argentry.physics.constants import STANDARD_ATMOSPHERE_PA
from argentry.physics.lights.bands import Band, band_weights, luminous_band
from argentry.physics.lights.sun import refraction_deg

LOWEST_DEG, TWILIGHT_BELOW_DEG = -12.0, 5.0
STEPS = 2550  # of sun height from the lowest to 90 degrees in the laid-out band: 25 a degree
HIGHEST_AOD, CLEAR_AIR_AOD = 1.2, 0.1
PRESSURE_RANGE_PA = (45_000.0, 108_000.0)


@dataclass(frozen=True)
class Atmosphere:
    """The air over the place.

    Attributes
    ----------
    pressure_pa : float
        Air pressure at the place, see `argentry.physics.room.air.pressure_at_elevation_pa`. [Pa]
    aod500 : float
        Aerosol optical depth at 500 nm (haze). [1]
    albedo : float
        Share of light the ground throws back. [1]
    """

    pressure_pa: float = STANDARD_ATMOSPHERE_PA
    aod500: float = field(default_factory=lambda: trade.value("light", "haze_aod500"))
    albedo: float = field(default_factory=lambda: trade.value("light", "ground_albedo"))

    def __post_init__(self) -> None:
        """Refuse an atmosphere the table does not reach."""
        check_range("air pressure", self.pressure_pa, *PRESSURE_RANGE_PA, "Pa")
        check_range("haze (aerosol optical depth at 500 nm)", self.aod500, 0.0, HIGHEST_AOD, "")
        check_range("ground albedo", self.albedo, 0.0, 0.95, "")


@dataclass(frozen=True)
class SkyLight:
    """Light of the sky in one band.

    Attributes
    ----------
    beam_normal_w_m2, diffuse_horizontal_w_m2 : Floats
        Beam on a plane square to it, and diffuse light on level ground. [W/m2] (lx for lux)
    around_sun_per_beam : Floats or float
        Share of the diffuse light that comes from around the sun, for each unit of beam [5]_.
        [m2/W]
    """

    beam_normal_w_m2: Floats
    diffuse_horizontal_w_m2: Floats
    around_sun_per_beam: Floats | float = 0.0


def _lagrange(nodes: Floats, at: Floats) -> Floats:
    """Weights (len(at), len(nodes)) of polynomial interpolation through Chebyshev nodes."""
    count = len(nodes)
    signs = np.where(np.arange(count) % 2, -1.0, 1.0)
    angle = (2 * np.arange(count)[::-1] + 1) * np.pi / (2 * count)
    weights = signs * np.sin(angle)  # barycentric weights of Chebyshev points of the first kind
    gap = at[:, None] - nodes[None, :]
    exact = np.abs(gap) < 1e-12 * np.ptp(nodes)
    terms = weights / np.where(exact, 1.0, gap)
    out = terms / terms.sum(axis=1, keepdims=True)
    hit = exact.any(axis=1)
    out[hit] = exact[hit]
    return np.asarray(out)


@cache
def _heights() -> tuple[Floats, Floats]:
    """Fine grid of sun heights [deg], and the weights to it from the table's nodes.

    Below the horizon the weights are those of the horizon.
    """
    t = trade.arrays("sky_bands")
    fine, stretch = np.linspace(LOWEST_DEG, 90.0, STEPS + 1), t["elevation_stretch_deg"]
    over = np.log(np.maximum(fine, 0.0) + stretch)
    return fine, _lagrange(np.log(t["elevation_deg"] + stretch), over)


@cache
def _twilight() -> Floats:
    """Diffuse daylight below five degrees over that at five degrees, on the fine grid [1].

    What is published is all light on level ground by the sun's true height; the model's beam is
    taken off.
    """
    columns = trade.table("twilight").columns
    fine, to_fine = _heights()
    low = fine <= TWILIGHT_BELOW_DEG
    true = np.linspace(LOWEST_DEG - 1.0, TWILIGHT_BELOW_DEG + 1.0, 500)
    height = np.interp(fine[low], true + refraction_deg(true), true)
    row = np.searchsorted(columns["lowest_deg"], height, side="right") - 1
    row = np.maximum(row, 0)
    powers = (height / 90.0)[:, None] ** np.arange(4.0)
    coefficients = np.stack([columns[f"c{n}"][row] for n in range(4)], axis=1)
    level = 10.0 ** (powers * coefficients).sum(axis=1)
    beam, _ = _sums(luminous_band(), Atmosphere(aod500=CLEAR_AIR_AOD))
    sine = np.sin(np.radians(np.maximum(fine[low], 0.0)))
    diffuse = level - np.exp(to_fine[low] @ beam) * sine
    return np.asarray(diffuse / diffuse[-1])


def disc_in_sight(elevation_deg: Floats) -> Floats:
    """Return the share of the sun's disc that stands over a level horizon [1].

    Parameters
    ----------
    elevation_deg : Floats
        Height of the sun's middle. [deg]
    """
    x = np.clip(elevation_deg / trade.value("light", "sun_radius"), -1.0, 1.0)
    return np.asarray(0.5 + (x * np.sqrt(1.0 - x * x) + np.arcsin(x)) / np.pi)


@lru_cache
def _spectra(atmosphere: Atmosphere) -> tuple[Floats, Floats]:
    """Beam, and diffuse over sine of height, at the table's nodes: each (heights, wavelengths)."""
    t = trade.arrays("sky_bands")
    pressure = _lagrange(t["pressure_pa"], np.array([atmosphere.pressure_pa]))[0]
    stretch = t["aod_stretch"]  # in ln(aod + stretch) the diffuse light bends least
    haze = _lagrange(
        np.log(t["aod500"] + stretch), np.log(np.array([atmosphere.aod500]) + stretch)
    )[0]
    beam = np.exp(
        np.tensordot(pressure, t["beam_ln"], 1) + atmosphere.aod500 * t["beam_ln_per_aod"]
    )
    both = haze[:, None] * pressure
    diffuse = np.exp(np.tensordot(both, t["diffuse_ln"], 2))
    reflectivity = np.tensordot(both, t["reflectivity"], 2) * atmosphere.albedo
    # Equation 3-7 of [1]: light thrown up by the ground and sent down again by the sky.
    bounced = (beam * t["ground_scale"] + diffuse) * reflectivity / (1.0 - reflectivity)
    return np.asarray(beam), np.asarray(diffuse + bounced)


def _sums(band: Band, atmosphere: Atmosphere) -> tuple[Floats, Floats]:
    """Logarithms of a band's beam, and diffuse light over sine of height, at the table's nodes."""
    grid = np.asarray(trade.arrays("sky_bands")["wavelength_nm"], dtype=np.float64)
    weights = band_weights(band, grid)
    least = np.finfo(float).tiny
    beam, diffuse = (np.log(one @ weights + least) for one in _spectra(atmosphere))
    return beam, diffuse


@lru_cache
def _laid_out(band: Band, atmosphere: Atmosphere) -> tuple[Floats, Floats, float]:
    """Beam and diffuse light of one band on the fine grid, and `SkyLight.around_sun_per_beam`."""
    fine, to_fine = _heights()
    laid = np.exp(to_fine @ np.stack(_sums(band, atmosphere), axis=1))
    diffuse = laid[:, 1] * np.sin(np.radians(fine)) * band.diffuse_factor
    twilight = _twilight()
    count = len(twilight)
    diffuse[:count] = diffuse[count - 1] * twilight
    t = trade.arrays("sky_bands")
    beyond = float(t["beyond_air"] @ band_weights(band, np.asarray(t["wavelength_nm"], float)))
    beam = np.ascontiguousarray(laid[:, 0]) * disc_in_sight(fine)
    return beam, np.ascontiguousarray(diffuse), band.around_sun / beyond


def clear_sky(
    elevation_deg: Floats, distance_factor: Floats, band: Band, atmosphere: Atmosphere
) -> SkyLight:
    """Return the light of a clear sky in a band.

    Above 8 degrees of sun height the model is good to 10 to 20 %; below it to 30 % or worse [1, 2].
    How much faster red or violet fades at dusk than lux does is not known here.

    Parameters
    ----------
    elevation_deg : Floats, shape (n,)
        Apparent sun height, see `argentry.physics.lights.sun.sun_path`. [deg]
    distance_factor : Floats, shape (n,)
        From the same. [1]
    band : Band
        One of `argentry.physics.lights.bands`, or your own.
    atmosphere : Atmosphere
        The air.

    Returns
    -------
    SkyLight
        Arrays of shape (n,); zero where the sun is 12 degrees or more below the horizon. [W/m2]
    """
    return clear_skies(elevation_deg, distance_factor, (band,), atmosphere)[band]


def clear_skies(
    elevation_deg: Floats, distance_factor: Floats, bands: Sequence[Band], atmosphere: Atmosphere
) -> dict[Band, SkyLight]:
    """Return the light of a clear sky in several bands at once, as `clear_sky` has them.

    Parameters
    ----------
    elevation_deg, distance_factor : Floats, shape (n,)
        From `argentry.physics.lights.sun.sun_path`. [deg, 1]
    bands : sequence of Band
        Which.
    atmosphere : Atmosphere
        The air.
    """
    elevation = np.asarray(elevation_deg, dtype=np.float64)
    place = np.clip((elevation - LOWEST_DEG) * (STEPS / (90.0 - LOWEST_DEG)), 0.0, STEPS - 1e-9)
    index = place.astype(np.int64)
    share = place - index
    factor = np.where(elevation > LOWEST_DEG, distance_factor, 0.0)

    def at(values: Floats) -> Floats:
        low = values[index]
        return np.asarray((low + share * (values[index + 1] - low)) * factor)

    found = {}
    for band in bands:
        beam, diffuse, around_sun = _laid_out(band, atmosphere)
        per_beam = around_sun / distance_factor if around_sun else 0.0
        found[band] = SkyLight(at(beam), at(diffuse), per_beam)
    return found
