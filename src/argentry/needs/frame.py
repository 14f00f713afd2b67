"""Filter, dose and lamp of a development: from options, the studio and the trade's usual values.

And the cautions that go with that light: none of a lamp without a lamp, none of the sun under one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.needs.choose import choose
from argentry.physics import lamp
from argentry.physics.ranges import checked
from argentry.physics.sky import development_band, exposure_band
from argentry.records.studio import DevelopmentFrame, Lamp
from argentry.trade import steps as trade_steps

if TYPE_CHECKING:
    from argentry.records.studio import Studio
    from argentry.trade.cautions import Caution
    from argentry.trade.steps import StepRule

SUN, INDOORS = "sun", "indoors"
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
    speed_iso : float or None
        Plate speed, for what a leak would do. [ISO]
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
    speed_iso: float | None = None


def frame_values(frame: Frame, studio: Studio | None) -> tuple[Frame, Lamp | None]:
    """Return the frame with filter and speed filled in and checked, and its lamp.

    Parameters
    ----------
    frame : Frame
        As asked.
    studio : Studio or None
        Fills up what `frame` leaves open.

    Returns
    -------
    frame : Frame
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
    check_range("--cut-on", cut_on, *CUT_ON_RANGE_NM, "nm")
    check_range("--transmission", passed, 0.0, 1.0, "", open_low=True)
    if frame.density is not None:
        check_range("--density", frame.density, 0.0, 12.0, "")
    if frame.dose_kj_m2 is not None:
        check_range("--dose", frame.dose_kj_m2, 1.0, 1e5, "kJ/m2")
    found = replace(
        frame,
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
    if frame.lamp_w is None and frame.lamp_m is None:
        if frame.lamp_kind is not None:
            raise BadInput(
                "--lamp", "a kind of lamp without its power", "add --lamp-w and --lamp-m"
            )
        return found, own.lamp if own else None
    if frame.lamp_w is None or frame.lamp_m is None:
        missing = "--lamp-w" if frame.lamp_w is None else "--lamp-m"
        raise BadInput(missing, "only one of --lamp-w and --lamp-m is given", "give both")
    checked("--lamp-w", frame.lamp_w, "development", "lamp_power")
    checked("--lamp-m", frame.lamp_m, "development", "lamp_distance")
    return found, Lamp(frame.lamp_w, frame.lamp_m, frame.lamp_kind or "halogen")


@dataclass(frozen=True)
class LampLight:
    """What a lamp gives at the frame.

    Attributes
    ----------
    development_w_m2 : float
        Behind the red filter. [W/m2]
    violet_w_m2 : float
        Exposure light on the bare filter. [W/m2]
    heat_w_m2 : float
        All of its light and heat. [W/m2]
    """

    development_w_m2: float
    violet_w_m2: float
    heat_w_m2: float


def lamp_light(own: Lamp, cut_on_nm: float, transmission: float) -> LampLight:
    """Return the light of a lamp behind and on a filter.

    Parameters
    ----------
    own : Lamp
        Power, distance and kind.
    cut_on_nm, transmission : float
        The filter's edge and what it passes in the red. [nm, 1]
    """
    lit = (own.power_w, own.distance_m, own.kind)
    red, violet = development_band(cut_on_nm, transmission), exposure_band()
    bare = lamp.lamp_light_w_m2(*lit, violet.wavelength_nm, violet.weight)
    return LampLight(
        lamp.lamp_light_w_m2(*lit, red.wavelength_nm, red.weight),
        bare / trade.value("light", "lens_transmission"),
        lamp.lamp_total_w_m2(*lit),
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
    known = (trade_steps.cautions()[key] for key in rule.cautions)
    return tuple(one for one in known if not one.under or _light(studio, rule, frame) in one.under)


def _light(studio: Studio, rule: StepRule, frame: int) -> str:
    """Return ``"sun"``, ``"indoors"``, or the kind of lamp that a step is done under."""
    held = trade_steps.resources().get(rule.resource)
    used = getattr(studio, held.of)[frame if held.several else 0] if held and held.of else None
    if isinstance(used, DevelopmentFrame):
        return SUN if used.lamp is None else used.lamp.kind
    return INDOORS if studio.subject.plane == "window" else SUN
