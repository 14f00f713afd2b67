"""Filter, dose and lamp of a development: from options, the studio and the trade's usual values.

And the cautions that go with that light: none of a lamp without a lamp, none of the sun under one.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.errors import check_range
from argentry.needs.named_files.spectra import read_spectrum
from argentry.physics.lights import lamp
from argentry.physics.lights.filter import Leak, leak_density
from argentry.physics.ranges import checked
from argentry.records.instruments import DevelopmentFrame, Lamp, Spectrum, choose, lamp_mistake
from argentry.records.studio import Habits
from argentry.trade import steps as trade_steps

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


def cautions_here(studio: Studio, rule: StepRule, frame: int = 0) -> tuple[Caution, ...]:
    """Return the cautions of a step under the light in which it is done."""
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
