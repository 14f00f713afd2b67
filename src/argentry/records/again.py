"""A day's plan made again: where its plates stand, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from argentry.records.day import DayPlan
    from argentry.records.wishes import Sitter


@dataclass(frozen=True)
class AfterStep:
    """What a plate more waits for before it is begun.

    Attributes
    ----------
    plate, step : int, str
        A step of a plate of the standing, counted from 1.
    until : datetime
        Where that is done later, the plate is not begun; UTC.
    """

    plate: int
    step: str
    until: datetime


@dataclass(frozen=True)
class PlateStanding:
    """Where one plate of a day stands.

    Attributes
    ----------
    label : str
        Its label; empty: it is told by its number.
    begun, ended : Mapping[str, datetime]
        When each step was begun, and when it ended or was left out, UTC; after a redo only what
        was done since counts.
    frame : str
        Name of the studio's frame that it lies in; empty for none.
    lost : bool
        True when it was given up or withdrawn: it takes no more hands.
    planned : Mapping[str, datetime]
        Planned start of each step in the plan that stands; empty when it is in none.
    sitter : Sitter or None
        Whose plate it is, when somebody comes for it at a set time.
    polished : bool
        True when it came polished from the evening before.
    ripe : (datetime, float) or None
        While it develops and its own pictures moved its end: that end, UTC, and the standard
        deviation of the natural logarithm of its light. [1]
    after : AfterStep or None
        What it waits for before it is begun, where it was offered so.
    """

    label: str = ""
    begun: Mapping[str, datetime] = field(default_factory=dict)
    ended: Mapping[str, datetime] = field(default_factory=dict)
    frame: str = ""
    lost: bool = False
    planned: Mapping[str, datetime] = field(default_factory=dict)
    sitter: Sitter | None = None
    polished: bool = False
    ripe: tuple[datetime, float] | None = None
    after: AfterStep | None = None


@dataclass(frozen=True)
class PlanAgain:
    """A plan made again.

    Attributes
    ----------
    plan : DayPlan
        Plate n of its steps is plate n of the standing, from 1; plates that are lost, left out or
        not finished have no steps.
    moved : tuple of (int, str)
        Plate and step whose planned start moved by more than a few minutes.
    left_out : tuple of int
        Plates not begun that no longer fit.
    not_finished : tuple of int
        Plates begun that the day will not finish, as far as can be foreseen.
    one_more : bool
        True when one more plate than the standing has would fit.
    lines : tuple of str
        What changed, in words, the most important first; empty when nothing is worth telling.
    kept_share, share : float or None
        Chance that all plates are finished when the old order is kept, and by this plan; None for
        the old one where it holds other plates, for this one where it holds none. [1]
    more_after : AfterStep or None
        What one more plate waits for; None: for nothing.
    """

    plan: DayPlan
    moved: tuple[tuple[int, str], ...]
    left_out: tuple[int, ...]
    not_finished: tuple[int, ...]
    one_more: bool
    lines: tuple[str, ...]
    kept_share: float | None
    share: float | None
    more_after: AfterStep | None = None
