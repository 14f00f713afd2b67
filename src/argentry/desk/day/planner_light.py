"""The light of the planned day, as the weather may turn it, in the form the planner takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.needs.camera import lens_transmission
from argentry.physics import (
    development,
    dose,
    exposure,
    film,
    lamp,
    light,
    sky,
    sun,
)
from argentry.plan.daylight import DayLight, Frames

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.records.studio import DevelopmentFrame, Studio
    from argentry.sky.place import Place
    from argentry.sky.sky_day import SkyDay
    from argentry.sky.weather.days import SkyDays

    Array = NDArray[np.float64]

MINUTE_S = 60.0


@dataclass(frozen=True)
class LitDay:
    """The day's light twice: as running sums for the planner, and plain for the sheet.

    Attributes
    ----------
    day : DayLight
        For the planner.
    elevation_deg : NDArray[float64], shape (m,)
        Apparent height of the sun by minute. [deg]
    exposure_w_m2, development_w_m2 : NDArray[float64], shape (k, m)
        Light by weather and minute; development behind the first frame's filter. [W/m2]
    violet_on_frame_j_m2 : float
        Exposure-band light that falls on the plane of the frame during a development at noon;
        what the filter must hold back. [J/m2]
    image_scale : float
        Magnification of the usual subject. [1]
    """

    day: DayLight
    elevation_deg: Array
    exposure_w_m2: Array
    development_w_m2: Array
    violet_on_frame_j_m2: float
    image_scale: float


def exposure_dose(studio: Studio) -> tuple[float, float]:
    """Return the dose of exposure light the plates need on the subject, and the image scale.

    Parameters
    ----------
    studio : Studio
        Lens, subject, plate speed and coat.

    Returns
    -------
    (float, float)
        Dose [J/m2] and magnification [1].
    """
    lens, subject, habits = studio.lenses[0], studio.subject, studio.habits
    scale = exposure.magnification(lens.focal_length_mm, subject.distance_m)
    speed = habits.plate_speed or trade.value("exposure", "plate_speed")
    coat = film.relative_coat_speed(
        habits.coat_nm,
        interlayer_nm=habits.interlayer_nm,
        interlayer_silver=habits.interlayer_silver,
    )
    needed = exposure.exposure_dose_j_m2(
        plate_speed_iso=speed,
        f_number=lens.f_number,
        magnification=scale,
        transmission=lens_transmission(lens),
        relative_coat_speed=float(coat),
        reflectance=subject.reflectance,
    )
    return float(needed), float(scale)


def filters_of(studio: Studio) -> tuple[tuple[float, float], ...]:
    """Return the red filters of a studio's frames, each once, the first frame's first. [nm, 1]."""
    return tuple(dict.fromkeys((f.cut_on_nm, f.transmission) for f in studio.frames))


def lit_day(studio: Studio, day: SkyDay, skies: SkyDays) -> LitDay:
    """Return the light of a day minute by minute under every weather it may have.

    Parameters
    ----------
    studio : Studio
        Lens, subject, frames and the maker's numbers.
    day : SkyDay
        Minutes of the day, with the filters of the studio's frames.
    skies : SkyDays
        The weathers.
    """
    # The middle day travels as one more weather, so that every band is computed once.
    beam = np.vstack([skies.middle_beam, skies.beam_share])
    level = np.vstack([skies.middle_global, skies.global_share])
    needed, scale = exposure_dose(studio)
    by_filter = {
        through: day.light(
            through, exposure_plane=studio.subject.plane, beam_share=beam, global_share=level
        )
        for through in filters_of(studio)
    }
    first = by_filter[filters_of(studio)[0]]
    seen = _until_last_sight(first, day.place)
    frames = tuple(
        _frames(
            studio, frame, by_filter[frame.cut_on_nm, frame.transmission].development_w_m2 * seen
        )
        for frame in studio.frames
    )
    facing = day.light(filters_of(studio)[0], beam_share=beam[0], global_share=level[0])
    sums = dose.cumulative_j_m2(first.exposure_w_m2, MINUTE_S)
    return LitDay(
        day=DayLight(
            exposure_middle=sums[0],
            exposure_days=sums[1:],
            exposure_dose=needed,
            longest_exposure=trade.value("exposure", "longest_exposure"),
            patience=trade.value("day", "exposure_patience"),
            frames=frames,
        ),
        elevation_deg=first.elevation_deg,
        exposure_w_m2=first.exposure_w_m2[1:],
        development_w_m2=first.development_w_m2[1:] * seen,
        violet_on_frame_j_m2=_violet(facing.exposure_w_m2 * seen, frames),
        image_scale=scale,
    )


def _until_last_sight(series: light.LightSeries, place: Place) -> Array:
    """Return 1 up to the sun's last sight over the skyline and 0 after it, shape (m,).

    A frame is not left out for the glow after sunset: what it adds is little and not to be
    relied on, so the plan does not count it.
    """
    skyline = sun.horizon_elevation_deg(series.azimuth_deg, place.horizon)
    over = np.flatnonzero(series.elevation_deg > skyline)
    seen = np.zeros(series.elevation_deg.shape)
    if over.size:
        seen[: over[-1] + 1] = 1.0
    return seen


def _frames(studio: Studio, frame: DevelopmentFrame, sun_w_m2: Array) -> Frames:
    behind = sun_w_m2
    if frame.lamp is not None:
        band = sky.development_band(frame.cut_on_nm, frame.transmission)
        bulb = frame.lamp
        steady = lamp.lamp_light_w_m2(
            bulb.power_w, bulb.distance_m, bulb.kind, band.wavelength_nm, band.weight
        )
        behind = np.full_like(sun_w_m2, steady)
    sums = dose.cumulative_j_m2(behind, MINUTE_S)
    return Frames(
        name=frame.name,
        count=frame.count,
        middle=sums[0],
        days=sums[1:],
        dose=development.development_dose_j_m2(studio.habits.development_dose_kj_m2),
        dose_log_sd=trade.value("development", "dose_sigma") * float(np.log(2.0)),
        lamp=frame.lamp is not None,
    )


def _violet(exposure_w_m2: Array, frames: tuple[Frames, ...]) -> float:
    """Return the violet that meets a frame in the sun while the middle plate develops [J/m2]."""
    sunlit = [f for f in frames if not f.lamp]
    if not sunlit:
        return 0.0
    noon = int(np.argmax(exposure_w_m2))
    ends = dose.end_table(sunlit[0].middle, sunlit[0].dose)
    begun = ends[: noon + 1]
    known = np.flatnonzero(np.isfinite(begun))
    if not known.size:
        return float(exposure_w_m2.sum() * MINUTE_S)
    start = int(known[-1])
    return float(exposure_w_m2[start : int(ends[start]) + 1].sum() * MINUTE_S)
