"""Camera time: the light that a plate needs before the camera, and how long that takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.needs.doubt.compose import weather_part
from argentry.needs.doubt.exposure import exposure_doubt, reciprocity_part
from argentry.physics.picture.dose import cumulative_j_m2, ends_of_days
from argentry.physics.picture.exposure import exposure_dose_j_m2
from argentry.physics.picture.reciprocity import exposure_end_table, exposure_seconds, lens_closes
from argentry.physics.stops import SHARES_80, even_draws, spread
from argentry.records.day import Range
from argentry.sky.light_doubt import light_doubt
from argentry.sky.sunlight import STEP_S
from argentry.sky.weather.days import SEED

if TYPE_CHECKING:
    from argentry.arrays import Floats
    from argentry.needs.camera import CameraValues
    from argentry.records.answers.doubt import Doubt, DoubtPart


SIGMAS = 4  # spreads of the dose for which a day's ends are worked out


@dataclass(frozen=True)
class CameraTime:
    """How long the lens is open.

    Attributes
    ----------
    seconds : Range
        Infinite where the light ends first. [s]
    doubt : Doubt
        What the range is made of.
    """

    seconds: Range
    doubt: Doubt


def exposure_dose(camera: CameraValues) -> float:
    """Return the exposure light that a plate needs on the subject. [J/m2]."""
    return float(
        exposure_dose_j_m2(
            plate_speed_iso=camera.speed_iso,
            f_number=camera.f_number,
            magnification=camera.scale,
            transmission=camera.transmission,
            relative_coat_speed=camera.coat_speed,
            reflectance=camera.reflectance,
            mirror=camera.mirror,
        )
    )


def subject_light(
    camera: CameraValues, elevation_deg: float, *, haze_named: bool, varied: bool
) -> tuple[DoubtPart, ...]:
    """Return what is not known of the light on the subject, beside what drawn skies vary.

    Parameters
    ----------
    camera : CameraValues
        Its plane.
    elevation_deg : float
        Of the sun. [deg]
    haze_named : bool
        True when the haze was given.
    varied : bool
        True when haze and cloud vary in skies that are drawn; else the sky is clear, or overcast
        for the plane of that name.
    """
    return light_doubt(
        elevation_deg,
        haze_named=haze_named or varied,
        under_cloud=1.0 if camera.plane == "overcast" and not varied else 0.0,
        plane="" if camera.place_known else camera.plane,
    )


def camera_ends(days_w_m2: Floats, camera: CameraValues, elevation_deg: Floats) -> Floats:
    """Return the middle of `camera_time` for a start at every minute, as ends. [min].

    Parameters
    ----------
    days_w_m2 : Floats, shape (k, m)
        The light under many skies as the day may bring. [W/m2]
    camera : CameraValues
        Lens, plate and subject.
    elevation_deg : Floats, shape (m,)
        Of the sun. [deg]

    Returns
    -------
    Floats, shape (m + 1,)
        NaN where the light ends first.
    """
    total, dose = cumulative_j_m2(days_w_m2, STEP_S), exposure_dose(camera)
    lights = (subject_light(camera, float(e), haze_named=True, varied=True) for e in elevation_deg)
    sigmas = np.array(
        [
            exposure_doubt(camera.doubts, light, scatter=camera.scatter).sigma_stops
            for light in lights
        ]
    )
    sigmas = np.append(sigmas, sigmas[-1:])
    # the middle hardly moves with the spread: the nearest of a few is near enough
    grid = np.linspace(sigmas.min(), sigmas.max(), SIGMAS)
    nearest = np.abs(sigmas[:, None] - grid).argmin(axis=1)
    ends = np.full(sigmas.shape, np.nan)
    for index in np.unique(nearest):
        draws = even_draws(dose, float(grid[index]), len(days_w_m2), SEED)
        table = exposure_end_table(total, draws, STEP_S, camera.law)
        ends = np.where(nearest == index, middle_end(table), ends)
    return ends


def middle_end(table: Floats) -> Floats:
    """Return the middle of ends by start, over the first axis; NaN where it never comes. [min]."""
    middle = np.quantile(np.where(np.isnan(table), np.inf, table), 0.5, axis=0, method="nearest")
    return np.asarray(np.where(np.isfinite(middle), middle, np.nan))


def camera_time(
    exposure_w_m2: Floats,
    start_index: float,
    camera: CameraValues,
    *,
    elevation_deg: float,
    haze_named: bool,
    days_w_m2: Floats | None = None,
) -> CameraTime:
    """Return the seconds before the camera.

    Parameters
    ----------
    exposure_w_m2 : Floats, shape (m,)
        The likely light on the subject, by minute. [W/m2]
    start_index : float
        When the lens is uncapped, in minutes of the light. [min]
    camera : CameraValues
        Lens, plate and subject.
    elevation_deg : float
        Of the sun then. [deg]
    haze_named : bool
        True when the haze was given.
    days_w_m2 : Floats, shape (k, m), or None
        The light under many skies as the day may bring, haze among what varies; None: a clear
        sky, whose doubt goes into the dose.
    """
    dose, varied = exposure_dose(camera), days_w_m2 is not None
    likely = _under_likely_sky(exposure_w_m2, start_index, camera, np.array([dose]))[0]
    longest = 60.0 * trade.value("exposure", "longest_exposure")
    open_s = float(likely) if np.isfinite(likely) else longest
    plate = (*camera.doubts, reciprocity_part(camera.law, open_s))
    light = subject_light(camera, elevation_deg, haze_named=haze_named, varied=varied)
    beside = exposure_doubt(plate, light, scatter=camera.scatter)
    if days_w_m2 is None:
        doses = spread(dose, beside.sigma_stops)
        found = _under_likely_sky(exposure_w_m2, start_index, camera, doses)
        low, middle, high = (float(s) if np.isfinite(s) else float("inf") for s in found)
        return CameraTime(Range(low, middle, high), beside)
    first = int(start_index)
    during = days_w_m2[:, first : max(first + 1, round(start_index + open_s / STEP_S))]
    doubt = exposure_doubt(plate, (*light, weather_part(during)), scatter=camera.scatter)
    draws = even_draws(dose, beside.sigma_stops, len(days_w_m2), SEED)
    total = cumulative_j_m2(days_w_m2, STEP_S)
    ends = lens_closes(
        lambda wanted: ends_of_days(total, start_index, wanted),
        draws, start_index, total.shape[-1] - 1.0, STEP_S, camera.law,
    )  # fmt: skip
    waits = (ends - start_index) * STEP_S
    low, middle, high = (float(np.quantile(waits, s, method="nearest")) for s in SHARES_80)
    return CameraTime(Range(low, middle, high), doubt)


def _under_likely_sky(
    exposure_w_m2: Floats, start_index: float, camera: CameraValues, doses: Floats
) -> Floats:
    return exposure_seconds(
        exposure_w_m2, STEP_S, doses, start_s=start_index * STEP_S, law=camera.law
    )
