"""How long before the camera, and how still the sitter must be."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.needs.camera import PLATE_SPEED, Camera, Settled, settle
from argentry.physics import exposure, stillness
from argentry.physics.dose import cumulative_j_m2, ends_of_days
from argentry.physics.stops import SHARES_80, even_draws, spread, strip_stops, third_stop
from argentry.sky.place import to_local
from argentry.sky.sunlight import DAYS, SEED, STEP_S, sunlight

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from argentry.records.studio import Studio
    from argentry.records.weather import Weather
    from argentry.sky.place import Place
    from argentry.sky.sunlight import Sunlight


def expose(
    place: Place,
    moment_utc: datetime,
    camera: Camera,
    studio: Studio | None = None,
    weather: Weather | None = None,
    where: str = "--at",
) -> dict[str, Any]:
    """Return minutes before the camera with their range, and what they ask of the sitter.

    Parameters
    ----------
    place : Place
        Where.
    moment_utc : datetime
        When the lens is uncapped, UTC.
    camera : Camera
        Lens, plate and subject.
    studio : Studio or None
        Fills up what `camera` leaves open.
    weather : Weather or None
        None means a clear sky, said so.
    where : str
        Name of the option that gave the moment.

    Returns
    -------
    dict
        ``minutes``, ``minutes_80`` (null where never), ``minutes_shown`` in third stops, ``end``,
        ``light_suffices``, ``blur_mm`` (full width on the plate), ``blur_mm_80``,
        ``blur_rms_mm``, ``stillness_mm``, ``poses``, ``settle_seconds`` before uncapping,
        ``actinic_w_m2``, ``stops`` by cause, ``step_test``, what was taken, ``warnings``.

    Raises
    ------
    BadInput
        If a value is impossible, or there is no light then.
    """
    asked = settle(camera, studio)
    dose = exposure.exposure_dose_j_m2(
        plate_speed_iso=asked.speed_iso,
        f_number=asked.f_number,
        magnification=asked.scale,
        transmission=asked.transmission,
        relative_coat_speed=asked.coat_speed,
        reflectance=asked.reflectance,
        mirror=asked.mirror,
    )
    light = sunlight(where, place, moment_utc, plane=asked.plane, weather=weather)
    seconds, low, high = _seconds(light, dose, asked, haze_named=place.haze_aod is not None)
    longest = stillness.longest_exposure_s()
    left = light.seconds_left
    suffices = bool(np.isfinite(seconds)) and seconds <= min(longest, left)
    elevation = float(light.series.elevation_deg[light.start_index])
    end = to_local(moment_utc + timedelta(seconds=seconds), place) if suffices else None
    shown = seconds if suffices else longest
    result: dict[str, Any] = {
        "time": to_local(moment_utc, place).isoformat(timespec="seconds"),
        "place": place.name,
        "time_zone": place.time_zone,
        "minutes": _minutes(seconds),
        "minutes_80": [_minutes(low), _minutes(high)],
        "minutes_shown": None if not np.isfinite(seconds) else third_stop(seconds / 60.0),
        "end": None if end is None else end.isoformat(timespec="seconds"),
        "light_suffices": suffices,
        "dose_j_m2": dose,
        "elevation_deg": elevation,
        "azimuth_deg": float(light.series.azimuth_deg[light.start_index]),
        "actinic_w_m2": float(light.series.exposure_w_m2[light.start_index]),
        "illuminance_lux": float(light.series.illuminance_lux[light.start_index]),
        "light_note": light.note,
        **_stillness(asked, shown, low, high),
        "settle_seconds": _settle_seconds(),
        "stops": _stops(light, asked),
        "step_test": _step_test(seconds, asked.speed_iso, min(longest, left)),
        "f_number": asked.f_number,
        "focal_length_mm": asked.focal_mm,
        "distance_m": asked.distance_m,
        "magnification": asked.scale,
        "near_uv_transmission": asked.transmission,
        "plate_speed_iso": asked.speed_iso,
        "plate_speed_sigma_stops": asked.speed_sigma_stops,
        "coat_nm": asked.coat_nm,
        "plane": asked.plane,
        "reflectance": asked.reflectance,
        "taken": list(asked.taken),
    }
    result["warnings"] = [*light.warnings, *_warnings(result, seconds, longest, left, high)]
    return result


def _seconds(
    light: Sunlight, dose: float, asked: Settled, *, haze_named: bool
) -> tuple[float, float, float]:
    """Return median, low and high end of the range; infinite where the light ends first."""
    start_s = light.start_index * STEP_S

    def solve(doses: Sequence[float]) -> list[float]:
        found = exposure.exposure_seconds(
            light.series.exposure_w_m2,
            STEP_S,
            np.asarray(doses),
            start_s=start_s,
            reciprocity_exponent=asked.exponent,
        )
        return [float(s) if np.isfinite(s) else float("inf") for s in found]

    if light.days is None:
        elevation = float(light.series.elevation_deg[light.start_index])
        known = exposure.light_sigma_stops(elevation, haze_named=haze_named)
        sigma = float(np.hypot(asked.speed_sigma_stops, known))
        low, middle, high = solve(spread(dose, sigma).tolist())
        return middle, low, high
    total = cumulative_j_m2(light.days.exposure_w_m2, STEP_S)
    doses = even_draws(dose, asked.speed_sigma_stops, DAYS, SEED)
    waits = (ends_of_days(total, float(light.start_index), doses) - light.start_index) * STEP_S
    low, middle, high = (float(np.quantile(waits, share, method="nearest")) for share in SHARES_80)
    return middle, low, high


def _minutes(seconds: float) -> float | None:
    return seconds / 60.0 if np.isfinite(seconds) else None


def _stillness(asked: Settled, seconds: float, low: float, high: float) -> dict[str, Any]:
    """Blur over the exposure, or over the longest that is attempted where it would be longer."""
    scale, longest = asked.scale, stillness.longest_exposure_s()
    motion = stillness.head_motion_mm(asked.pose, seconds)
    bounds = [
        stillness.blur_width_mm(stillness.head_motion_mm(asked.pose, min(edge, longest)), scale)
        for edge in (low, high)
    ]
    sitters = spread(1.0, trade.value("exposure", "sway_log_sigma") / float(np.log(2.0)))
    budget = stillness.stillness_budget_mm(scale)
    width = stillness.blur_width_mm(motion, scale)
    return {
        "pose": asked.pose,
        "motion_rms_mm": motion,
        "blur_mm": width,
        "blur_mm_80": [bounds[0] * float(sitters[0]), bounds[1] * float(sitters[2])],
        "blur_rms_mm": stillness.blur_rms_mm(motion, scale),
        "stillness_mm": budget,
        "stillness_eye_mm": stillness.stillness_budget_mm(scale, stillness.finest_width_mm("eye")),
        "contrast_5_lp_mm": float(
            stillness.contrast(
                trade.value("exposure", "print_resolution"), stillness.blur_rms_mm(motion, scale)
            )
        ),
        "sharp": motion <= budget,
        "poses": [
            {
                "pose": pose,
                "motion_rms_mm": stillness.head_motion_mm(pose, seconds),
                "blur_mm": stillness.blur_width_mm(stillness.head_motion_mm(pose, seconds), scale),
                "sharp": stillness.head_motion_mm(pose, seconds) <= budget,
            }
            for pose in stillness.poses()
        ],
    }


def _settle_seconds() -> list[float]:
    fact = trade.facts("exposure")["settle"]
    return [fact.low, fact.high]


def _stops(light: Sunlight, asked: Settled) -> dict[str, float]:
    """How many stops each cause lengthens (positive) or shortens the exposure."""
    actinic = float(light.series.exposure_w_m2[light.start_index])
    kilolux = float(light.series.illuminance_lux[light.start_index]) / 1000.0
    reference = trade.value("exposure", "reference_light")
    full_sun = reference * trade.value("exposure", "reference_sun") / 1000.0

    def stops(factor: float) -> float:
        return float(np.log2(factor))

    return {
        "light_against_high_sun": stops(full_sun / max(actinic, 1e-9)),
        "light_meter_misses": stops(reference * kilolux / max(actinic, 1e-9)),
        "near_subject": stops(exposure.bellows_factor(asked.scale)),
        "lens": stops(trade.value("light", "lens_transmission") / asked.transmission),
        "coat": stops(1.0 / asked.coat_speed),
        "tone": stops(trade.value("exposure", "reference_tone") / asked.reflectance),
        "mirror": stops(trade.value("exposure", "mirror_factor")) if asked.mirror else 0.0,
    }


def _step_test(seconds: float, speed_iso: float, seconds_left: float) -> dict[str, Any] | None:
    """Return seconds of each strip of a step test and of each pull; None when it does not fit."""
    stops = strip_stops()
    strips = seconds * 2.0**stops if np.isfinite(seconds) else np.full(len(stops), np.inf)
    fitting = int(np.sum(strips <= seconds_left))
    if fitting <= len(stops) // 2:  # the middle strip must be among them
        return None
    stops, strips = stops[:fitting], strips[:fitting]
    return {
        "strip_stops": stops.tolist(),
        "strip_seconds": strips.tolist(),
        "slide_after_seconds": [float(strips[0]), *np.diff(strips).tolist()],
        "plate_speed_iso": (speed_iso * 2.0**-stops).tolist(),
    }


def _warnings(
    result: dict[str, Any], seconds: float, longest: float, left: float, high: float
) -> list[str]:
    said = []
    if not result["light_suffices"]:
        if not np.isfinite(seconds) or seconds > left:
            said.append(
                f"The light ends in {left / 60.0:.0f} min, before the exposure does: "
                "start earlier, open the lens or choose another day."
            )
        else:
            said.append(
                f"Longer than the {longest / 60.0:.0f} min that are attempted: "
                "open the lens, or wait for more light."
            )
    elif not np.isfinite(high) or high > left:
        said.append("A slow plate would not be done before the light ends.")
    elevation = result["elevation_deg"]
    if elevation < trade.value("exposure", "very_low_sun"):
        said.append(
            f"The sun stands at {elevation:.0f} degrees: the light there is hardly known; "
            "meter in the violet or wait."
        )
    misses = result["stops"]["light_meter_misses"]
    if abs(misses) >= 1 / 3:
        word = "too short" if misses > 0 else "too long"
        said.append(
            f"A light meter would give {abs(misses):.1f} stops {word} here: it sees green light, "
            "the plate sees violet."
        )
    if not result["sharp"]:
        said.append(
            f"The pose {result['pose']} moves about {result['motion_rms_mm']:.1f} mm rms; "
            f"sharp needs {result['stillness_mm']:.1f} mm or less."
        )
    if any(text.startswith(PLATE_SPEED) for text in result["taken"]):
        said.append(
            "The plate speed is a starting value, a guess within a stop or two: "
            "make a step test first."
        )
    return said
