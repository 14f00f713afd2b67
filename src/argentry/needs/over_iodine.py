"""Seconds over iodine: one box on one day, the seconds it takes to a coat, and their range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from argentry.needs.numbers import box_spread, factor_log_sd
from argentry.physics import fuming, fuming_range
from argentry.physics.air import pressure_at_elevation_pa
from argentry.records.day import Range

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    from argentry.records.studio import IodineBox, Studio


@dataclass(frozen=True)
class BoxToday:
    """An iodine box as it stands.

    Attributes
    ----------
    name : str or None
        Of the studio's box; None for one that only options describe.
    box_temperature_c : float
        The crystals' temperature. [°C]
    gap_mm, crystal_spacing_mm : float
        Crystals to plate, crystal to crystal. [mm]
    cover_share : float
        Share of the floor under crystals. [1]
    pressure_pa : float
        Of the air. [Pa]
    rested : bool
        True when it stood shut for minutes.
    box_factor : float
        Measured seconds over computed seconds. [1]
    factor_log_sd : float
        How well the factor is known: standard deviation of its logarithm. [1]
    film_resistance : float or None
        Of a film that slows itself. [s/m2]
    """

    name: str | None
    box_temperature_c: float
    gap_mm: float
    crystal_spacing_mm: float
    cover_share: float
    pressure_pa: float
    rested: bool
    box_factor: float
    factor_log_sd: float
    film_resistance: float | None = None

    @property
    def geometry(self) -> Mapping[str, Any]:
        """The box as `argentry.physics.fuming` wants it, without what a film adds."""
        return {
            "box_temperature_c": self.box_temperature_c,
            "gap_mm": self.gap_mm,
            "pressure_pa": self.pressure_pa,
            "cover_share": self.cover_share,
            "crystal_spacing_mm": self.crystal_spacing_mm,
            "box_factor": self.box_factor,
        }


def box_today(studio: Studio, held_c: float | None = None) -> BoxToday:
    """Return the studio's first box.

    Parameters
    ----------
    studio : Studio
        The studio.
    held_c : float or None
        Temperature of the crystals, as read; None: as the box is held in the studio's room. [°C]
    """
    box: IodineBox = studio.boxes[0]
    return BoxToday(
        name=box.name,
        box_temperature_c=box.held_c(studio.room.temperature_c) if held_c is None else held_c,
        gap_mm=box.gap_mm,
        crystal_spacing_mm=box.crystal_spacing_mm,
        cover_share=box.cover_share,
        pressure_pa=float(pressure_at_elevation_pa(studio.site.elevation_m)),
        rested=box.rested,
        box_factor=box.box_factor,
        factor_log_sd=factor_log_sd(box),
    )


def seconds_over_iodine(box: BoxToday, thickness_nm: float) -> Range:
    """Return the seconds that a plate lies over iodine, with the range of every doubt. [s].

    Parameters
    ----------
    box : BoxToday
        The box.
    thickness_nm : float
        Coat wanted. [nm]
    """
    known = {**box.geometry, "film_resistance": box.film_resistance, "rested": box.rested}
    low, high = fuming_range.seconds_range(
        thickness_nm, box_spread=box_spread(box.factor_log_sd), **known
    )
    middle = fuming.seconds_to_thickness(thickness_nm, **known)
    return Range(float(low), float(middle), float(high))


def computed_seconds(
    box: BoxToday, thickness_nm: ArrayLike, held_c: ArrayLike
) -> NDArray[np.float64]:
    """Return the seconds to many coats in one box at many temperatures: what learning sets beside.

    Parameters
    ----------
    box : BoxToday
        The box.
    thickness_nm, held_c : array_like, shape (n,)
        Coats and the crystals' temperatures. [nm, °C]
    """
    known = {**box.geometry, "box_temperature_c": held_c, "rested": box.rested}
    return fuming.seconds_to_thickness(thickness_nm, **known)
