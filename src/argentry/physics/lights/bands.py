"""What answers to light, by wavelength: the plate behind its lens, the development, the eye.

A band is a response with all that stands before it: lens, filter, window.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range
from argentry.trade.spectra import Curve

LUMENS_PER_WATT = 683.0  # SI definition of the candela, at 555 nm


@dataclass(frozen=True, eq=False)
class Band:
    """A response to light by wavelength; two of the same response are one key of a clear sky.

    Attributes
    ----------
    name : str
        For messages.
    wavelength_nm : Floats, shape (m,)
        Rising. [nm]
    weight : Floats, shape (m,)
        Response, transmissions included [1], or lumens per watt for `luminous_band`.
    diffuse_factor : float
        What the model's diffuse light is multiplied with in this band. [1]
    around_sun : float
        Share of the diffuse light that would come from around the sun if the air took nothing from
        the beam; 0 for an even sky. [1]
    """

    name: str
    wavelength_nm: Floats
    weight: Floats
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


def _logistic(x: Floats) -> Floats:
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * x))  # the same curve, and never too large


def plate_response(wavelength_nm: Floats) -> Floats:
    """Return the relative response of silver iodide to light: an edge near 430 nm."""
    edge = trade.value("light", "silver_iodide_edge")
    width = trade.value("light", "silver_iodide_edge_width")
    return _logistic((edge - np.asarray(wavelength_nm)) / width)


@lru_cache
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


@lru_cache
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
    wavelength_nm: Floats, passes: float | Curve | None = None, transmission: float | None = None
) -> Floats:
    """Return what a filter lets through by wavelength. [1].

    Parameters
    ----------
    wavelength_nm : Floats, shape (n,)
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


@cache
def daylight() -> Curve:
    """Return the standard daylight D65: wavelengths and relative power. [nm, any]."""
    columns = trade.table("illuminant_d65").columns
    return tuple(columns["wavelength_nm"].tolist()), tuple(columns["relative_power"].tolist())


def spectrum_at(wavelength_nm: Floats, spectrum: Curve, outside: float | None = None) -> Floats:
    """Return the values of a spectrum at some wavelengths, straight between its own.

    Parameters
    ----------
    wavelength_nm : Floats, shape (n,)
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


@cache
def luminous_band() -> Band:
    """Return the eye's band; light in it comes out in lux (683 lm/W times V(lambda))."""
    columns = trade.table("cie_observer_1931").columns
    weight = LUMENS_PER_WATT * columns["y_bar"]
    around_sun = trade.value("light", "lux_around_sun")
    return Band("luminous", columns["wavelength_nm"], weight, around_sun=around_sun)


@cache
def broad_band() -> Band:
    """Return the whole solar spectrum, 300 to 4000 nm: what a pyranometer reads."""
    wavelength = np.asarray(trade.arrays("sky_bands")["wavelength_nm"], dtype=np.float64)
    return Band("broadband", wavelength, np.ones_like(wavelength))


def band_weights(band: Band, grid_nm: Floats) -> Floats:
    """Return the weights that turn a spectrum on `grid_nm` into the band's integral.

    The spectrum is taken as straight between the grid's points and integrated with the band's own,
    finer, response by the trapezoid rule.

    Parameters
    ----------
    band : Band
        The band.
    grid_nm : Floats, shape (w,)
        The spectrum's wavelengths. [nm]

    Returns
    -------
    Floats, shape (w,)
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
