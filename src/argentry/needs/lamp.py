"""What a lamp over a frame gives, how well that is known, and what a maker should know of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from argentry import trade
from argentry.physics.lights import lamp
from argentry.physics.lights.bands import filter_passes
from argentry.physics.lights.light import light_bands
from argentry.physics.stops import Z80
from argentry.trade.readings import FILTER_LAWS
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from argentry.records.instruments import DevelopmentFrame, Lamp
    from argentry.records.studio import Studio
    from argentry.sky.sky_day import Filter


LOGGED = "halogen"  # the kind of lamp that makers' notes of hours are of


@dataclass(frozen=True)
class LampLight:
    """What a lamp gives at the frame.

    Attributes
    ----------
    development_w_m2 : float
        Behind the red filter, the mean over the plate. [W/m2]
    violet_w_m2 : float
        Exposure light on the bare filter. [W/m2]
    heat_w_m2 : float
        All of its light and heat. [W/m2]
    evenness : float or None
        Light at the plate's corners over that at its middle; None where a reading stands. [1]
    """

    development_w_m2: float
    violet_w_m2: float
    heat_w_m2: float
    evenness: float | None = None


def lamp_light(own: Lamp, through: Filter, size: str, dose_kj_m2: float | None = None) -> LampLight:
    """Return the light of a lamp behind and on a filter.

    By a reading under the filter where there is one, else by power, distance and sizes.

    Parameters
    ----------
    own : Lamp
        The lamp.
    through : (float or Curve or None, float or None)
        The filter's edge [nm] or spectrum, and what it passes in the red. [1]
    size : str
        Of the plate: a name of ``sizes.toml``.
    dose_kj_m2 : float or None
        What plates need to be ripe, see `gain_times`; None: the trade's. [kJ/m2]
    """
    violet, red, _, eye = light_bands(None, *through)
    power = own.spectrum.curve if own.spectrum else None
    caught = lamp.lamp_share(own.kind, red.wavelength_nm, red.weight, power)
    evenness = None
    if own.reading_w_m2 is not None:
        total = own.reading_w_m2 / caught
    elif own.reading_lux is not None:
        seen = eye.weight * filter_passes(eye.wavelength_nm, *through)
        total = own.reading_lux / lamp.lamp_share(own.kind, eye.wavelength_nm, seen, power)
    else:
        assert own.power_w is not None
        assert own.distance_m is not None
        plate, face = plate_size(size), (own.width_m, own.height_m)
        sides = (plate.width_mm / 1000.0, plate.height_mm / 1000.0)
        at = (own.distance_m, own.kind)
        total = lamp.lamp_total_w_m2(
            own.power_w, *at, plate_m=sides, face_m=face, gain_times=gain_times(own, dose_kj_m2)
        )
        evenness = lamp.lamp_evenness(*at, plate_m=sides, face_m=face)
    bare = lamp.lamp_share(own.kind, violet.wavelength_nm, violet.weight, power)
    return LampLight(
        total * caught, total * bare / trade.value("light", "lens_transmission"), total, evenness
    )


def lamp_of(studio: Studio, frame: DevelopmentFrame, own: Lamp) -> LampLight:
    """Return the light of a lamp over one of a studio's frames, as `lamp_light`."""
    habits = studio.habits
    return lamp_light(own, frame.through, habits.plate_size, habits.development_dose_kj_m2)


def by_log(own: Lamp) -> bool:
    """Return whether a lamp's light is known by watts and by makers' notes of such lamps."""
    by_watts = own.reading_w_m2 is None and own.reading_lux is None
    return by_watts and own.kind == LOGGED


def gain_times(own: Lamp, dose_kj_m2: float | None) -> float:
    """Return how much more such a lamp gives than the trade says, if plates need this dose. [1].

    Makers' notes tell how long plates took under halogen lamps, not what these gave: the more light
    plates need, the more those lamps must have given.

    Parameters
    ----------
    own : Lamp
        The lamp.
    dose_kj_m2 : float or None
        None: the trade's, for which its word holds. [kJ/m2]
    """
    if dose_kj_m2 is None or not by_log(own):
        return 1.0
    share = trade.value("development", "halogen_log_share")
    return float((dose_kj_m2 / trade.value("development", "dose")) ** share)


def lamp_read(own: Lamp, law: str, value: float) -> Lamp:
    """Return a lamp with a reading under its filter in place of what was known of it.

    Parameters
    ----------
    own : Lamp
        The lamp.
    law : str
        One of `argentry.trade.readings.FILTER_LAWS`.
    value : float
        In the unit of the law.
    """
    watts = FILTER_LAWS[law] == "W/m2"
    return replace(own, reading_w_m2=value if watts else None, reading_lux=None if watts else value)


def lamp_sigma_stops(own: Lamp) -> float:
    """Return how well a lamp's light on the plate is known: a standard deviation. [stops].

    A reading under the filter is known much better than a lamp's watts.
    """
    if own.reading_w_m2 is not None:
        return trade.value("development", "reading_power_sigma")
    if own.reading_lux is not None:
        return trade.value("development", "reading_lux_sigma")
    return trade.value("development", f"{lamp.lamp_key(own.kind)}_sigma")


LAMP_GUESSED = (
    "The lamp's light is a rough figure, known by its watts to {factor:.1f} times either way: "
    "measure it under the filter (W/m² or lx), or look often."
)
SIZE_GUESSED = (
    "The size of the lamp's face is assumed ({width:g} m): so close to the plate it decides the "
    "light, so give its width and height."
)
UNEVEN = (
    "The corners of the plate get {percent:.0f} % of the light in the middle: move the lamp "
    "farther away."
)


def lamp_notes(own: Lamp, lit: LampLight) -> tuple[str, ...]:
    """Return what a maker should know of a lamp's light on the plate."""
    if lit.evenness is None or own.distance_m is None:
        return ()
    notes = [LAMP_GUESSED.format(factor=2.0 ** (Z80 * lamp_sigma_stops(own)))]
    face = lamp.lamp_face(own.kind)
    if own.width_m is None and face is not None and own.distance_m < 2.0 * face[0]:
        notes.append(SIZE_GUESSED.format(width=face[0]))
    if lit.evenness < trade.value("development", "evenness_told"):
        notes.append(UNEVEN.format(percent=100.0 * lit.evenness))
    return tuple(notes)


def longest_lamp_minutes() -> int:
    """Return how long a development under a lamp is attempted. [min]."""
    return round(trade.value("development", "longest_development") * 60.0)
