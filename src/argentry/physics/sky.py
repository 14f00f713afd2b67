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

from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import check_range
from argentry.physics.iodine import STANDARD_ATMOSPHERE_PA
from argentry.physics.sun import refraction_deg

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from argentry.trade.spectra import Curve

    Array = NDArray[np.float64]

LUMENS_PER_WATT = 683.0  # SI definition of the candela, at 555 nm
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
        Air pressure at the place, see `argentry.physics.air.pressure_at_elevation_pa`. [Pa]
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


@dataclass(frozen=True, eq=False)
class Band:
    """A response to light by wavelength; two of the same response are one key of a clear sky.

    Attributes
    ----------
    name : str
        For messages.
    wavelength_nm : NDArray[float64], shape (m,)
        Rising. [nm]
    weight : NDArray[float64], shape (m,)
        Response, transmissions included [1], or lumens per watt for `luminous_band`.
    diffuse_factor : float
        What the model's diffuse light is multiplied with in this band. [1]
    around_sun : float
        Share of the diffuse light that would come from around the sun if the air took nothing from
        the beam; 0 for an even sky. [1]
    """

    name: str
    wavelength_nm: Array
    weight: Array
    diffuse_factor: float = 1.0
    around_sun: float = 0.0

    @cached_property
    def _key(self) -> tuple[object, ...]:
        curve = self.wavelength_nm.tobytes(), self.weight.tobytes()
        return (self.name, self.diffuse_factor, self.around_sun, *curve)

    # Two threads that both ask first for a band are each given their own.
    def __eq__(self, other: object) -> bool:
        return isinstance(other, Band) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@dataclass(frozen=True)
class SkyLight:
    """Light of the sky in one band.

    Attributes
    ----------
    beam_normal_w_m2, diffuse_horizontal_w_m2 : NDArray[float64]
        Beam on a plane square to it, and diffuse light on level ground. [W/m2] (lx for lux)
    around_sun_per_beam : NDArray[float64] or float
        Share of the diffuse light that comes from around the sun, for each unit of beam [5]_.
        [m2/W]
    """

    beam_normal_w_m2: Array
    diffuse_horizontal_w_m2: Array
    around_sun_per_beam: Array | float = 0.0


def _logistic(x: Array) -> Array:
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * x))  # the same curve, and never too large


def plate_response(wavelength_nm: Array) -> Array:
    """Return the relative response of silver iodide to light: an edge near 430 nm."""
    edge = trade.value("light", "silver_iodide_edge")
    width = trade.value("light", "silver_iodide_edge_width")
    return _logistic((edge - np.asarray(wavelength_nm)) / width)


@lru_cache(maxsize=64)
def exposure_band(
    lens_transmission: float | None = None, *, violet_correction: bool = True
) -> Band:
    """Return the exposure band: silver iodide behind a lens.

    The lens passes nothing at 345 nm and its full transmission from 400 nm on.

    The spectral model's diffuse violet is 10 to 15 % too low (its factor Cs among the causes): a
    Monte Carlo of the same atmosphere gives 0.87 to 0.92 of the true diffuse light from 400 to
    430 nm at all sun heights above 20 degrees. It is raised by the factor ``violet_diffuse_factor``
    unless `violet_correction` is off, which is for comparison with pvlib only.

    Parameters
    ----------
    lens_transmission : float or None
        Of the whole lens in the violet; None: the trade's value. [1]
    violet_correction : bool
        Whether the diffuse violet is corrected.

    Returns
    -------
    Band
        The same object for the same arguments.
    """
    if lens_transmission is None:
        lens_transmission = trade.value("light", "lens_transmission")
    check_range("lens transmission", lens_transmission, 0.0, 1.0, "", open_low=True)
    wavelength = np.arange(300.0, 481.0)
    start, full = trade.value("light", "lens_cut_start"), trade.value("light", "lens_cut_full")
    lens = lens_transmission * np.clip((wavelength - start) / (full - start), 0.0, 1.0)
    factor = trade.value("light", "violet_diffuse_factor") if violet_correction else 1.0
    return Band("exposure", wavelength, lens * plate_response(wavelength), factor)


@lru_cache(maxsize=64)
def development_band(passes: float | Curve, transmission: float | None = None) -> Band:
    """Return the development band: behind a long-pass filter, up to about 700 nm.

    Parameters
    ----------
    passes : float or Curve
        Wavelength at which the filter passes half [nm], or its spectrum: wavelengths and
        transmissions. [nm, 1]
    transmission : float or None
        Of the filter in the red, where no spectrum is given; None: the trade's value. [1]

    Returns
    -------
    Band
        The same object for the same arguments.
    """
    if not isinstance(passes, tuple):
        check_range("filter cut-on", passes, 480.0, 690.0, "nm")
    if transmission is None:
        transmission = trade.value("light", "filter_transmission")
    check_range("filter transmission", transmission, 0.0, 1.0, "", open_low=True)
    wavelength = np.arange(440.0, 761.0)
    end, end_width = (
        trade.value("light", "development_end"),
        trade.value("light", "development_end_width"),
    )
    weight = filter_passes(wavelength, passes, transmission)
    weight *= _logistic((end - wavelength) / end_width)
    around_sun = trade.value("light", "red_around_sun")
    return Band("development", wavelength, weight, around_sun=around_sun)


def filter_passes(
    wavelength_nm: Array, passes: float | Curve | None = None, transmission: float | None = None
) -> Array:
    """Return what a filter lets through by wavelength. [1].

    Parameters
    ----------
    wavelength_nm : NDArray[float64], shape (n,)
        [nm]
    passes, transmission : float or Curve or None, float or None
        As of `development_band`; None: the trade's. [nm, 1]
    """
    if passes is None:
        passes = trade.value("light", "filter_cut_on")
    if transmission is None:
        transmission = trade.value("light", "filter_transmission")
    if isinstance(passes, tuple):  # beyond its ends a spectrum goes on as it ends
        return spectrum_at(wavelength_nm, passes)
    width = trade.value("light", "filter_edge_width")
    return np.asarray(transmission * _logistic((wavelength_nm - passes) / width))


def daylight_share(band: Band, passes: Curve) -> float:
    """Return what a glass leaves of daylight in a band: 1 for none. [1].

    Daylight is the standard one, D65; what it lacks beyond 780 nm no band here looks at but the
    broad one.

    Parameters
    ----------
    band : Band
        The response.
    passes : Curve
        The glass: wavelengths and transmissions. [nm, 1]
    """
    weight = band.weight * spectrum_at(band.wavelength_nm, daylight())
    passed = spectrum_at(band.wavelength_nm, passes)
    whole = np.trapezoid(weight, band.wavelength_nm)
    return float(np.trapezoid(weight * passed, band.wavelength_nm) / whole)


@lru_cache(maxsize=1)
def daylight() -> Curve:
    """Return the standard daylight D65: wavelengths and relative power. [nm, any]."""
    columns = trade.table("illuminant_d65").columns
    return tuple(columns["wavelength_nm"].tolist()), tuple(columns["relative_power"].tolist())


def spectrum_at(wavelength_nm: Array, spectrum: Curve, outside: float | None = None) -> Array:
    """Return the values of a spectrum at some wavelengths, straight between its own.

    Parameters
    ----------
    wavelength_nm : NDArray[float64], shape (n,)
        [nm]
    spectrum : Curve
        Rising wavelengths, and values. [nm, any]
    outside : float or None
        What it has beyond its ends; None: it goes on as it ends.
    """
    at, value = (np.asarray(column, dtype=np.float64) for column in spectrum)
    return np.asarray(np.interp(wavelength_nm, at, value, left=outside, right=outside))


def lens_share(passes: Curve) -> float:
    """Return the exposure light that a lens passes, over that of a lens of clear glass. [1].

    As the transmissions of light.toml and the studio file state it: the reference is a lens that
    passes all from 400 nm on and nothing at 345 nm.

    Parameters
    ----------
    passes : Curve
        The lens: wavelengths and transmissions. [nm, 1]

    Examples
    --------
    >>> round(lens_share(((340.0, 345.0, 400.0, 480.0), (0.0, 0.0, 0.8, 0.8))), 6)
    0.8
    """
    wavelength = exposure_band().wavelength_nm
    bare = Band("bare plate", wavelength, plate_response(wavelength))
    return daylight_share(bare, passes) / daylight_share(bare, clear_lens())


def lux_per_watt(passes: float | Curve | None, transmission: float | None) -> float:
    """Return what a lux meter shows of daylight behind a filter, per W/m2 of development light.

    Parameters
    ----------
    passes, transmission : float or Curve or None, float or None
        The filter, as of `development_band`.
    """
    eye = luminous_band()
    seen = eye.weight * filter_passes(eye.wavelength_nm, passes, transmission)
    band = development_band(
        trade.value("light", "filter_cut_on") if passes is None else passes, transmission
    )
    lux, light = (
        np.trapezoid(weight * spectrum_at(at, daylight()), at)
        for at, weight in ((eye.wavelength_nm, seen), (band.wavelength_nm, band.weight))
    )
    return float(lux / light)


def clear_lens() -> Curve:
    """Return the reference lens of full transmission, as a spectrum. [nm, 1]."""
    ends = (trade.value("light", "lens_cut_start"), trade.value("light", "lens_cut_full"))
    return ends, (0.0, 1.0)


@lru_cache(maxsize=1)
def luminous_band() -> Band:
    """Return the eye's band; light in it comes out in lux (683 lm/W times V(lambda))."""
    columns = trade.table("cie_observer_1931").columns
    weight = LUMENS_PER_WATT * columns["y_bar"]
    around_sun = trade.value("light", "lux_around_sun")
    return Band("luminous", columns["wavelength_nm"], weight, around_sun=around_sun)


@lru_cache(maxsize=1)
def broad_band() -> Band:
    """Return the whole solar spectrum, 300 to 4000 nm: what a pyranometer reads."""
    wavelength = np.asarray(trade.arrays("sky_bands")["wavelength_nm"], dtype=np.float64)
    return Band("broadband", wavelength, np.ones_like(wavelength))


def band_weights(band: Band, grid_nm: Array) -> Array:
    """Return the weights that turn a spectrum on `grid_nm` into the band's integral.

    The spectrum is taken as straight between the grid's points and integrated with the band's own,
    finer, response by the trapezoid rule.

    Parameters
    ----------
    band : Band
        The band.
    grid_nm : NDArray[float64], shape (w,)
        The spectrum's wavelengths. [nm]

    Returns
    -------
    NDArray[float64], shape (w,)
        The integral is ``spectrum @ weights``. [nm, times the band's own unit]
    """
    wavelength = band.wavelength_nm
    step = np.gradient(wavelength)
    step[[0, -1]] = np.diff(wavelength)[[0, -1]] / 2  # trapezoid: half a step at both ends
    amount = band.weight * step
    index = np.clip(np.searchsorted(grid_nm, wavelength, side="right") - 1, 0, len(grid_nm) - 2)
    share = np.clip((wavelength - grid_nm[index]) / np.diff(grid_nm)[index], 0.0, 1.0)
    low = np.bincount(index, amount * (1.0 - share), minlength=len(grid_nm))
    high = np.bincount(index + 1, amount * share, minlength=len(grid_nm))
    return np.asarray(low + high)


def _lagrange(nodes: Array, at: Array) -> Array:
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


@lru_cache(maxsize=1)
def _heights() -> tuple[Array, Array]:
    """Fine grid of sun heights [deg], and the weights to it from the table's nodes.

    Below the horizon the weights are those of the horizon.
    """
    t = trade.arrays("sky_bands")
    fine, stretch = np.linspace(LOWEST_DEG, 90.0, STEPS + 1), t["elevation_stretch_deg"]
    over = np.log(np.maximum(fine, 0.0) + stretch)
    return fine, _lagrange(np.log(t["elevation_deg"] + stretch), over)


@lru_cache(maxsize=1)
def _twilight() -> Array:
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


def disc_in_sight(elevation_deg: Array) -> Array:
    """Return the share of the sun's disc that stands over a level horizon [1].

    Parameters
    ----------
    elevation_deg : NDArray[float64]
        Height of the sun's middle. [deg]
    """
    x = np.clip(elevation_deg / trade.value("light", "sun_radius"), -1.0, 1.0)
    return np.asarray(0.5 + (x * np.sqrt(1.0 - x * x) + np.arcsin(x)) / np.pi)


@lru_cache(maxsize=32)
def _spectra(atmosphere: Atmosphere) -> tuple[Array, Array]:
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


def _sums(band: Band, atmosphere: Atmosphere) -> tuple[Array, Array]:
    """Logarithms of a band's beam, and diffuse light over sine of height, at the table's nodes."""
    grid = np.asarray(trade.arrays("sky_bands")["wavelength_nm"], dtype=np.float64)
    weights = band_weights(band, grid)
    least = np.finfo(float).tiny
    beam, diffuse = (np.log(one @ weights + least) for one in _spectra(atmosphere))
    return beam, diffuse


@lru_cache(maxsize=256)
def _laid_out(band: Band, atmosphere: Atmosphere) -> tuple[Array, Array, float]:
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
    elevation_deg: Array, distance_factor: Array, band: Band, atmosphere: Atmosphere
) -> SkyLight:
    """Return the light of a clear sky in a band.

    Above 8 degrees of sun height the model is good to 10 to 20 %; below it to 30 % or worse [1, 2].
    How much faster red or violet fades at dusk than lux does is not known here.

    Parameters
    ----------
    elevation_deg : NDArray[float64], shape (n,)
        Apparent sun height, see `argentry.physics.sun.sun_path`. [deg]
    distance_factor : NDArray[float64], shape (n,)
        From the same. [1]
    band : Band
        One of the bands of this module, or your own.
    atmosphere : Atmosphere
        The air.

    Returns
    -------
    SkyLight
        Arrays of shape (n,); zero where the sun is 12 degrees or more below the horizon. [W/m2]
    """
    return clear_skies(elevation_deg, distance_factor, (band,), atmosphere)[band]


def clear_skies(
    elevation_deg: Array, distance_factor: Array, bands: Sequence[Band], atmosphere: Atmosphere
) -> dict[Band, SkyLight]:
    """Return the light of a clear sky in several bands at once, as `clear_sky` has them.

    Parameters
    ----------
    elevation_deg, distance_factor : NDArray[float64], shape (n,)
        From `argentry.physics.sun.sun_path`. [deg, 1]
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

    def at(values: Array) -> Array:
        low = values[index]
        return np.asarray((low + share * (values[index + 1] - low)) * factor)

    found = {}
    for band in bands:
        beam, diffuse, around_sun = _laid_out(band, atmosphere)
        per_beam = around_sun / distance_factor if around_sun else 0.0
        found[band] = SkyLight(at(beam), at(diffuse), per_beam)
    return found
