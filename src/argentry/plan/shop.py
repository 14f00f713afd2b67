"""What one simulated day is given and what it gives back: the shop, the rule, the run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.plan.tasks import Block

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rule:
    """What the hands prefer.

    Attributes
    ----------
    priority : NDArray[float64], shape (plates, blocks)
        The free hands take the ready block with the smallest value.
    in_hand : int
        Most plates begun and not yet finished at a time.
    not_before : NDArray[float64], shape (plates,)
        No plate is begun before this, even by idle hands. [min]
    """

    priority: Array
    in_hand: int
    not_before: Array


@dataclass(frozen=True)
class Shop:
    """What does not change between simulated days.

    Attributes
    ----------
    blocks : tuple of Block
        A plate's blocks.
    plates : int
        How many plates are wanted.
    workers : int
        Pairs of hands.
    frame_counts : tuple of int
        Frames by kind.
    first_minute : float
        When the first plate may be begun (the room is ready). [min]
    last_minute : float
        When everything must be done. [min]
    breaks : tuple of (float, float)
        When no hands are there. [min]
    strict_breaks : bool
        True for a plan, which keeps every break; on the day itself urgent work goes before it.
    expected_exposure_ends, expected_ripe : NDArray[float64]
        Ends by starting minute on the middle day, shape (m + 1,) and (frames, m + 1);
        what the maker expects when deciding. [min]
    """

    blocks: tuple[Block, ...]
    plates: int
    workers: int
    frame_counts: tuple[int, ...]
    first_minute: float
    last_minute: float
    breaks: tuple[tuple[float, float], ...]
    expected_exposure_ends: Array
    expected_ripe: Array
    strict_breaks: bool = False


@dataclass(frozen=True)
class DayRun:
    """One simulated day.

    Attributes
    ----------
    starts, ends : NDArray[float64], shape (plates, blocks)
        NaN where a block was never begun or never ended. [min]
    frame_kind : NDArray[int64], shape (plates,)
        Kind of frame each plate lay in; -1 for none.
    late : NDArray[float64], shape (plates,)
        Most minutes by which the plate overran a keeping limit, the frame apart. [min]
    lay_ripe : NDArray[float64], shape (plates,)
        Minutes by which it lay ripe in its frame beyond the limit; a card over the frame saves
        it, so it is reported and not counted as lost. [min]
    """

    starts: Array
    ends: Array
    frame_kind: NDArray[np.int64]
    late: Array
    lay_ripe: Array

    @property
    def finished(self) -> NDArray[np.bool_]:
        """Plates whose last block ended that day, shape (plates,)."""
        return np.isfinite(self.ends[:, -1])

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Plates finished with every keeping limit held, shape (plates,)."""
        return self.finished & (self.late <= 0.0)

    @property
    def clean(self) -> NDArray[np.bool_]:
        """Sound plates that never lay ripe in the frame either, shape (plates,)."""
        return self.sound & (self.lay_ripe <= 0.0)

    @property
    def length(self) -> float:
        """End of the last finished plate; NaN when none was finished [min]."""
        last = self.ends[self.finished, -1]
        return float(last.max()) if last.size else float("nan")
