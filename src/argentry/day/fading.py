"""What a plate loses while it waits between camera and frame, told where a plan makes it wait."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.needs.development_time import TOLD_STOPS
from argentry.physics.picture.development import fading_stops
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE

if TYPE_CHECKING:
    from argentry.plan.day import Planned

FADES = (
    "Plate {plate} waits {minutes:.0f} min between camera and frame, which costs it about "
    "{stops:.1f} stops of exposure: give it so much more, or have hands and a frame free by then."
)


def waited_minutes(planned: Planned, plate: int) -> float:
    """Return how long a plate waits from the end of its exposure to its development. [min].

    Parameters
    ----------
    planned : Planned
        The plan.
    plate : int
        From 0.
    """
    kinds = [block.kind for block in planned.blocks]
    taken = float(planned.ends[plate, kinds.index(EXPOSURE)])
    put_out = float(planned.starts[plate, kinds.index(DEVELOPMENT)])
    return max(put_out - taken, 0.0) if np.isfinite(taken) else 0.0


def fading_notes(planned: Planned) -> tuple[str, ...]:
    """Return which plates wait so long that it is worth telling."""
    waits = [waited_minutes(planned, plate) for plate in range(planned.placed)]
    return tuple(
        FADES.format(plate=plate, minutes=minutes, stops=fading_stops(minutes))
        for plate, minutes in enumerate(waits, 1)
        if fading_stops(minutes) >= TOLD_STOPS
    )
