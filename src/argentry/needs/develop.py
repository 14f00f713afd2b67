"""When a plate under the red filter is ripe, by sun or lamp, and whether it will be at all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.needs.frame import Frame, settle
from argentry.physics import development as red
from argentry.physics import exposure, lamp
from argentry.physics.dose import cumulative_j_m2
from argentry.physics.filter import density_needed
from argentry.physics.sky import development_band, exposure_band
from argentry.physics.stops import even_draws
from argentry.sky.sunlight import DAYS, SEED, STEP_S, sunlight

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.records.studio import Lamp, Studio
    from argentry.records.weather import Weather
    from argentry.sky.place import Place

    Array = NDArray[np.float64]

DENSITY_MARGIN = 0.3  # a filter this close to the density needed is told about
CAUTIONS = ("sun", "general")


@dataclass(frozen=True)
class _Light:
    """What falls on the frame from its start on, in steps of a minute."""

    start_utc: datetime  # of step edge 0
    start_index: int
    red_w_m2: Array  # (m,)
    red_days_w_m2: Array | None  # (k, m)
    violet_w_m2: Array  # (m,), on the bare filter
    heat_w_m2: float
    last_index: float
    ends_because: str
    facts: dict[str, Any]
    warnings: tuple[str, ...]


def develop(
    place: Place | None,
    start: datetime,
    frame: Frame,
    studio: Studio | None = None,
    weather: Weather | None = None,
    deadline: datetime | None = None,
    time_zone: str = "UTC",
) -> dict[str, Any]:
    """Return when a plate put out at `start` is ripe, or what share of the dose it gets.

    Parameters
    ----------
    place : Place or None
        Where; may be None with a lamp.
    start : datetime
        When it is put under the filter, UTC.
    frame : Frame
        Filter, dose, lamp.
    studio : Studio or None
        Fills up what `frame` leaves open.
    weather : Weather or None
        None means a clear sky, said so.
    deadline : datetime or None
        When it must be ripe, UTC.
    time_zone : str
        Of the clock, where no place is named.

    Returns
    -------
    dict
        ``end`` and ``minutes`` (null when the median plate is not ripe in time), ``minutes_80``,
        ``light_suffices``, ``share_of_dose`` and ``ripe_odds`` when time is up, ``time_is_up``,
        ``latest_start``, ``looks``, ``density_needed``, ``warnings``, ``cautions``.

    Raises
    ------
    BadInput
        If a value is impossible, or it is dark at the start.
    """
    settled, lamp_used = settle(frame, studio)
    if deadline is not None and deadline <= start:
        raise BadInput("--deadline", "it is not after the start", "give a later time")
    if lamp_used is not None:
        light = _lamp_light(start, settled, lamp_used)
    else:
        if place is None:
            raise BadInput(
                "the place", "the sun needs one", "give --lat and --lon, a studio, or a lamp"
            )
        light = _sun_light(place, start, settled, weather)
    if deadline is not None:
        light = _by_deadline(light, deadline)
    median = red.development_dose_j_m2(settled.dose_kj_m2, settled.exposure_stops)
    doses = red.dose_range_j_m2(median, settled.dose_sigma_stops)
    found = _ripening(light, median, doses, settled)
    zone = time_zone if place is None else place.time_zone

    def clock(index: float) -> str | None:
        if not np.isfinite(index):
            return None
        exact = light.start_utc + timedelta(seconds=index * STEP_S + 30.0)
        whole = exact.replace(second=0, microsecond=0)
        return whole.astimezone(ZoneInfo(zone)).isoformat(timespec="seconds")

    def minutes(index: float) -> float | None:
        return (index - light.start_index) * STEP_S / 60.0 if np.isfinite(index) else None

    high = minutes(found.high_index) or minutes(light.last_index) or 0.0
    result: dict[str, Any] = {
        "start": clock(light.start_index),
        "time_zone": zone,
        "end": clock(found.end_index),
        "end_80": [clock(found.low_index), clock(found.high_index)],
        "minutes": minutes(found.end_index),
        "minutes_80": [minutes(found.low_index), minutes(found.high_index)],
        "light_suffices": found.suffices,
        "share_of_dose": found.share,
        "ripe_odds": found.ripe_share,
        "time_is_up": clock(light.last_index),
        "time_is_up_because": light.ends_because,
        "latest_start": None if lamp_used and deadline is None else clock(found.latest_start_index),
        "looks": [clock(light.start_index + m) for m in red.looks_minutes(high)],
        "dose_kj_m2": median / 1000.0,
        "dose_kj_m2_80": [doses[0] / 1000.0, doses[2] / 1000.0],
        "dose_is_seed": settled.dose_kj_m2 is None,
        "cut_on_nm": settled.cut_on_nm,
        "filter_transmission": settled.transmission,
        "development_w_m2": float(light.red_w_m2[light.start_index]),
        "density_needed": _density(light, found.end_index, settled),
        "density_below_nm": trade.value("light", "leak_band_end"),
        "blocking_density": settled.density,
        "warming_k": red.frame_warming_k(light.heat_w_m2),
        "tilt_tolerance_deg": (None if lamp_used else trade.value("development", "tilt_tolerance")),
        "warmest_plate_c": trade.value("development", "warmest_plate"),
        **light.facts,
    }
    result["warnings"] = [*light.warnings, *_warnings(result, light)]
    result["cautions"] = _cautions(lamp_used)
    return result


def _sun_light(place: Place, start: datetime, frame: Frame, weather: Weather | None) -> _Light:
    day = sunlight(
        "--start",
        place,
        start,
        cut_on_nm=frame.cut_on_nm,
        filter_transmission=frame.transmission,
        weather=weather,
    )
    through_lens = trade.value("light", "lens_transmission")
    skyline = bool(place.horizon)
    return _Light(
        start_utc=day.start_utc,
        start_index=day.start_index,
        red_w_m2=day.series.development_w_m2,
        red_days_w_m2=None if day.days is None else day.days.development_w_m2,
        violet_w_m2=day.series.exposure_w_m2 / through_lens,
        heat_w_m2=float(np.max(day.series.illuminance_lux[day.start_index :]))
        / trade.value("development", "daylight_efficacy"),
        last_index=float(day.last_index),
        ends_because="the sun goes behind the skyline" if skyline else "the sun sets",
        facts={
            "place": place.name,
            "light": "sun",
            "light_note": day.note,
            "elevation_deg": float(day.series.elevation_deg[day.start_index]),
            "azimuth_deg": float(day.series.azimuth_deg[day.start_index]),
        },
        warnings=day.warnings,
    )


def _lamp_light(start: datetime, frame: Frame, own: Lamp) -> _Light:
    assert frame.cut_on_nm is not None
    band, violet = development_band(frame.cut_on_nm, frame.transmission), exposure_band()
    lit = (own.power_w, own.distance_m, own.kind)
    bare = lamp.lamp_light_w_m2(*lit, violet.wavelength_nm, violet.weight)
    longest = trade.value("development", "longest_development")
    steps = round(longest * 60.0)
    through_lens = trade.value("light", "lens_transmission")
    return _Light(
        start_utc=start,
        start_index=0,
        red_w_m2=np.full(steps, lamp.lamp_light_w_m2(*lit, band.wavelength_nm, band.weight)),
        red_days_w_m2=None,
        violet_w_m2=np.full(steps, bare / through_lens),
        heat_w_m2=lamp.lamp_total_w_m2(*lit),
        last_index=float(steps),
        ends_because=f"longer than {longest:g} h is not attempted",
        facts={
            "light": f"{own.kind} lamp, {own.power_w:g} W at {own.distance_m:g} m",
            "light_note": "lamp",
        },
        warnings=(_lamp_words(own),),
    )


def _lamp_words(own: Lamp) -> str:
    if own.kind == "bare halogen":
        return "The lamp is taken as a bare bulb that shines evenly all round: a rough figure."
    return (
        "The lamp is taken as one that shines forward from a plain reflector or panel; "
        "a bare bulb gives a quarter of it, a spot lamp more: a rough figure."
    )


def _by_deadline(light: _Light, deadline: datetime) -> _Light:
    index = (deadline - light.start_utc).total_seconds() / STEP_S
    if index >= light.last_index:
        return light
    return replace(light, last_index=index, ends_because="the deadline")


def _ripening(light: _Light, median: float, doses: Array, frame: Frame) -> red.Ripening:
    if light.red_days_w_m2 is None:
        total = cumulative_j_m2(light.red_w_m2, STEP_S)
        return red.ripening(total, light.start_index, doses, light.last_index)
    sigma = frame.dose_sigma_stops
    sigma = trade.value("development", "dose_sigma") if sigma is None else sigma
    draws = even_draws(median, sigma, DAYS, SEED)
    total = cumulative_j_m2(light.red_days_w_m2, STEP_S)
    return red.ripening_of_days(total, float(light.start_index), draws, light.last_index)


def _density(light: _Light, end_index: float, frame: Frame) -> float:
    """Optical density the filter needs in the violet for this plate and this development."""
    assert frame.speed_iso is not None
    end = light.last_index if np.isnan(end_index) else end_index
    total = cumulative_j_m2(light.violet_w_m2, STEP_S)
    edges = np.arange(len(total))
    received = np.interp(end, edges, total) - np.interp(light.start_index, edges, total)
    return density_needed(exposure.plate_dose_j_m2(frame.speed_iso), float(received))


def _warnings(result: dict[str, Any], light: _Light) -> list[str]:
    said = []
    share, odds = result["share_of_dose"], result["ripe_odds"]
    if not result["light_suffices"]:
        latest = result["latest_start"]
        advice = f"start by {latest[11:16]}" if latest else "choose a better day or a lamp"
        said.append(
            f"The light does not suffice: {light.ends_because} at {result['time_is_up'][11:16]} "
            f"with {100.0 * share:.0f} % of the dose in; {advice}."
        )
    elif odds < 0.9:
        said.append(
            f"Development may fail: {100.0 * (1.0 - odds):.0f} plates in a hundred would not be "
            f"ripe by {result['time_is_up'][11:16]}."
        )
    density, needed = result["blocking_density"], result["density_needed"]
    if density is None:
        said.append(
            f"The filter needs an optical density of {needed:.1f} below 450 nm so that daylight "
            "does not expose the plate through it; yours is not measured."
        )
    elif density < needed + DENSITY_MARGIN:
        word = "leaks" if density < needed else "barely holds"
        said.append(
            f"The filter {word}: density {density:.1f} below 450 nm, {needed:.1f} needed; "
            "add a second sheet."
        )
    if result["warming_k"] > trade.value("development", "heat_warning"):
        said.append(
            f"The frame may run some {result['warming_k']:.0f} K above the air: keep the plate "
            f"under {result['warmest_plate_c']:.0f} °C (starting value) with a fan or heat sink."
        )
    if result["dose_is_seed"]:
        said.append("The dose is a starting value: look often, and write down when it was ripe.")
    return said


def _cautions(own: Lamp | None) -> list[str]:
    from argentry.trade.steps import cautions

    known = cautions()
    keys = ("lamp", *CAUTIONS) if own else CAUTIONS
    return [known[key].text for key in keys]
