"""How well an answer is known: its parts in stops, and what a measurement would take out of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot


@dataclass(frozen=True)
class DoubtPart:
    """One cause of doubt.

    Attributes
    ----------
    cause : str
        In words: ``"plate speed"``, ``"cloud"``, ``"lamp"`` ...
    sigma_stops : float
        Standard deviation. [stops]
    shared : bool
        True when all plates of a day miss alike; false when each plate has its own.
    """

    cause: str
    sigma_stops: float
    shared: bool = True


@dataclass(frozen=True)
class Narrowed:
    """What a measurement would leave of a doubt.

    Attributes
    ----------
    by : str
        The measurement, in words.
    sigma_stops : float
        Standard deviation after it. [stops]
    """

    by: str
    sigma_stops: float


@dataclass(frozen=True)
class Doubt:
    """All that is not known of an answer.

    Attributes
    ----------
    sigma_stops : float
        Standard deviation of the whole; 1.28 of it either way hold four cases in five. [stops]
    parts : tuple of DoubtPart
        Largest first.
    narrowed : tuple of Narrowed
        What measurements would leave of it, the best first.
    scatter : float
        How many times as far as said before them the studio's plates strayed; the parts that they
        could show are told, and counted, so many times as large. [1]
    """

    sigma_stops: float
    parts: tuple[DoubtPart, ...]
    narrowed: tuple[Narrowed, ...] = ()
    scatter: float = 1.0

    @property
    def shared_stops(self) -> float:
        """Return what all plates of a day share of it, as a standard deviation. [stops]."""
        return together(part for part in self.parts if part.shared)

    @property
    def each_stops(self) -> float:
        """Return what each plate has of its own of it, as a standard deviation. [stops]."""
        return together(part for part in self.parts if not part.shared)


def together(parts: Iterable[DoubtPart]) -> float:
    """Return the standard deviation that independent parts make together. [stops]."""
    return hypot(*(part.sigma_stops for part in parts))
