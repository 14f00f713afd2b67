"""The light that each plate of the book had: before the camera, and under the red filter.

By the day's physics at the place, cloud and meter as they were written down. Plates are calculated
together, by the plane the light fell on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import chain
from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.stages.derived_conditions import number, value_of
from argentry.needs.camera import Camera, CameraValues, camera_values
from argentry.needs.camera_time import exposure_dose
from argentry.needs.development_time import development_dose
from argentry.needs.doubt.development import (
    development_doubt,
    fading_sigma_stops,
    red_light_doubt,
)
from argentry.needs.doubt.exposure import exposure_doubt, reciprocity_part
from argentry.needs.numbers import dose_sigma_stops
from argentry.physics.lights import meter
from argentry.physics.lights.cloud import beam_at_okta, middle_global_share
from argentry.physics.lights.light import PLANES, LightSeries
from argentry.physics.picture.development import development_dose_j_m2, fading_stops
from argentry.physics.stops import spread
from argentry.records.answers.doubt import DoubtPart, together
from argentry.records.day import Range
from argentry.records.instruments import LAMP_FRAME
from argentry.sky.clear_day import frame_of
from argentry.sky.light_doubt import light_doubt
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Times
    from argentry.records.instruments import DevelopmentFrame
    from argentry.records.plate import Making
    from argentry.records.studio import Studio
    from argentry.sky.sky_day import Filter


LIGHT = "light counted"
SAMPLES = 8  # moments of an exposure at which the light is calculated
EVERY_MINUTES = 10.0  # and of a development
LONGEST_MINUTES = 24 * 60.0


@dataclass(frozen=True)
class Shot:
    """One exposure.

    Attributes
    ----------
    making : Making
        Of the plate.
    start : datetime
        UTC.
    seconds : float
        [s]
    plane : str
        Plane the light fell on.
    dose_j_m2 : float
        Exposure light on the subject. [J/m2]
    light_sd : float
        How well it is known. [stops]
    elevation_deg : float
        Of the sun, half way. [deg]
    """

    making: Making
    start: datetime
    seconds: float
    plane: str
    dose_j_m2: float
    light_sd: float
    elevation_deg: float


@dataclass(frozen=True)
class Ripened:
    """One development in the sun.

    Attributes
    ----------
    making : Making
        Of the plate.
    minutes : float
        [min]
    dose_kj_m2 : float
        Development light behind the filter. [kJ/m2]
    light_sd : float
        How well it is known. [stops]
    """

    making: Making
    minutes: float
    dose_kj_m2: float
    light_sd: float


def number_of(making: Making, column: str) -> float | None:
    """Return a condition when it is a finite number, else None."""
    return number(making.conditions, column)


def moment_of(making: Making, column: str) -> datetime | None:
    """Return a condition when it is a time with its offset, UTC, else None."""
    value = making.conditions.get(column)
    if not isinstance(value, str):
        return None
    try:
        moment = datetime.fromisoformat(value)
    except ValueError:
        return None
    if moment.tzinfo is None or not 1900 <= moment.year <= 2200:
        return None
    return moment.astimezone(UTC)


def shots(studio: Studio, makings: Sequence[Making]) -> tuple[Shot, ...]:
    """Return the exposures of which start and length are known, with their light."""
    found: list[Shot] = []
    for plane in PLANES:
        rows = []
        for one in makings:
            start, seconds = moment_of(one, "exposure_start"), number_of(one, "exposure_seconds")
            own = one.conditions.get("subject_plane", studio.subject.plane)
            if start is not None and seconds is not None and 0.0 < seconds <= 1e5 and own == plane:
                rows.append((one, start, seconds))
        if rows:
            found += _shots(studio, plane, rows)
    return tuple(sorted(found, key=lambda s: (s.start, s.making.id)))


def _shots(
    studio: Studio, plane: str, rows: Sequence[tuple[Making, datetime, float]]
) -> list[Shot]:
    through = (np.arange(SAMPLES) + 0.5) / SAMPLES
    starts = np.array([_stamp(start) for _, start, _ in rows])
    seconds = np.array([length for _, _, length in rows])
    times = starts[:, None] + (1e3 * seconds[:, None] * through).astype("timedelta64[ms]")
    okta = np.array([_value(one, "cloud_okta", 0.0, 8.0) for one, _, _ in rows])
    series = _series(studio, plane, times, okta, studio.frames[0].through)
    metered = np.array([_lux(one) for one, _, _ in rows])
    model = series.illuminance_lux.reshape(times.shape)[:, 0]
    share = np.divide(metered, model, out=np.ones_like(model), where=(model > 0) & (metered > 0))
    known = np.isfinite(share) & (metered > 0) & (model > 0)
    share = np.where(known, share, 1.0)
    dose = series.exposure_w_m2.reshape(times.shape).mean(axis=1) * seconds * share
    height = series.elevation_deg.reshape(times.shape)[:, SAMPLES // 2]
    haze = studio.site.haze_aod is not None
    # what is wrong with the studio's usual place is found with its speed
    other_place = "" if plane == studio.subject.plane else plane
    out = []
    for i, (one, start, length) in enumerate(rows):
        if dose[i] <= 0.0 or height[i] <= 0.0:
            continue
        sd = _doubt(
            float(height[i]), float(okta[i]), metered=bool(known[i]), haze=haze, plane=other_place
        )
        sd = float(np.hypot(sd, fading_sigma_stops(waited_min(one))))
        out.append(Shot(one, start, length, plane, float(dose[i]), sd, float(height[i])))
    return out


def _doubt(elevation_deg: float, okta: float, *, metered: bool, haze: bool, plane: str) -> float:
    share = _cloud_share(okta)
    return together(
        light_doubt(elevation_deg, haze_named=haze, under_cloud=share, plane=plane, metered=metered)
    )


def _cloud_share(okta: float) -> float:
    """Return the share of the beam that cloud takes, as far as it was written down. [1]."""
    if np.isnan(okta):
        return trade.value("decide", "unknown_cloud_share")
    return 1.0 - float(beam_at_okta(okta))


def waited_min(one: Making) -> float:
    """Return how long a plate waited from camera to frame; 0 where nobody wrote it down. [min]."""
    waited = _value(one, "exposure_to_development_minutes", 0.0, 10000.0)
    return 0.0 if np.isnan(waited) else waited


def _put_out(one: Making) -> datetime | None:
    """Return when a plate was put out: as written down, else its wait after the exposure."""
    exposed, seconds = moment_of(one, "exposure_start"), number_of(one, "exposure_seconds")
    waited = _value(one, "exposure_to_development_minutes", 0.0, 10000.0)
    given = moment_of(one, "development_start")
    if given is not None or exposed is None or seconds is None or np.isnan(waited):
        return given
    return exposed + timedelta(seconds=seconds, minutes=waited)


def kept_share(one: Making) -> float:
    """Return how much more light a plate needs than one that was put out at once. [1]."""
    return float(development_dose_j_m2(1.0, -fading_stops(waited_min(one))) / 1000.0)


def _lux(one: Making) -> float:
    ev = _value(one, "meter_ev", -6.0, 20.0)
    return float("nan") if np.isnan(ev) else meter.ev_to_lux(ev)


def _value(one: Making, column: str, low: float, high: float) -> float:
    value = number_of(one, column)
    return value if value is not None and low <= value <= high else float("nan")


def _series(studio: Studio, plane: str, times: Times, okta: Floats, through: Filter) -> LightSeries:
    cloud = np.repeat(np.where(np.isnan(okta), 0.0, okta), times.shape[1])
    day = sky_day(resolve_place(studio), times.ravel(), (through,))
    # the middle and not the mean, as strays from it are counted in stops
    beam, level = beam_at_okta(cloud.ravel()), middle_global_share(cloud)
    return day.light(through, exposure_plane=plane, beam_share=beam, global_share=level.ravel())


def _stamp(moment: datetime) -> np.datetime64:
    return np.datetime64(moment.astimezone(UTC).replace(tzinfo=None), "ms")


def ripenings(studio: Studio, makings: Sequence[Making]) -> tuple[Ripened, ...]:
    """Return the developments in the sun of which start and length are known, with their dose.

    Parameters
    ----------
    studio : Studio
        Place, skyline, frames; plates under a lamp are left out.
    makings : sequence of Making
        Plates, each in the frame whose name it has, else in the first.
    """
    by_filter: dict[Filter, list[tuple[Making, datetime, float]]] = {}
    for one in makings:
        start, minutes = _put_out(one), value_of("development_minutes", one.conditions)
        frame = sun_frame(studio, one)
        if start is None or minutes is None or not 0.0 < minutes <= LONGEST_MINUTES:
            continue
        if frame is not None:
            by_filter.setdefault(frame.through, []).append((one, start, minutes))
    found = (_ripened(studio, through, rows) for through, rows in by_filter.items())
    return tuple(chain.from_iterable(found))


def sun_frame(studio: Studio, making: Making) -> DevelopmentFrame | None:
    """Return the frame a plate lay in in the sun: the one it names, else the studio's first.

    None under a lamp, also under one that the studio had for that day alone.
    """
    name = str(making.conditions.get("frame", ""))
    frame = frame_of(studio, name)
    return None if name == LAMP_FRAME or frame.lamp is not None else frame


def _ripened(
    studio: Studio, through: Filter, rows: Sequence[tuple[Making, datetime, float]]
) -> list[Ripened]:
    steps = [max(1, round(minutes / EVERY_MINUTES)) for _, _, minutes in rows]
    moments = [
        _stamp(start + timedelta(minutes=minutes * (k + 0.5) / count))
        for (_, start, minutes), count in zip(rows, steps, strict=True)
        for k in range(count)
    ]
    okta = np.repeat(np.array([_value(one, "cloud_okta", 0.0, 8.0) for one, _, _ in rows]), steps)
    series = _series(studio, "sun", np.array(moments)[:, None], okta, through)
    ends = np.cumsum(steps)
    haze = studio.site.haze_aod is not None
    out = []
    for (one, _, minutes), end, count in zip(rows, ends, steps, strict=True):
        mean = float(series.development_w_m2[end - count : end].mean())
        if mean > 0.0:
            clear = together(
                red_light_doubt(float(series.elevation_deg[end - count]), haze_named=haze)
            )
            cloud = trade.value("light", "overcast_sigma") * _cloud_share(float(okta[end - 1]))
            dose = mean * minutes * 60.0 / 1000.0 / kept_share(one)
            out.append(Ripened(one, minutes, dose, hypot(clear, cloud)))
    return out


def dose_needed(
    studio: Studio, shot: Shot, coat_nm: float | None, speed_iso: float
) -> float | None:
    """Return the exposure light that a plate of this coat needs at some speed. [J/m2].

    Exposed as long as it was, by the studio's exponent, and with what its image lost before it was
    developed.

    Parameters
    ----------
    studio : Studio
        Lens and subject, where the plate's own are not written down.
    shot : Shot
        The exposure.
    coat_nm : float or None
        Thickness of its coat; None: what the studio aims at. [nm]
    speed_iso : float
        [ISO]

    Returns
    -------
    float or None
        None where lens or coat cannot be.
    """
    camera = _camera(studio, shot, coat_nm, speed_iso)
    return None if camera is None else _needed(camera, shot)


def exposure_range(studio: Studio, shot: Shot, coat_nm: float | None) -> Range | None:
    """Return the exposure light that four such plates in five need, by the studio's own speed.

    Parameters
    ----------
    studio : Studio
        With its own numbers in place.
    shot, coat_nm
        As in `dose_needed`.

    Returns
    -------
    Range or None
        With the doubt of the light that was counted; None as in `dose_needed`. [J/m2]
    """
    camera = _camera(studio, shot, coat_nm, None)
    if camera is None:
        return None
    plate = (*camera.doubts, reciprocity_part(camera.law, shot.seconds))
    light = (DoubtPart(LIGHT, shot.light_sd),)
    doubt = exposure_doubt(plate, light, scatter=camera.scatter)
    return Range(*spread(_needed(camera, shot), doubt.sigma_stops).tolist())


def development_range(studio: Studio, ripe: Ripened) -> Range:
    """Return the light behind the filter with which four such plates in five are ripe. [J/m2].

    Parameters
    ----------
    studio : Studio
        With its own numbers in place.
    ripe : Ripened
        The development; how well its light is known is in the range.
    """
    habits = studio.habits
    light = (DoubtPart(LIGHT, ripe.light_sd),)
    doubt = development_doubt(dose_sigma_stops(habits), light, habits.strayed("development"))
    return development_dose(habits, sigma_stops=doubt.sigma_stops)


def _camera(
    studio: Studio, shot: Shot, coat_nm: float | None, speed_iso: float | None
) -> CameraValues | None:
    named = shot.making.conditions.get("lens")
    known = {lens.name for lens in studio.lenses}
    thickness = studio.habits.coat_nm if coat_nm is None else coat_nm
    asked = Camera(
        lens=named if named in known else None,
        f_number=number_of(shot.making, "f_number") or None,
        coat_nm=max(thickness, trade.value("exposure", "thinnest_useful_coat")),
        speed_iso=speed_iso,
        plane=shot.plane,
    )
    try:
        return camera_values(asked, studio)
    except BadInput:
        return None


def _needed(camera: CameraValues, shot: Shot) -> float:
    dose = exposure_dose(camera) * float(camera.law.need(shot.seconds))
    return float(dose * 2.0 ** fading_stops(waited_min(shot.making)))
