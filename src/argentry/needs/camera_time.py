"""Camera time: the light that a plate needs before the camera, and how long that takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.physics import exposure
from argentry.physics.dose import cumulative_j_m2, end_table, ends_of_days
from argentry.physics.stops import SHARES_80, even_draws, spread
from argentry.records.day import Range
from argentry.sky.light_doubt import light_doubt_stops
from argentry.sky.sunlight import STEP_S
from argentry.sky.weather.days import SEED

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.needs.camera import CameraValues

    Array = NDArray[np.float64]


def exposure_dose(camera: CameraValues) -> float:
    """Return the exposure light that a plate needs on the subject. [J/m2]."""
    return float(
        exposure.exposure_dose_j_m2(
            plate_speed_iso=camera.speed_iso,
            f_number=camera.f_number,
            magnification=camera.scale,
            transmission=camera.transmission,
            relative_coat_speed=camera.coat_speed,
            reflectance=camera.reflectance,
            mirror=camera.mirror,
        )
    )


def exposure_doses(camera: CameraValues, light_sigma_stops: float) -> Range:
    """Return the same with the range that doubts of plate and light make together. [J/m2].

    Parameters
    ----------
    camera : CameraValues
        Lens, plate and subject.
    light_sigma_stops : float
        How well the light is known, see `argentry.sky.light_doubt`. [stops]
    """
    sigma = float(np.hypot(camera.speed_sigma_stops, light_sigma_stops))
    return Range(*spread(exposure_dose(camera), sigma).tolist())


def camera_ends(days_w_m2: Array, camera: CameraValues, elevation_deg: Array) -> Array:
    """Return the middle of `camera_time` for a start at every minute, as ends. [min].

    Parameters
    ----------
    days_w_m2 : NDArray[float64], shape (k, m)
        The light under many skies as the day may bring. [W/m2]
    camera : CameraValues
        Lens, plate and subject.
    elevation_deg : NDArray[float64], shape (m,)
        Of the sun. [deg]

    Returns
    -------
    NDArray[float64], shape (m + 1,)
        NaN where the light ends first.
    """
    total, dose = cumulative_j_m2(days_w_m2, STEP_S), exposure_dose(camera)
    models = np.array([light_doubt_stops(float(e), haze_named=True) for e in elevation_deg])
    models = np.append(models, models[-1:])
    ends = np.full(models.shape, np.nan)
    for model in np.unique(models):
        sigma = float(np.hypot(camera.speed_sigma_stops, model))
        table = end_table(total, even_draws(dose, sigma, len(days_w_m2), SEED))
        ends = np.where(models == model, middle_end(table), ends)
    return ends


def middle_end(table: Array) -> Array:
    """Return the middle of ends by start, over the first axis; NaN where it never comes. [min]."""
    middle = np.quantile(np.where(np.isnan(table), np.inf, table), 0.5, axis=0, method="nearest")
    return np.asarray(np.where(np.isfinite(middle), middle, np.nan))


def camera_time(
    exposure_w_m2: Array,
    start_index: float,
    camera: CameraValues,
    *,
    elevation_deg: float,
    haze_named: bool,
    days_w_m2: Array | None = None,
) -> Range:
    """Return the seconds before the camera, infinite where the light ends first. [s].

    Parameters
    ----------
    exposure_w_m2 : NDArray[float64], shape (m,)
        The likely light on the subject, by minute. [W/m2]
    start_index : float
        When the lens is uncapped, in minutes of the light. [min]
    camera : CameraValues
        Lens, plate and subject.
    elevation_deg : float
        Of the sun then. [deg]
    haze_named : bool
        True when the haze was given.
    days_w_m2 : NDArray[float64], shape (k, m), or None
        The light under many skies as the day may bring, haze among what varies; None: a clear
        sky, whose doubt goes into the dose.
    """
    if days_w_m2 is None:
        known = light_doubt_stops(elevation_deg, haze_named=haze_named)
        doses = exposure_doses(camera, known)
        found = exposure.exposure_seconds(
            exposure_w_m2,
            STEP_S,
            np.array([doses.low, doses.middle, doses.high]),
            start_s=start_index * STEP_S,
            reciprocity_exponent=camera.exponent,
        )
        return Range(*(float(s) if np.isfinite(s) else float("inf") for s in found))
    model = light_doubt_stops(elevation_deg, haze_named=True)
    sigma = float(np.hypot(camera.speed_sigma_stops, model))
    draws = even_draws(exposure_dose(camera), sigma, len(days_w_m2), SEED)
    total = cumulative_j_m2(days_w_m2, STEP_S)
    waits = (ends_of_days(total, start_index, draws) - start_index) * STEP_S
    return Range(*(float(np.quantile(waits, share, method="nearest")) for share in SHARES_80))
