"""The exposure of one invented plate: the maker trusts a meter of visible light."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan, log2
from typing import TYPE_CHECKING

from argentry import trade
from argentry.demo.chance import happens, normal, weighted
from argentry.demo.daily_light import between
from argentry.demo.plate_story import Done, Fault, fact, faults_of, plain, written
from argentry.demo.preparing import by_chance
from argentry.physics.coat.film import relative_coat_speed
from argentry.physics.picture import exposure
from argentry.physics.picture.dose import end_index
from argentry.physics.stops import third_stop

if TYPE_CHECKING:
    from argentry.arrays import Floats
    from argentry.demo.daily_light import LitSession
    from argentry.demo.plate_story import Key
    from argentry.records.instruments import Lens
    from argentry.records.studio import Subject


OPENINGS = {4.0: 0.85, 5.6: 0.12, 11.0: 0.03}
METERED_ON = 240.0  # a longer exposure is followed with the meter [s]
LOW_SUN_DEG = 28.0  # below it a meter of visible light overstates by a third of a stop and more


@dataclass(frozen=True)
class Exposed:
    """An exposure made.

    Attributes
    ----------
    done : Done
        Cells, faults, truth.
    minutes : float
        How long it took. [min]
    stops : float
        True exposure from the middle of right. [stops]
    verdict : str
        As the developed plate shows it.
    """

    done: Done
    minutes: float
    stops: float
    verdict: str


def expose(
    lit: LitSession,
    lens: Lens,
    subject: Subject,
    *,
    minute: int,
    waited_minutes: float,
    coat_nm: float,
    drift_stops: float,
    learned_stops: float,
    key: Key,
) -> Exposed:
    """Return an exposure begun at a minute of the day.

    Parameters
    ----------
    lit : LitSession
        Light of the day.
    lens, subject : Lens, Subject
        The studio's.
    minute : int
        Start, from 08:00. [min]
    waited_minutes : float
        Since coating. [min]
    coat_nm : float
        True coat. [nm]
    drift_stops : float
        How much faster all plates are these weeks. [stops]
    learned_stops : float
        What the maker adds after the verdicts so far. [stops]
    key : tuple
        What chance is drawn for.
    """
    plane = "shade" if happens(0.1, *key, "plane") else "sun"
    opening = 4.0 if plane == "shade" else weighted(OPENINGS, *key, "opening")
    scale = exposure.magnification(lens.focal_length_mm, subject.distance_m)
    lux = between(lit.lux[plane], minute, minute + 1) / 60.0
    metered = log2(lux / trade.value("light", "incident_constant") * 100.0)
    read = round(3.0 * (metered + 0.1 * normal(*key, "meter"))) / 3.0
    believed = (
        exposure.incident_lux_seconds(fact("believed_speed"), opening)
        * exposure.bellows_factor(scale)
        / (trade.value("light", "incident_constant") * 2.0**read / 100.0)
    )
    chosen = learned_stops + 0.28 * normal(*key, "choice")
    seconds = _counted(lit.lux[plane], minute, lux, third_stop(believed * 2.0**chosen))

    noise = fact("plate_noise") * normal(*key, "plate speed")
    loss = fact("wait_loss") * max(waited_minutes - 60.0, 0.0) / 60.0
    coat_speed = float(relative_coat_speed(coat_nm))
    needed = exposure.exposure_dose_j_m2(
        plate_speed_iso=fact("plate_speed"), f_number=opening, magnification=scale
    )
    end = minute + seconds / 60.0
    received = between(lit.exposure[plane], minute, end)
    mean_lux = between(lit.lux[plane], minute, end) / seconds
    # what the plate got, taken apart; the parts add up to the whole
    reference = trade.value("exposure", "reference_light") / 1000.0
    parts = {
        "chosen_time": log2(seconds * lux * reference / needed),
        "light_changed": log2(mean_lux / lux),
        "meter": log2(received / (seconds * mean_lux * reference)),
        "coat_speed": log2(coat_speed),
        "long_wait": -loss,
        "plate_drift": drift_stops,
        "plate_noise": noise,
    }
    stops = sum(parts.values())
    middle = minute + min(seconds / 120.0, 300.0)
    low_sun = float(lit.elevation_deg[min(int(middle), lit.elevation_deg.size - 1)]) < LOW_SUN_DEG
    faults = _faults(stops, parts, plane, low_sun=low_sun) + faults_of(
        {"chance_exposure": by_chance("chance_exposure", key)}
    )
    okta = round(float(lit.okta[minute]) + 0.4 * normal(*key, "okta"))
    cells = {
        "lens": lens.name,
        "f_number": f"{opening:g}",
        "subject_plane": plane,
        "coat_to_exposure_minutes": written(waited_minutes, 0),
        "meter_ev": written(read, 1),
        "cloud_okta": str(min(max(okta, 0), 8)),
        "exposure_start": lit.at(minute).isoformat(timespec="seconds"),
        "exposure_seconds": written(seconds, 0),
    }
    hidden = {
        "exposure_stops": plain(stops),
        "exposure_parts_stops": {name: plain(part) for name, part in parts.items()},
        "exposure_light_j_m2": plain(received),
        "learned_stops": plain(learned_stops),
    }
    return Exposed(Done(cells, faults, hidden), seconds / 60.0, stops, verdict_of(stops))


def _counted(lux_sum: Floats, minute: int, lux: float, seconds: float) -> float:
    """Return the seconds given: a long count is kept by the meter, minute by minute."""
    longest = 60.0 * fact("longest_exposure")
    if seconds > METERED_ON:
        end = end_index(lux_sum, float(minute), seconds * lux)
        seconds = longest if isnan(end) else 10.0 * round(6.0 * (end - minute))
    return float(round(min(seconds, longest)))


def verdict_of(stops: float) -> str:
    """Return the verdict on an exposure that far from the middle of right [stops]."""
    right = fact("half_latitude")
    if stops < -right:
        return "blank" if stops < -right - fact("blank_span") else "under"
    if stops <= right:
        return "right"
    return "over" if stops <= right + fact("over_span") else "solarised"


def _faults(
    stops: float, parts: dict[str, float], plane: str, *, low_sun: bool
) -> tuple[Fault, ...]:
    """Return the fault of an exposure off the latitude, named after its largest part."""
    beyond = abs(stops) - fact("half_latitude")
    if beyond <= 0.0:
        return ()
    sign = 1.0 if stops > 0.0 else -1.0
    cause = max(parts, key=lambda name: sign * parts[name])
    if cause == "meter":
        cause = "meter_low_sun" if sign < 0.0 and low_sun and plane == "sun" else "meter_blue_light"
        cause = "light_changed" if sign < 0.0 and cause == "meter_blue_light" else cause
    return (Fault(cause, beyond),)
