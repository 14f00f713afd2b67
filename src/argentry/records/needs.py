"""The studio's own numbers as an answer used them, and the studio they make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from argentry.records.decision import Learned
    from argentry.records.studio import Studio


@dataclass(frozen=True)
class NumberInUse:
    """One of the studio's own numbers as an answer used it.

    Attributes
    ----------
    what : str
        ``"plate_speed"``, ``"plate_noise"``, ``"box_factor"`` or ``"development_dose"``.
    value, low, high : float
        The number, and the range that holds it in 80 % of cases. [unit]
    unit : str
        Its unit.
    source : str
        ``"given"`` as an option, ``"learned"`` from the plates, ``"other studios"`` whose files
        were adopted, ``"studio file"`` or ``"trade"`` (the trade's starting value).
    plates : int
        Plates behind it; 0 for one that was not learned.
    day : date or None
        Of the last of them.
    of : str
        The box it belongs to; empty when it is the studio's.
    before : float or None
        The number without the plates of that last day; null for one that was not learned. [unit]
    """

    what: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    plates: int = 0
    day: date | None = None
    of: str = ""
    before: float | None = None


@dataclass(frozen=True)
class StudioNow:
    """A studio with what its plates have taught in the place of what was believed.

    Attributes
    ----------
    studio : Studio or None
        None when a command is used without a studio.
    learned : tuple of Learned
        The numbers that were put in; empty when none were learned or none are wanted.
    as_written : bool
        True when learned numbers were left out because that was asked for.
    """

    studio: Studio | None = None
    learned: tuple[Learned, ...] = ()
    as_written: bool = False
