"""How much silver polishing takes off each plate, as its weighings say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from argentry.physics.baths.plating import (
    Doubtful,
    passes_left,
    worn_chance,
)
from argentry.physics.stops import Z80
from argentry.trade.facts import value


@dataclass(frozen=True)
class PlateWear:
    """What silver is left on one plate.

    Attributes
    ----------
    plate : str
        Its label.
    size : str
        Its size; empty when the book does not say.
    silver_um : float or None
        As plated; null when the book does not say. [µm]
    repolishes : int
        How often an image was polished back since it was plated.
    weighings : int
        Weighings since it was plated.
    left_um, left_low_um, left_high_um : float or None
        Silver left with its 80 % range; null when the first silver is not known. [µm]
    repolishes_left, repolishes_left_low, repolishes_left_high : float or None
        How many more it bears, with its 80 % range. [times]
    worn_chance : float or None
        Chance that one more repolish leaves less than the least silver. [1]
    worn : bool
        True when that chance is too large: the plate is not chosen.
    ready : bool
        True when no picture is on it: it is new, or was polished back or plated since.
    """

    plate: str
    size: str
    silver_um: float | None
    repolishes: int
    weighings: int
    left_um: float | None = None
    left_low_um: float | None = None
    left_high_um: float | None = None
    repolishes_left: float | None = None
    repolishes_left_low: float | None = None
    repolishes_left_high: float | None = None
    worn_chance: float | None = None
    worn: bool = False
    ready: bool = True


@dataclass(frozen=True)
class Wear:
    """The silver of all plates.

    Attributes
    ----------
    plates : tuple of PlateWear
        By label.
    choose : tuple of str
        Plates without a picture that may be used, the one with most silver first.
    worn : tuple of str
        Plates without a picture that would be worn through: have them silvered again.
    each_um, each_sd_um : float
        What one repolish takes, and one standard deviation. [µm]
    weighed : int
        Weighings from which that was learned; 0: the trade's starting value.
    least_um : float
        Silver below which a plate counts as worn. [µm]
    """

    plates: tuple[PlateWear, ...]
    choose: tuple[str, ...]
    worn: tuple[str, ...]
    each_um: float
    each_sd_um: float
    weighed: int
    least_um: float


def wear(
    label: str, size: str, silver_um: float | None, repolishes: int, weighings: int,
    left: Doubtful | None, each: Doubtful, *, ready: bool = True,
) -> PlateWear:  # fmt: skip
    """Return what silver is left on a plate, in words of numbers.

    Parameters
    ----------
    label, size, silver_um, repolishes, weighings
        As in `PlateWear`.
    left : Doubtful or None
        Silver left; None when it is not known. [µm]
    each : Doubtful
        What one repolish takes. [µm]
    ready : bool
        As in `PlateWear`.
    """
    if left is None:
        return PlateWear(label, size, silver_um, repolishes, weighings, ready=ready)
    chance = worn_chance(left, each)
    low, middle, high = passes_left(left, each)
    return PlateWear(
        label, size, silver_um, repolishes, weighings,
        left.value, max(0.0, left.value - Z80 * left.sd), left.value + Z80 * left.sd,
        middle, low, high, chance, chance > value("plating", "worn_chance"), ready,
    )  # fmt: skip


def in_order(plates: Sequence[PlateWear], each: Doubtful, weighings: int) -> Wear:
    """Return the plates with which to choose, and which are worn."""
    free = [one for one in plates if one.ready]
    sound = [one for one in free if one.left_um is not None and not one.worn]
    sound.sort(key=lambda one: -(one.left_um or 0.0))
    return Wear(
        plates=tuple(plates),
        choose=tuple(one.plate for one in sound),
        worn=tuple(one.plate for one in free if one.worn),
        each_um=each.value,
        each_sd_um=each.sd,
        weighed=weighings,
        least_um=value("plating", "silver_least"),
    )
