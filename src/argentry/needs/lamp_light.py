"""The light of a lamp over a development frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry import trade
from argentry.physics import lamp
from argentry.physics.sky import development_band, exposure_band

if TYPE_CHECKING:
    from argentry.records.studio import Lamp


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
