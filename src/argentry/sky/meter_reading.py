"""A light meter's reading, and what it means for the plate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry.errors import BadInput, check_range
from argentry.physics.lights import meter
from argentry.physics.lights.light import LightSeries
from argentry.physics.lights.sky import Atmosphere
from argentry.records.answers.light import MeterMeans


@dataclass(frozen=True)
class MeterReading:
    """A meter's reading: at most one of the three.

    Attributes
    ----------
    lux : float or None
        Held in the plane, facing as the subject does. [lx]
    ev : float or None
        Exposure value at ISO 100, incident, or off a grey card. [EV]
    ghi_w_m2 : float or None
        A pyranometer's, on level ground. [W/m2]
    """

    lux: float | None = None
    ev: float | None = None
    ghi_w_m2: float | None = None

    def given(self) -> list[str]:
        """Return the options that were given."""
        named = (("--lux", self.lux), ("--ev", self.ev), ("--ghi", self.ghi_w_m2))
        return [option for option, value in named if value is not None]


def metered(
    reading: MeterReading,
    series: LightSeries,
    plane: str,
    air: Atmosphere,
    lens: float,
    *,
    weather: bool,
) -> MeterMeans:
    """Return what a reading means for the plate, under the sky of the series.

    Parameters
    ----------
    reading : MeterReading
        With one of the three given.
    series : LightSeries
        The light calculated for that one time.
    plane : str
        Plane of the reading and of the exposure light.
    air : Atmosphere
        The air.
    lens : float
        Lens transmission in the violet. [1]
    weather : bool
        Whether the series took its clouds from a file.

    Raises
    ------
    BadInput
        For two readings, a span, a reading at night or an impossible one.
    """
    given = reading.given()
    if len(given) > 1:
        raise BadInput(given[1], "{given} is given too", "give one reading", given=given[0])
    option = given[0]
    if series.elevation_deg.size > 1:
        raise BadInput(option, "a reading belongs to one time", "give --at instead of a span")
    height = series.elevation_deg
    if height[0] <= 0.0:
        raise BadInput(option, "the sun is down then", "give a time in daylight with --at")
    value, unit, read = _checked(reading, option)
    pyranometer = reading.ghi_w_m2 is not None
    model = float((series.ghi_w_m2 if pyranometer else series.illuminance_lux)[0])
    if plane == "overcast" and not weather:
        convert = meter.actinic_from_ghi if pyranometer else meter.actinic_from_lux
        meant = convert(read, height, plane, air, lens)
        actinic, correction = float(meant.actinic_w_m2[0]), float(meant.correction_stops[0])
    else:  # what this sky's violet is to this sky's reading, skyline and clouds included
        actinic = read * float(series.exposure_w_m2[0]) / model
        kind = "broadband" if pyranometer else "luminous"
        correction = float(meter.correction_stops(series.exposure_w_m2, np.array(model), kind)[0])
    return MeterMeans(
        option=option,
        reading=value,
        unit=unit,
        lux=None if pyranometer else read,
        actinic_w_m2=actinic,
        correction_stops=correction,
        overstates=2.0**-correction,
        share_of_model=read / model,
    )


def _checked(reading: MeterReading, option: str) -> tuple[float, str, float]:
    """Return the reading as given, its unit, and the reading in lux or W/m2."""
    if reading.ghi_w_m2 is not None:
        value = check_range(option, reading.ghi_w_m2, 0.0, 1600.0, "W/m2")
        return value, "W/m2", value
    if reading.ev is not None:
        value = check_range(option, reading.ev, -6.0, 20.0, "EV")
        return value, "EV", meter.ev_to_lux(value)
    assert reading.lux is not None
    value = check_range(option, reading.lux, 0.0, 200_000.0, "lx")
    return value, "lx", value
