"""Filter, dose and lamp of a development: from options, the studio and the trade's usual values.

And the cautions that go with that light: none of a lamp without a lamp, none of the sun under one.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.errors import check_range
from argentry.needs.choose import choose
from argentry.needs.spectra import read_spectrum
from argentry.physics import lamp
from argentry.physics.filter import Leak, leak_density
from argentry.physics.light import light_bands
from argentry.physics.ranges import checked
from argentry.physics.sky import filter_passes
from argentry.physics.stops import Z80
from argentry.records.studio import DevelopmentFrame, Habits, Lamp, Spectrum, lamp_mistake
from argentry.trade import steps as trade_steps
from argentry.trade.readings import FILTER_LAWS
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from argentry.records.needs import StudioNow
    from argentry.records.studio import Studio
    from argentry.sky.sky_day import Filter
    from argentry.trade.cautions import Caution
    from argentry.trade.steps import StepRule

SUN, INDOORS = "sun", "indoors"
EDGE_OF = "edge of the filter {name}"
CUT_ON_RANGE_NM = (500.0, 660.0)  # below it the iodide itself takes light; above, little is left


@dataclass(frozen=True)
class Frame:
    """Filter, dose and lamp asked for; None means the studio's, else the trade's usual value.

    Attributes
    ----------
    frame : str or None
        Name of one of the studio's frames.
    cut_on_nm, transmission, density : float or None
        Of the filter: half-way wavelength [nm], in the red [1], below 450 nm [1].
    dose_kj_m2, dose_sigma_stops : float or None
        To the end point, and its spread between plates. [kJ/m2, stops]
    exposure_stops : float
        How much more than the right exposure the plate had. [stops]
    lamp_w, lamp_m : float or None
        A lamp instead of the sun. [W, m]
    lamp_kind : str or None
        Its kind.
    lamp_width_m, lamp_height_m : float or None
        Its face; a width alone is a diameter. [m]
    lamp_w_m2, lamp_lux : float or None
        Its light read under the filter, in place of power and distance. [W/m2, lx]
    speed_iso : float or None
        Plate speed, for what a leak would do. [ISO]
    waited_min : float
        From the end of the exposure to the start of development. [min]
    filter_spectrum, lamp_spectrum : str or None
        Files of two columns, or generic spectra: the filter's transmission, the lamp's power.
    """

    frame: str | None = None
    cut_on_nm: float | None = None
    transmission: float | None = None
    density: float | None = None
    dose_kj_m2: float | None = None
    dose_sigma_stops: float | None = None
    exposure_stops: float = 0.0
    lamp_w: float | None = None
    lamp_m: float | None = None
    lamp_kind: str | None = None
    lamp_width_m: float | None = None
    lamp_height_m: float | None = None
    lamp_w_m2: float | None = None
    lamp_lux: float | None = None
    speed_iso: float | None = None
    waited_min: float = 0.0
    filter_spectrum: str | None = None
    lamp_spectrum: str | None = None


@dataclass(frozen=True)
class FrameValues(Frame):
    """The frame with filter and speed found.

    Attributes
    ----------
    passes : Spectrum or None
        What the filter passes, where a spectrum of it is known.
    """

    passes: Spectrum | None = None

    @property
    def through(self) -> Filter:
        """The filter as the light asks for it."""
        edge = self.cut_on_nm if self.passes is None else self.passes.curve
        return edge, self.transmission


def frame_values(frame: Frame, studio: Studio | None) -> tuple[FrameValues, Lamp | None]:
    """Return the frame with filter and speed filled in and checked, and its lamp.

    Parameters
    ----------
    frame : Frame
        As asked.
    studio : Studio or None
        Fills up what `frame` leaves open.

    Returns
    -------
    frame : FrameValues
        `dose_kj_m2` and `density` stay None when nobody knows them.
    lamp : Lamp or None
        None for the sun.

    Raises
    ------
    BadInput
        If a value is out of range or a word is not known.
    """
    frames = studio.frames if studio else ()
    own = choose("--frame", frame.frame, frames, "name a studio that has it, or give --cut-on")
    habits = studio.habits if studio else None

    def first(*values: float | None) -> float | None:
        return next((v for v in values if v is not None), None)

    passes = read_spectrum("--filter", frame.filter_spectrum, "filter")
    if passes is None and own is not None and frame.cut_on_nm is frame.transmission is None:
        passes = own.spectrum
    if passes is not None:
        frame = replace(frame, cut_on_nm=passes.half_way_nm, transmission=passes.most)
    cut_on = first(
        frame.cut_on_nm, own.cut_on_nm if own else None, trade.value("light", "filter_cut_on")
    )
    passed = first(
        frame.transmission,
        own.transmission if own else None,
        trade.value("light", "filter_transmission"),
    )
    assert cut_on is not None
    assert passed is not None
    edge = "--cut-on" if passes is None else EDGE_OF.format(name=passes.name)
    check_range(edge, cut_on, *CUT_ON_RANGE_NM, "nm")
    check_range("--transmission", passed, 0.0, 1.0, "", open_low=True)
    if frame.density is not None:
        check_range("--density", frame.density, 0.0, 12.0, "")
    if frame.dose_kj_m2 is not None:
        check_range("--dose", frame.dose_kj_m2, 1.0, 1e5, "kJ/m2")
    asked = {field.name: getattr(frame, field.name) for field in fields(Frame)}
    found = replace(
        FrameValues(**asked, passes=passes),
        cut_on_nm=cut_on,
        transmission=passed,
        density=first(frame.density, own.blocking_density if own else None),
        dose_kj_m2=first(frame.dose_kj_m2, habits.development_dose_kj_m2 if habits else None),
        speed_iso=first(
            frame.speed_iso,
            habits.plate_speed if habits else None,
            trade.value("exposure", "plate_speed"),
        ),
    )
    return found, _lamp_asked(frame, own.lamp if own else None)


# field of a lamp: field of a frame that is asked for, its option, its range
LAMP_SAID = {
    "power_w": ("lamp_w", "--lamp-w", "lamp_power"),
    "distance_m": ("lamp_m", "--lamp-m", "lamp_distance"),
    "width_m": ("lamp_width_m", "--lamp-width", "lamp_side"),
    "height_m": ("lamp_height_m", "--lamp-height", "lamp_side"),
    "reading_w_m2": ("lamp_w_m2", "--lamp-w-m2", "reading_power"),
    "reading_lux": ("lamp_lux", "--lamp-lux", "reading_lux"),
}


def _lamp_asked(frame: Frame, own: Lamp | None) -> Lamp | None:
    """Return the lamp that options name, filled up from the frame's own, or None for the sun."""
    given: dict[str, Any] = {}
    for name, (field, option, allowed) in LAMP_SAID.items():
        if (value := getattr(frame, field)) is not None:
            checked(option, value, "development", allowed)
            given[name] = value
    power = read_spectrum("--lamp-spectrum", frame.lamp_spectrum, "lamp")
    if power is not None:
        given["spectrum"] = power
    if not given and frame.lamp_kind is None:
        return own
    if own is None or {"power_w", "distance_m"} & given.keys():
        asked = Lamp(kind=frame.lamp_kind or "halogen", **given)
    else:  # of the lamp that the frame has: a reading, a size or another kind
        if {"reading_w_m2", "reading_lux"} & given.keys():
            own = replace(own, reading_w_m2=None, reading_lux=None)
        asked = replace(own, kind=frame.lamp_kind or own.kind, **given)
    options = {name: option for name, (_, option, _) in LAMP_SAID.items()}
    if mistake := lamp_mistake("--lamp", asked, options):
        raise mistake
    return asked


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


def lamp_light(own: Lamp, through: Filter, size: str) -> LampLight:
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
        total = lamp.lamp_total_w_m2(own.power_w, *at, plate_m=sides, face_m=face)
        evenness = lamp.lamp_evenness(*at, plate_m=sides, face_m=face)
    bare = lamp.lamp_share(own.kind, violet.wavelength_nm, violet.weight, power)
    return LampLight(
        total * caught, total * bare / trade.value("light", "lens_transmission"), total, evenness
    )


def lamp_of(studio: Studio, frame: DevelopmentFrame, own: Lamp) -> LampLight:
    """Return the light of a lamp over one of a studio's frames, as `lamp_light`."""
    return lamp_light(own, frame.through, studio.habits.plate_size)


def filter_leak(
    density: float | None, passes: Spectrum | None, own: Lamp | None = None
) -> Leak | None:
    """Return how well a filter keeps the violet out: as measured, else by its spectrum, else None.

    Parameters
    ----------
    density : float or None
        Measured. [1]
    passes : Spectrum or None
        What the filter passes.
    own : Lamp or None
        The light over it; None: the sun.
    """
    if density is not None:
        return Leak(density, at_least=False)
    if passes is None:
        return None
    power = None
    if own is not None:
        if own.spectrum is not None:
            power = own.spectrum.curve
        else:
            at = np.arange(300.0, 761.0, 2.0)
            shape = lamp.lamp_spectrum(own.kind, at)
            power = tuple(at.tolist()), tuple(shape.tolist())
    return leak_density(passes.curve, power)


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

    Parameters
    ----------
    own : Lamp
        The lamp.
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
    """Return what a maker should know of a lamp's light on the plate.

    Parameters
    ----------
    own : Lamp
        The lamp.
    lit : LampLight
        Its light.
    """
    if lit.evenness is None or own.distance_m is None:
        return ()
    notes = [LAMP_GUESSED.format(factor=2.0 ** (Z80 * lamp_sigma_stops(own)))]
    face = lamp.lamp_face(own.kind)
    if own.width_m is None and face is not None and own.distance_m < 2.0 * face[0]:
        notes.append(SIZE_GUESSED.format(width=face[0]))
    if lit.evenness < trade.value("development", "evenness_told"):
        notes.append(UNEVEN.format(percent=100.0 * lit.evenness))
    return tuple(notes)


def plate_size_of(now: StudioNow) -> str:
    """Return the studio's usual plate size, else the quarter plate."""
    return now.studio.habits.plate_size if now.studio else Habits().plate_size


def development_cautions(own: Lamp | None) -> tuple[Caution, ...]:
    """Return the cautions of a development under this lamp, or in the sun, and the general one."""
    under = SUN if own is None else own.kind
    rule = trade_steps.by_law("development")
    return (
        *_cautions_under(rule, under),
        trade_steps.cautions()["general"],
    )


def longest_lamp_minutes() -> int:
    """Return how long a development under a lamp is attempted. [min]."""
    return round(trade.value("development", "longest_development") * 60.0)


def cautions_here(studio: Studio, rule: StepRule, frame: int = 0) -> tuple[Caution, ...]:
    """Return the cautions of a step under the light in which it is done.

    Parameters
    ----------
    studio : Studio
        Its frames, and where its subject sits.
    rule : StepRule
        The step.
    frame : int
        Which kind of frame the plate is developed in.
    """
    return _cautions_under(rule, _light(studio, rule, frame))


def _cautions_under(rule: StepRule, light: str) -> tuple[Caution, ...]:
    known = (trade_steps.cautions()[key] for key in rule.cautions)
    return tuple(one for one in known if not one.under or light in one.under)


def _light(studio: Studio, rule: StepRule, frame: int) -> str:
    """Return ``"sun"``, ``"indoors"``, or the kind of lamp that a step is done under."""
    held = trade_steps.resources().get(rule.resource)
    used = getattr(studio, held.of)[frame if held.several else 0] if held and held.of else None
    if isinstance(used, DevelopmentFrame):
        return SUN if used.lamp is None else used.lamp.kind
    return INDOORS if studio.subject.plane == "window" else SUN
