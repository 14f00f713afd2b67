"""How long before the camera, and how still the sitter must be."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from argentry import trade
from argentry.needs.camera import PLATE_SPEED, Camera, CameraValues, camera_values
from argentry.needs.camera_time import camera_time, exposure_dose
from argentry.needs.numbers import numbers_in_use
from argentry.physics.picture import exposure, stillness
from argentry.physics.stops import spread, strip_stops, third_stop
from argentry.records.answers.expose import ExposeAnswer, PoseBlur, StepTest, StopsByCause
from argentry.records.needs import StudioNow
from argentry.records.weather import NO_OUTLOOK, Outlook, Weather
from argentry.sky.place import Place, to_local
from argentry.sky.sunlight import Sunlight, sunlight

NO_STUDIO = StudioNow()


def expose(
    place: Place,
    moment_utc: datetime,
    camera: Camera,
    now: StudioNow = NO_STUDIO,
    weather: Weather | None = None,
    where: str = "--at",
    outlook: Outlook = NO_OUTLOOK,
) -> ExposeAnswer:
    """Return minutes before the camera with their range, and what they ask of the sitter.

    Parameters
    ----------
    place : Place
        Where.
    moment_utc : datetime
        When the lens is uncapped, UTC.
    camera : Camera
        Lens, plate and subject.
    now : StudioNow
        Its studio fills up what `camera` leaves open.
    weather : Weather or None
        None means a clear sky, said so.
    where : str
        Name of the option that gave the moment.
    outlook : Outlook
        The same weather with what else is known of the sky; `weather` goes before it.

    Raises
    ------
    BadInput
        If a value is impossible, or there is no light then.
    """
    asked = camera_values(camera, now.studio)
    light = sunlight(where, place, moment_utc, plane=asked.plane, weather=weather, outlook=outlook)
    start = light.start_index
    elevation = float(light.series.elevation_deg[start])
    found = camera_time(
        light.series.exposure_w_m2,
        float(start),
        asked,
        elevation_deg=elevation,
        haze_named=place.haze_aod is not None,
        days_w_m2=None if light.days is None else light.days.exposure_w_m2,
    )
    needed = found.seconds
    seconds = needed.middle
    longest, left = stillness.longest_exposure_s(), light.seconds_left
    suffices = bool(np.isfinite(seconds)) and seconds <= min(longest, left)
    shown = seconds if suffices else longest
    scale = asked.scale
    motion = stillness.head_motion_mm(asked.pose, shown)
    budget = stillness.stillness_budget_mm(scale)
    stops = _stops(light, asked)
    sharp = motion <= budget
    settle = trade.facts("exposure")["settle"]
    return ExposeAnswer(
        time=to_local(moment_utc, place),
        place=place.name,
        time_zone=place.time_zone,
        minutes=_minutes(seconds),
        minutes_80=(_minutes(needed.low), _minutes(needed.high)),
        minutes_in_third_stops=None if not np.isfinite(seconds) else third_stop(seconds / 60.0),
        end=to_local(moment_utc + timedelta(seconds=int(seconds)), place) if suffices else None,
        light_suffices=suffices,
        dose_j_m2=exposure_dose(asked),
        elevation_deg=elevation,
        azimuth_deg=float(light.series.azimuth_deg[start]),
        actinic_w_m2=float(light.series.exposure_w_m2[start]),
        illuminance_lux=float(light.series.illuminance_lux[start]),
        light_note=light.note,
        pose=asked.pose,
        motion_rms_mm=motion,
        blur_mm=stillness.blur_width_mm(motion, scale),
        blur_mm_80=_blur_80(asked, needed.low, needed.high),
        blur_rms_mm=stillness.blur_rms_mm(motion, scale),
        stillness_mm=budget,
        stillness_eye_mm=stillness.stillness_budget_mm(scale, stillness.finest_width_mm("eye")),
        contrast_5_lp_mm=float(
            stillness.contrast(
                trade.value("exposure", "print_resolution"), stillness.blur_rms_mm(motion, scale)
            )
        ),
        sharp=sharp,
        poses=tuple(_pose(pose, shown, scale, budget) for pose in stillness.poses()),
        settle_seconds=(settle.low, settle.high),
        stops=stops,
        step_test=_step_test(seconds, asked.speed_iso, min(longest, left)),
        f_number=asked.f_number,
        focal_length_mm=asked.focal_mm,
        distance_m=asked.distance_m,
        magnification=scale,
        near_uv_transmission=asked.transmission,
        plate_speed_iso=asked.speed_iso,
        plate_speed_sigma_stops=asked.speed_sigma_stops,
        coat_nm=asked.coat_nm,
        plane=asked.plane,
        reflectance=asked.reflectance,
        reciprocity_exponent=asked.law.exponent,
        doubt=found.doubt,
        taken=asked.taken,
        warnings=(
            *outlook.notes,
            *light.warnings,
            *_light_ends(seconds, needed.high, longest, left),
            *_hard_light(elevation, stops.light_meter_misses),
            *(() if sharp else (_moves(asked.pose, motion, budget),)),
            *((TEST_FIRST,) if any(t.startswith(PLATE_SPEED) for t in asked.taken) else ()),
        ),
        numbers_in_use=numbers_in_use(
            now, "plate_speed", "plate_noise", given={"plate_speed": camera.speed_iso}
        ),
        as_written=now.as_written,
    )


def _minutes(seconds: float) -> float | None:
    return seconds / 60.0 if np.isfinite(seconds) else None


def _pose(pose: str, seconds: float, scale: float, budget: float) -> PoseBlur:
    motion = stillness.head_motion_mm(pose, seconds)
    return PoseBlur(pose, motion, stillness.blur_width_mm(motion, scale), motion <= budget)


def _blur_80(asked: CameraValues, low_s: float, high_s: float) -> tuple[float, float]:
    """Return the range of the blur, over the longest that is attempted at most."""
    longest = stillness.longest_exposure_s()
    sitters = spread(1.0, trade.value("exposure", "sway_log_sigma") / float(np.log(2.0)))
    low, high = (
        stillness.blur_width_mm(
            stillness.head_motion_mm(asked.pose, min(edge, longest)), asked.scale
        )
        for edge in (low_s, high_s)
    )
    return low * float(sitters[0]), high * float(sitters[2])


def _stops(light: Sunlight, asked: CameraValues) -> StopsByCause:
    actinic = float(light.series.exposure_w_m2[light.start_index])
    kilolux = float(light.series.illuminance_lux[light.start_index]) / 1000.0
    reference = trade.value("exposure", "reference_light")
    full_sun = reference * trade.value("exposure", "reference_sun") / 1000.0

    def stops(factor: float) -> float:
        return float(np.log2(factor))

    return StopsByCause(
        light_against_high_sun=stops(full_sun / max(actinic, 1e-9)),
        light_meter_misses=stops(reference * kilolux / max(actinic, 1e-9)),
        near_subject=stops(exposure.bellows_factor(asked.scale)),
        lens=stops(trade.value("light", "lens_transmission") / asked.transmission),
        coat=stops(1.0 / asked.coat_speed),
        tone=stops(trade.value("exposure", "reference_tone") / asked.reflectance),
        mirror=stops(trade.value("exposure", "mirror_factor")) if asked.mirror else 0.0,
    )


def _step_test(seconds: float, speed_iso: float, seconds_left: float) -> StepTest | None:
    """Return the strips of a step test; None when it does not fit into the light."""
    stops = strip_stops()
    strips = seconds * 2.0**stops if np.isfinite(seconds) else np.full(len(stops), np.inf)
    fitting = int(np.sum(strips <= seconds_left))
    if fitting <= len(stops) // 2:  # the middle strip must be among them
        return None
    stops, strips = stops[:fitting], strips[:fitting]
    return StepTest(
        strip_stops=tuple(stops.tolist()),
        strip_seconds=tuple(strips.tolist()),
        slide_after_seconds=(float(strips[0]), *np.diff(strips).tolist()),
        plate_speed_iso=tuple((speed_iso * 2.0**-stops).tolist()),
    )


ENDS_FIRST = (
    "The light ends in {minutes:.0f} min, before the exposure does: start earlier, open the lens "
    "or choose another day."
)
TOO_LONG = (
    "Longer than the {minutes:.0f} min that are attempted: open the lens, or wait for more light."
)
SLOW_PLATE = "A slow plate would not be done before the light ends."
LOW_SUN = (
    "The sun stands at {elevation:.0f} degrees: the light there is hardly known; "
    "meter in the violet or wait."
)
METER = (
    "A light meter would give {stops:.1f} stops {word} here: it sees green light, "
    "the plate sees violet."
)
MOVES = "The pose {pose} moves about {motion} mm rms; sharp needs {budget} mm or less."
TEST_FIRST = (
    "The plate speed is a starting value, a guess within a stop or two: make a step test first."
)


def _moves(pose: str, motion: float, budget: float) -> str:
    """Return the sentence on a pose that moves too much, with digits enough to see by how much."""
    read = [(f"{motion:.{digits}f}", f"{budget:.{digits}f}") for digits in (1, 2, 3)]
    first, second = next((two for two in read if two[0] != two[1]), read[-1])
    return MOVES.format(pose=pose, motion=first, budget=second)


def _light_ends(seconds: float, high: float, longest: float, left: float) -> list[str]:
    if not np.isfinite(seconds) or seconds > left:
        return [ENDS_FIRST.format(minutes=left / 60.0)]
    if seconds > longest:
        return [TOO_LONG.format(minutes=longest / 60.0)]
    return [SLOW_PLATE] if not np.isfinite(high) or high > left else []


def _hard_light(elevation_deg: float, misses: float) -> list[str]:
    said = []
    if elevation_deg < trade.value("exposure", "very_low_sun"):
        said.append(LOW_SUN.format(elevation=elevation_deg))
    if abs(misses) >= 1 / 3:
        word = "too short" if misses > 0 else "too long"
        said.append(METER.format(stops=abs(misses), word=word))
    return said
