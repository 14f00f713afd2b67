"""From a meter's reading to the light the plate sees, with the correction in stops.

Light meters answer to the eye's band or to the whole spectrum; the plate answers to violet. Violet
falls much faster than visible light as the sun sinks, and the blue sky is rich in it. One reading
therefore means different exposure light at different sun heights and in shade.

References
----------
.. [1] ISO 2720:1974, photographic exposure meters: N^2 / t = E S / C (incident),
   N^2 / t = L S / K (reflected).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.physics.lights.bands import (
    Band,
    broad_band,
    daylight,
    development_band,
    exposure_band,
    luminous_band,
    spectrum_at,
)
from argentry.physics.lights.light import cloud_exponent, clouded, on_plane
from argentry.physics.lights.sky import Atmosphere, clear_sky
from argentry.trade.spectra import Curve


@dataclass(frozen=True)
class Metered:
    """What a reading means for the plate.

    Attributes
    ----------
    actinic_w_m2 : Floats
        Light in the exposure band on the metered plane, behind the lens's glass. [W/m2]
    correction_stops : Floats
        How much more the plate gets than the meter believes, against sun and sky at 60 degrees;
        negative when the meter overstates the light. Time for the plate is the meter's time times
        2^-correction. [stops]
    """

    actinic_w_m2: Floats
    correction_stops: Floats

    @property
    def overstates(self) -> Floats:
        """Factor by which the meter overstates the exposure light: 2^-correction."""
        return np.asarray(2.0**-self.correction_stops)


def ev_to_lux(ev: float, iso: float = 100.0) -> float:
    """Return the illuminance of an incident reading in lux: E = C 2^EV / S [1].

    A reflected reading off an 18 % grey card is within a quarter of a stop of it.

    >>> ev_to_lux(15)
    81920.0
    """
    check_range("exposure value", ev, -6.0, 24.0, "EV")
    check_range("ISO", iso, 0.00001, 1e6, "ISO")
    return float(trade.value("light", "incident_constant") * 2.0**ev / iso)


def actinic_from_lux(
    lux: Floats | float,
    elevation_deg: Floats | float,
    plane: str = "sun",
    atmosphere: Atmosphere | None = None,
    lens_transmission: float | None = None,
) -> Metered:
    """Return the exposure light that goes with a lux reading on a plane.

    Parameters
    ----------
    lux : Floats or float
        Reading of a meter held in the plane, facing as the subject does. [lx]
    elevation_deg : Floats or float
        Sun height, above 0. [deg]
    plane : str
        One of `argentry.physics.lights.light.PLANES`.
    atmosphere : Atmosphere or None
        The air; None: the trade's usual air at sea level.
    lens_transmission : float or None
        Lens in the violet; None: the trade's value. [1]

    Returns
    -------
    Metered
        Of the shape of the inputs together. The correction is against the trade's usual lens, so a
        lens that passes less violet shows as a meter that overstates.

    Raises
    ------
    BadInput
        If the sun is not up or a reading is negative or not a number.
    """
    return _convert(lux, elevation_deg, plane, atmosphere, lens_transmission, luminous_band())


def actinic_from_ghi(
    ghi_w_m2: Floats | float,
    elevation_deg: Floats | float,
    plane: str = "sun",
    atmosphere: Atmosphere | None = None,
    lens_transmission: float | None = None,
) -> Metered:
    """Return the exposure light on a plane that goes with a pyranometer's reading on level ground.

    Parameters and result as `actinic_from_lux`, the reading in W/m2 on a level plane.

    Raises
    ------
    BadInput
        If the sun is not up or a reading is negative or not a number.
    """
    return _convert(ghi_w_m2, elevation_deg, plane, atmosphere, lens_transmission, broad_band())


def _convert(
    reading: Floats | float,
    elevation_deg: Floats | float,
    plane: str,
    atmosphere: Atmosphere | None,
    lens_transmission: float | None,
    meter: Band,
) -> Metered:
    value = np.asarray(reading, dtype=np.float64)
    height = np.asarray(elevation_deg, dtype=np.float64)
    if not (np.isfinite(value) & (value >= 0.0)).all():
        raise BadInput("meter reading", "it is negative or not a number", "give a number from 0")
    if not (height > 0.0).all():
        raise BadInput("meter reading", "the sun is not up", "take the reading in daylight")
    air = Atmosphere() if atmosphere is None else atmosphere
    violet = exposure_band(lens_transmission)
    wanted, read = _clear(violet, height, plane, air), _clear_reading(meter, height, plane, air)
    per_reading = wanted / read
    if plane == "overcast":
        # Under cloud the violet share falls less than the meter's: see cloud_exponent.
        share = np.where(value > 0.0, value / read, 1.0)
        per_reading = per_reading * np.power(share, cloud_exponent(height) - 1.0)
    return Metered(
        np.asarray(per_reading * value), correction_stops(per_reading, np.ones(()), meter.name)
    )


def correction_stops(actinic_w_m2: Floats, reading: Floats, meter: str = "luminous") -> Floats:
    """Return how much more the plate gets than a meter believes, against sun and sky at 60 degrees.

    Parameters
    ----------
    actinic_w_m2, reading : Floats
        Exposure light and the reading that goes with it. [W/m2; lx or W/m2]
    meter : str
        ``"luminous"`` for lux and EV, ``"broadband"`` for a pyranometer.

    Returns
    -------
    Floats
        log2 of their ratio over the ratio agreed on at 60 degrees; NaN without light. [stops]
    """
    band = luminous_band() if meter == "luminous" else broad_band()
    return np.asarray(-more_stops(actinic_w_m2, reading, exposure_band(), band))


@lru_cache
def agreed(light: Band, meter: Band) -> float:
    """Return the light over a meter's reading at the height of sun at which the two agree.

    Parameters
    ----------
    light, meter : Band
        The light, and the meter's response.
    """
    high = np.array(trade.value("light", "meter_reference_elevation"))
    usual = Atmosphere()
    return float(_clear(light, high, "sun", usual) / _clear_reading(meter, high, "sun", usual))


@lru_cache
def response_band(response: Curve) -> Band:
    """Return the band of a meter whose response by wavelength is known.

    How much of its sky comes from around the sun lies between that of violet, lux and red, by the
    middle wavelength of what it sees.

    Parameters
    ----------
    response : Curve
        Wavelengths, and response per watt in any unit. [nm, any]
    """
    wavelength = np.arange(np.ceil(response[0][0]), response[0][-1] + 0.5)
    even = Band("meter", wavelength, spectrum_at(wavelength, response))
    known = (
        exposure_band(),
        luminous_band(),
        development_band(trade.value("light", "filter_cut_on")),
    )
    around_sun = np.interp(
        middle_nm(even), [middle_nm(one) for one in known], [one.around_sun for one in known]
    )
    return replace(even, around_sun=float(around_sun))


def middle_nm(band: Band) -> float:
    """Return the mean wavelength of what a band sees of daylight. [nm]."""
    seen = band.weight * spectrum_at(band.wavelength_nm, daylight())
    whole = np.trapezoid(seen, band.wavelength_nm)
    return float(np.trapezoid(seen * band.wavelength_nm, band.wavelength_nm) / whole)


def more_stops(light_w_m2: Floats, reading: Floats, light: Band, meter: Band) -> Floats:
    """Return the stops to give more than a meter says, so that a light comes out right.

    Parameters
    ----------
    light_w_m2, reading : Floats
        The light, and what the meter makes of it. [W/m2, any unit of `meter`]
    light, meter : Band
        Their bands.

    Returns
    -------
    Floats
        log2 of the ratio agreed on over theirs; NaN without light. [stops]
    """
    given, read = np.broadcast_arrays(light_w_m2, reading)
    lit = (given > 0.0) & (read > 0.0)
    ratio = np.divide(given, read, out=np.full(given.shape, np.nan), where=lit)
    return np.asarray(-np.log2(ratio / agreed(light, meter)))


def meter_ev(reading: Floats, meter: Band) -> Floats:
    """Return what a meter shows in EV at ISO 100, set to agree with a lux meter in the high sun.

    Parameters
    ----------
    reading : Floats
        In the unit of `meter`.
    meter : Band
        Its response.
    """
    lux = reading * agreed(luminous_band(), meter)
    with np.errstate(divide="ignore"):  # no light is no EV at all: minus infinity
        return np.asarray(np.log2(100.0 * lux / trade.value("light", "incident_constant")))


def _clear(band: Band, height: Floats, plane: str, air: Atmosphere) -> Floats:
    sky = clear_sky(height, np.ones_like(height), band, air)
    if plane == "overcast":  # as much light as the clear sky's, all of it diffuse
        sky = clouded(sky, height, 0.0, 1.0, violet=False)
    pane = None if band.name == "exposure" else trade.value("light", "window_pane_visible")
    return on_plane(sky, height, plane, albedo=air.albedo, pane=pane)


def _clear_reading(meter: Band, height: Floats, plane: str, air: Atmosphere) -> Floats:
    """Light of the clear sky where the meter is: in the plane for lux, level for a pyranometer."""
    return _clear(meter, height, "horizontal" if meter.name == "broadband" else plane, air)
