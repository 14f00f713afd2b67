"""Seconds over iodine: one box on one day, the seconds it takes to a coat, and their range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import exp, hypot
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.needs.numbers import box_spread, factor_log_sd
from argentry.physics.coat import film_growth
from argentry.physics.coat.coat_words import colour_word
from argentry.physics.room.air import pressure_at_elevation_pa
from argentry.physics.vapour import fuming, fuming_range
from argentry.records.answers.fume import LastSeconds
from argentry.records.day import Range
from argentry.records.instruments import IodineBox
from argentry.records.studio import Studio


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
    plate_temperature_c, humidity_pct : float or None
        Plate and air of the room; None: as warm as the crystals, and the usual. [°C, %]
    timed : bool
        True when the factor is of coats timed in this box: what is wrong with its gap and with
        iodine's vapour is in it then.
    scatter : float
        How far the studio's timed coats strayed, see `argentry.needs.doubt.compose`. [1]
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
    plate_temperature_c: float | None = None
    humidity_pct: float | None = None
    timed: bool = False
    scatter: float = 1.0

    @property
    def filled(self) -> Mapping[str, Any]:
        """The same with what a film adds, and how full of vapour the box is."""
        return {**self.geometry, "film_resistance": self.film_resistance, "rested": self.rested}

    @property
    def held(self) -> Mapping[str, Any]:
        """Spreads that `argentry.physics.vapour.fuming_range` need not draw."""
        return {"gap_sd_mm": 0.0, "constants_known": True} if self.timed else {}

    @property
    def slowing(self) -> tuple[float, float]:
        """What plate, damp and worked silver add to the logarithm of the seconds; its spread."""
        log, sd = film_growth.slowing(
            self.box_temperature_c, self.plate_temperature_c, self.humidity_pct
        )
        return float(log), float(sd)

    @property
    def geometry(self) -> Mapping[str, Any]:
        """The box as `argentry.physics.vapour.fuming` wants it, without what a film adds."""
        return {
            "box_temperature_c": self.box_temperature_c,
            "gap_mm": self.gap_mm,
            "pressure_pa": self.pressure_pa,
            "cover_share": self.cover_share,
            "crystal_spacing_mm": self.crystal_spacing_mm,
            "box_factor": self.box_factor * exp(self.slowing[0]),
        }


def box_today(
    studio: Studio,
    held_c: float | None = None,
    *,
    humidity_pct: float | None = None,
) -> BoxToday:
    """Return the studio's first box.

    Parameters
    ----------
    studio : Studio
        The studio.
    held_c : float or None
        Temperature of the crystals, as read; None: as the box is held in the studio's room. [°C]
    humidity_pct : float or None
        Of the air as read; None: of the studio's room. [%]
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
        humidity_pct=studio.room.relative_humidity_pct if humidity_pct is None else humidity_pct,
        timed=box.box_factor_log_sd is not None,
        scatter=studio.habits.strayed("fuming") if box.box_factor_log_sd is not None else 1.0,
    )


@lru_cache(maxsize=64)  # every day ahead is coated in the same box
def seconds_over_iodine(box: BoxToday, thickness_nm: float) -> Range:
    """Return the seconds that a plate lies over iodine, with the range of every doubt. [s].

    Parameters
    ----------
    box : BoxToday
        The box.
    thickness_nm : float
        Coat wanted. [nm]
    """
    spread = hypot(box_spread(box.factor_log_sd), box.slowing[1])
    known = box.filled
    low, high = fuming_range.seconds_range(thickness_nm, box_spread=spread, **known, **box.held)
    middle = middle_seconds(box, thickness_nm)
    if middle == 0.0:
        return Range(0.0, 0.0, 0.0)
    ends = (middle * (float(end) / middle) ** box.scatter for end in (low, high))
    return Range(next(ends), middle, next(ends))


def middle_seconds(box: BoxToday, thickness_nm: float) -> float:
    """Return the middle of `seconds_over_iodine` alone. [s]."""
    return float(fuming.seconds_to_thickness(thickness_nm, **box.filled))


def back_over_iodine_s(studio: Studio | None) -> float:
    """Return how long a plate lies back over iodine after its colour was judged. [s]."""
    own = studio.habits.back_over_iodine_s if studio else None
    return trade.value("steps", "reset_seconds") if own is None else own


def coat_after(box: BoxToday, seconds: float) -> float:
    """Return the coat that some seconds over iodine give bare silver, as the box stands. [nm].

    Parameters
    ----------
    box : BoxToday
        The box.
    seconds : float
        Over iodine. [s]
    """
    grown = fuming.thickness_after(
        seconds, **box.geometry, film_resistance=box.film_resistance, rested=box.rested
    )
    return float(grown)


def grown_back(box: BoxToday, seconds: float) -> Range:
    """Return the coat that some seconds back over iodine add after a look at the plate. [nm].

    How full of vapour the box is by then decides, and nobody knows it: from just swept by its lid,
    through settled, to full because it stood shut while the plate was judged.

    Parameters
    ----------
    box : BoxToday
        The box.
    seconds : float
        Over iodine after the look. [s]
    """
    known = {**box.geometry, "film_resistance": box.film_resistance}
    low, high = (
        float(fuming.thickness_after(seconds, rested=way, **known)) for way in (False, True)
    )
    settled = seconds * float(fuming.steady_rate_nm_s(**box.geometry))
    return Range(low, min(max(settled, low), high), high)


def last_seconds(box: BoxToday, thickness_nm: float, seconds: float) -> LastSeconds:
    """Return what the seconds back over iodine add, and the coat to judge before them.

    Parameters
    ----------
    box : BoxToday
        The box.
    thickness_nm : float
        Coat wanted in the end. [nm]
    seconds : float
        Over iodine after the look. [s]
    """
    grown = grown_back(box, seconds)
    judged = max(0.0, thickness_nm - grown.middle)
    known = judged <= trade.value("film", "thickness_high_nm")
    return LastSeconds(
        seconds=seconds,
        grown_nm=grown.middle,
        grown_nm_80=(grown.low, grown.high),
        judged_nm=judged,
        judged_colour=colour_word(judged)[0] if known else None,
        judged_at_seconds=middle_seconds(box, judged),
    )


def computed_seconds(
    box: BoxToday,
    thickness_nm: ArrayLike,
    held_c: ArrayLike,
    plate_c: ArrayLike | None = None,
    humidity_pct: ArrayLike | None = None,
) -> Floats:
    """Return the seconds to many coats in one box on many days: what learning sets beside.

    Parameters
    ----------
    box : BoxToday
        The box.
    thickness_nm, held_c : array_like, shape (n,)
        Coats and the crystals' temperatures. [nm, °C]
    plate_c, humidity_pct : array_like, shape (n,), optional
        Plates and the room's air; NaN where they were not read. [°C, %]
    """
    known = {
        **box.geometry,
        "box_temperature_c": held_c,
        "box_factor": box.box_factor,
        "rested": box.rested,
    }
    log, _ = film_growth.slowing(held_c, plate_c, humidity_pct)
    return np.asarray(fuming.seconds_to_thickness(thickness_nm, **known) * np.exp(log))


def each_log_sd(
    box: BoxToday,
    thickness_nm: ArrayLike,
    held_c: ArrayLike,
    plate_c: ArrayLike | None = None,
    humidity_pct: ArrayLike | None = None,
) -> Floats:
    """Return how far one timed coat is expected to lie off the next, of its logarithm. [1].

    The eye's doubt of the colour at which a coat was called done is in it; a range of seconds to a
    thickness has none.
    """
    thicker = np.asarray(thickness_nm) + trade.value("film", "thickness_doubt_cycle_1_nm")
    eye = np.log(
        computed_seconds(box, thicker, held_c) / computed_seconds(box, thickness_nm, held_c)
    )
    _, slowing = film_growth.slowing(held_c, plate_c, humidity_pct)
    held = np.asarray(held_c, dtype=np.float64)
    cold, warm = (computed_seconds(box, thickness_nm, held + by) for by in (-0.5, 0.5))
    warmth = trade.value("fuming", "temperature_sd") * np.log(cold / warm)
    each = trade.value("fuming", "box_spread")
    return np.asarray(np.sqrt(each**2 + slowing**2 + warmth**2 + eye**2))
