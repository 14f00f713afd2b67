"""The plan of a run: when each step of each plate is planned, and a new plan that is offered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class PlannedTime:
    """When the plan that stands begins and ends a step.

    Attributes
    ----------
    start : datetime
        Planned begin, UTC.
    end : datetime or None
        Planned end, UTC; null in runs opened before it was written down.
    latest : datetime or None
        Latest start by the clock, UTC; null where what ended before decides, or it is not known.
    limit : str
        What its keeping limit runs from, in words: ``"within 15 min of ripe"``; empty without one.
    held : str
        Name of the box, camera or frame that it is planned in; empty for none.
    """

    start: datetime
    end: datetime | None
    latest: datetime | None
    limit: str = ""
    held: str = ""


@dataclass(frozen=True)
class MorePlate:
    """A plate that may be taken into a run beyond those it was opened with.

    Attributes
    ----------
    id : str
        Its id, made with the offer: taken twice it is still one plate.
    label : str
        Its label.
    once : tuple of str
        Keys of steps done once for the whole run, which it leaves out.
    """

    id: str
    label: str
    once: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlanOffer:
    """A new plan that was offered and neither taken nor turned down.

    Attributes
    ----------
    event : str
        Id of the event that offers it.
    at : datetime
        When, UTC.
    why : str
        What made it, in words.
    lines : tuple of str
        What changes, in words, the most important first.
    moved : tuple of (str, str)
        Plate and step whose planned start moves.
    left_out : tuple of str
        Ids of plates not begun that no longer fit.
    kept_share, share : float or None
        Chance that all plates finish by the old order, and by this plan; null for the old one where
        it held other plates. [1]
    more : MorePlate or None
        The plate more that there is time for; null for none, or once it was taken.
    """

    event: str
    at: datetime
    why: str
    lines: tuple[str, ...]
    moved: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]
    kept_share: float | None
    share: float | None
    more: MorePlate | None = None
