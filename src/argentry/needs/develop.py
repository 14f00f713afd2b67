"""When a plate under the red filter is ripe, by sun or lamp, and whether it will be at all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.needs.development_time import development_dose, faded, kept_stops, ripening
from argentry.needs.doubt.development import (
    fading_part,
    lamp_doubt,
    other_light_part,
    red_light_doubt,
)
from argentry.needs.frame import (
    Frame,
    FrameValues,
    development_cautions,
    filter_leak,
    frame_values,
    plate_size_of,
)
from argentry.needs.lamp import lamp_light, lamp_notes, longest_lamp_minutes
from argentry.needs.numbers import dose_sigma_stops, numbers_in_use, veil_known
from argentry.physics.lights.filter import Leak, density_needed
from argentry.physics.picture import development as red
from argentry.physics.picture import exposure
from argentry.physics.picture.dose import cumulative_j_m2
from argentry.records.answers.develop import DevelopAnswer
from argentry.records.answers.doubt import DoubtPart
from argentry.records.instruments import Lamp
from argentry.records.needs import StudioNow
from argentry.records.weather import NO_OUTLOOK, Outlook, Weather
from argentry.sky.place import Place
from argentry.sky.sunlight import STEP_S, sunlight

NO_STUDIO = StudioNow()
DENSITY_MARGIN = 0.3  # a filter this close to the density needed is told about


@dataclass(frozen=True)
class _Light:
    """What falls on the frame from its start on, in steps of a minute."""

    start_utc: datetime  # of step edge 0
    start_index: int
    red_w_m2: Floats  # (m,)
    red_days_w_m2: Floats | None  # (k, m)
    violet_w_m2: Floats  # (m,), on the bare filter
    heat_w_m2: float
    last_index: float
    ends_because: str
    doubts: tuple[DoubtPart, ...]
    warnings: tuple[str, ...]
    name: str = "sun"
    note: str = "lamp"
    place: str | None = None
    elevation_deg: float | None = None
    azimuth_deg: float | None = None


def develop(
    place: Place | None,
    start: datetime,
    frame: Frame,
    now: StudioNow = NO_STUDIO,
    weather: Weather | None = None,
    deadline: datetime | None = None,
    time_zone: str = "UTC",
    outlook: Outlook = NO_OUTLOOK,
) -> DevelopAnswer:
    """Return when a plate begun at `start` is ripe, or what share of the dose it gets.

    Parameters
    ----------
    place : Place or None
        Where; may be None with a lamp.
    start : datetime
        When it is put under the filter, UTC.
    frame : Frame
        Filter, dose, lamp.
    now : StudioNow
        Its studio fills up what `frame` leaves open.
    weather : Weather or None
        None means a clear sky, said so.
    deadline : datetime or None
        When it must be ripe, UTC.
    time_zone : str
        Of the clock, where no place is named.
    outlook : Outlook
        The same weather with what else is known of the sky; `weather` goes before it.

    Raises
    ------
    BadInput
        If a value is impossible, or it is dark at the start.
    """
    asked, lamp_used = frame_values(frame, now.studio)
    if deadline is not None and deadline <= start:
        raise BadInput("--deadline", "it is not after the start", "give a later time")
    if lamp_used is not None:
        light = _lamp_light(start, asked, lamp_used, plate_size_of(now))
    elif place is None:
        raise BadInput(
            "the place", "the sun needs one", "give --lat and --lon, a studio, or a lamp"
        )
    else:
        light = _sun_light(place, start, asked, weather, outlook)
    if deadline is not None:
        light = _by_deadline(light, deadline)
    habits = now.studio.habits if now.studio else None
    given = frame.dose_kj_m2 is not None or frame.dose_sigma_stops is not None
    sigma = dose_sigma_stops(habits) if asked.dose_sigma_stops is None else asked.dose_sigma_stops
    dose = development_dose(
        habits,
        dose_kj_m2=asked.dose_kj_m2,
        sigma_stops=sigma,
        exposure_stops=asked.exposure_stops,
        waited_min=check_range("--waited", frame.waited_min, 0.0, 10000.0, "min"),
    )
    fading = red.fading_stops(frame.waited_min)
    other = () if given else other_light_part(now.studio, asked.through, lamp_used)
    ripe = ripening(
        light.red_w_m2,
        float(light.start_index),
        dose,
        light.last_index,
        light=(*light.doubts, fading_part(frame.waited_min), *other),
        days_w_m2=light.red_days_w_m2,
        sigma_stops=sigma,
        scatter=habits.strayed("development") if habits and not given else 1.0,
        veil=veil_known(habits),
        exposure_stops=kept_stops(asked.exposure_stops, frame.waited_min),
    )
    found, veiled = ripe.ripening, ripe.veiled
    zone = ZoneInfo(time_zone if place is None else place.time_zone)

    def exact_clock(index: float) -> datetime:
        exact = light.start_utc + timedelta(seconds=index * STEP_S + 30.0)
        return exact.replace(second=0, microsecond=0).astimezone(zone)

    def clock(index: float) -> datetime | None:
        return exact_clock(index) if np.isfinite(index) else None

    def minutes(index: float) -> float | None:
        return (index - light.start_index) * STEP_S / 60.0 if np.isfinite(index) else None

    up = exact_clock(light.last_index)
    latest = None if lamp_used and deadline is None else clock(found.latest_start_index)
    high = minutes(found.high_index) or minutes(light.last_index) or 0.0
    density = _density(light, found.end_index, asked)
    warming = red.frame_warming_k(light.heat_w_m2)
    blocks = filter_leak(asked.density, asked.passes, lamp_used)
    return DevelopAnswer(
        start=exact_clock(light.start_index),
        time_zone=str(zone),
        end=clock(found.end_index),
        end_80=(clock(found.low_index), clock(found.high_index)),
        minutes=minutes(found.end_index),
        minutes_80=(minutes(found.low_index), minutes(found.high_index)),
        veiled=clock(veiled.end_index),
        veiled_80=(clock(veiled.low_index), clock(veiled.high_index)),
        minutes_veiled=minutes(veiled.end_index),
        minutes_veiled_80=(minutes(veiled.low_index), minutes(veiled.high_index)),
        light_suffices=found.suffices,
        share_of_dose=found.share,
        ripe_odds=found.ripe_share,
        time_is_up=up,
        time_is_up_because=light.ends_because,
        latest_start=latest,
        looks=tuple(exact_clock(light.start_index + m) for m in red.looks_minutes(high)),
        dose_kj_m2=dose.middle / 1000.0,
        dose_kj_m2_80=(dose.low / 1000.0, dose.high / 1000.0),
        doubt=ripe.doubt,
        waited_min=frame.waited_min,
        fading_stops=fading,
        dose_is_seed=asked.dose_kj_m2 is None,
        cut_on_nm=float(asked.cut_on_nm or 0.0),
        filter_transmission=float(asked.transmission or 0.0),
        development_w_m2=float(light.red_w_m2[light.start_index]),
        density_needed=density,
        density_below_nm=trade.value("light", "leak_band_end"),
        blocking_density=None if blocks is None else blocks.density,
        warming_k=warming,
        tilt_tolerance_deg=None if lamp_used else trade.value("development", "tilt_tolerance"),
        warmest_plate_c=trade.value("development", "warmest_plate"),
        light=light.name,
        light_note=light.note,
        place=light.place,
        elevation_deg=light.elevation_deg,
        azimuth_deg=light.azimuth_deg,
        warnings=(
            *light.warnings,
            *_light_ends(found, light.ends_because, up, latest, lamp=lamp_used is not None),
            *_filter_leaks(blocks, density, DAYLIGHT if lamp_used is None else LAMPLIGHT),
            *_hot_frame(warming),
            *faded(fading),
            *((SEED_DOSE,) if asked.dose_kj_m2 is None else ()),
        ),
        cautions=tuple(one.text for one in development_cautions(lamp_used)),
        numbers_in_use=numbers_in_use(
            now, "development_dose", "plate_speed",
            given={"development_dose": frame.dose_kj_m2, "plate_speed": frame.speed_iso},
        ),
        as_written=now.as_written,
    )  # fmt: skip


# Its upper edge, which the day sheet calls the sun over the skyline, is seen some minutes longer.
BEHIND, SET = "half the sun is behind the skyline", "half the sun has set"


def _sun_light(
    place: Place, start: datetime, frame: FrameValues, weather: Weather | None, outlook: Outlook
) -> _Light:
    day = sunlight(
        "--start",
        place,
        start,
        through=frame.through,
        weather=weather,
        outlook=outlook,
    )
    through_lens = trade.value("light", "lens_transmission")
    return _Light(
        start_utc=day.start_utc,
        start_index=day.start_index,
        red_w_m2=day.series.development_w_m2,
        red_days_w_m2=None if day.days is None else day.days.development_w_m2,
        violet_w_m2=day.series.exposure_w_m2 / through_lens,
        heat_w_m2=float(np.max(day.series.illuminance_lux[day.start_index :]))
        / trade.value("development", "daylight_efficacy"),
        last_index=float(day.last_index),
        ends_because=BEHIND if place.horizon else SET,
        doubts=red_light_doubt(
            float(day.series.elevation_deg[day.start_index]),
            haze_named=place.haze_aod is not None or day.days is not None,
        ),
        warnings=(*outlook.notes, *day.warnings),
        note=day.note,
        place=place.name,
        elevation_deg=float(day.series.elevation_deg[day.start_index]),
        azimuth_deg=float(day.series.azimuth_deg[day.start_index]),
    )


LONGEST = "longer than {hours:g} h is not attempted"


def _lamp_light(start: datetime, frame: FrameValues, own: Lamp, size: str) -> _Light:
    lit = lamp_light(own, frame.through, size, frame.dose_kj_m2)
    steps = longest_lamp_minutes()
    return _Light(
        start_utc=start,
        start_index=0,
        red_w_m2=np.full(steps, lit.development_w_m2),
        red_days_w_m2=None,
        violet_w_m2=np.full(steps, lit.violet_w_m2),
        heat_w_m2=lit.heat_w_m2,
        last_index=float(steps),
        ends_because=LONGEST.format(hours=steps / 60.0),
        doubts=lamp_doubt(own),
        warnings=lamp_notes(own, lit),
        name=own.words,
    )


def _by_deadline(light: _Light, deadline: datetime) -> _Light:
    index = (deadline - light.start_utc).total_seconds() / STEP_S
    if index >= light.last_index:
        return light
    return replace(light, last_index=index, ends_because="the deadline")


def _density(light: _Light, end_index: float, frame: Frame) -> float:
    """Optical density the filter needs in the violet for this plate and this development."""
    assert frame.speed_iso is not None
    end = light.last_index if np.isnan(end_index) else end_index
    total = cumulative_j_m2(light.violet_w_m2, STEP_S)
    edges = np.arange(len(total))
    received = np.interp(end, edges, total) - np.interp(light.start_index, edges, total)
    return density_needed(exposure.plate_dose_j_m2(frame.speed_iso), float(received))


NOT_ENOUGH = (
    "There is not enough light: {because} at {up:%H:%M} with {percent:.0f} % of the dose in; "
    "{advice}."
)
START_BY = "start by {latest:%H:%M}"
OTHER_DAY = "choose a better day or a lamp"
OTHER_LAMP = "choose a stronger lamp, or bring it nearer"
MAY_FAIL = (
    "Development may fail: {percent:.0f} plates in a hundred would not be ripe by {up:%H:%M}."
)
NOT_MEASURED = (
    "The filter needs an optical density of {needed:.1f} below 450 nm so that {light} "
    "does not expose the plate through it; yours is not measured."
)
DAYLIGHT, LAMPLIGHT = "daylight", "the lamp"
LEAKS = (
    "The filter {word}: density {density:.1f} below 450 nm, {needed:.1f} needed; "
    "add a second sheet."
)
SHOWS_NO_MORE = (
    "The spectrum of the filter shows zeros below 450 nm, so it tells only that its density is "
    "{density:.1f} or more; {needed:.1f} is needed: test the filter on a spoilt plate."
)
HOT = (
    "The frame may run some {warming:.0f} K above the air: keep the plate "
    "under {warmest:.0f} °C (starting value) with a fan or heat sink."
)
SEED_DOSE = "The dose is a starting value: look often, and write down when it was ripe."


def _light_ends(
    found: red.Ripening, because: str, up: datetime, latest: datetime | None, *, lamp: bool
) -> list[str]:
    if not found.suffices:
        otherwise = OTHER_LAMP if lamp else OTHER_DAY
        advice = START_BY.format(latest=latest) if latest else otherwise
        return [
            NOT_ENOUGH.format(because=because, up=up, percent=100.0 * found.share, advice=advice)
        ]
    if found.ripe_share < 0.9:
        return [MAY_FAIL.format(percent=100.0 * (1.0 - found.ripe_share), up=up)]
    return []


def _filter_leaks(blocks: Leak | None, needed: float, light: str) -> list[str]:
    if blocks is not None and blocks.at_least and blocks.density < needed + DENSITY_MARGIN:
        return [SHOWS_NO_MORE.format(density=blocks.density, needed=needed)]
    if blocks is None:
        return [NOT_MEASURED.format(needed=needed, light=light)] if needed > 0.0 else []
    if blocks.density >= needed + DENSITY_MARGIN:
        return []
    word = "leaks" if blocks.density < needed else "barely holds"
    return [LEAKS.format(word=word, density=blocks.density, needed=needed)]


def _hot_frame(warming_k: float) -> list[str]:
    if warming_k <= trade.value("development", "heat_warning"):
        return []
    return [HOT.format(warming=warming_k, warmest=trade.value("development", "warmest_plate"))]
