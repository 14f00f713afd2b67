"""Why plates are missed on simulated days: for want of light, of a frame, of hands or of time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.daylight import ALL_DAY
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, fading_blocks, frame_span

if TYPE_CHECKING:
    from argentry.arrays import Floats, Truth
    from argentry.plan.day import Planned

JUST = 1e-6


def too_dark(planned: Planned, served: Truth) -> Truth:
    """Return the simulated days on which a plate is missed for want of light, shape (days,).

    Parameters
    ----------
    planned : Planned
        A plan with its simulated days.
    served : Truth, shape (k,)
        In which weathers the light serves the plan, of `light_serves` of `argentry.day.tables`.
    """
    days = planned.days
    assert days is not None
    pose, light = (i for i, b in enumerate(planned.blocks) if b.kind in (EXPOSURE, DEVELOPMENT))
    never_ripe = np.isfinite(days.starts[:, :, light]) & ~np.isfinite(days.ends[:, :, light])
    dark = ~served[np.arange(len(days.sound)) % served.size]
    never_begun = ~np.isfinite(days.starts[:, :, pose]) & dark[:, None]
    return np.asarray(~days.sound.all(axis=1) & (never_ripe | never_begun).any(axis=1))


def missed_by_cause(
    planned: Planned, frames: int, served: Truth, last_minute: float
) -> dict[str, float]:
    """Return the share of simulated days on which not every plate is finished, by its first cause.

    Parameters
    ----------
    planned : Planned
        A plan with its simulated days.
    frames : int
        How many there are, of all kinds.
    served : Truth, shape (k,)
        As of `too_dark`.
    last_minute : float
        End of the hours. [min]

    Returns
    -------
    dict of str to float
        ``"sitter"``: a sitter's pose does not begin in time; ``"light"``: any other day of
        `too_dark`; a keeping limit is overrun, ``"frames"``: while every frame is taken, or
        ``"hands"``; ``"hours"``: the day ends first. [1]
    """
    days = planned.days
    assert days is not None
    missed = ~days.sound.all(axis=1)
    pose = next(i for i, b in enumerate(planned.blocks) if b.kind == EXPOSURE)
    seated = [planned.special_of(p) for p in range(days.starts.shape[1])]
    waits = np.array([s is not None and s.light.window != ALL_DAY for s in seated], dtype=np.bool_)
    unseated = missed & (~np.isfinite(days.starts[:, :, pose]) & waits).any(axis=1)
    light = too_dark(planned, served) & ~unseated
    take, free = frame_span(planned.blocks)
    limited = [i for i in fading_blocks(planned.blocks) if i != free]
    over = [_overrun(planned, i, last_minute)[0].any(axis=1) for i in limited]
    limit = missed & ~unseated & ~light & np.any(over, axis=0)
    no_frame = limit & _waits_for_a_frame(planned, frames, (take, free), last_minute)
    shares = {
        "sitter": unseated,
        "light": light,
        "frames": no_frame,
        "hands": limit & ~no_frame,
        "hours": missed & ~unseated & ~light & ~limit,
    }
    return {cause: float(days.mean()) for cause, days in shares.items()}


def _overrun(planned: Planned, block: int, last_minute: float) -> tuple[Truth, Floats]:
    """Return which plates do not begin a block within its limit, and when they had to [min].

    Both have the shape (days, plates). A limit that ends after the hours is not overrun.
    """
    days, within = planned.days, planned.blocks[block].within
    assert days is not None
    due = days.ends[:, :, block - 1] + (np.inf if within is None else within)
    start = np.nan_to_num(days.starts[:, :, block], nan=np.inf)
    return (start > due + JUST) & (due < last_minute), due


def _waits_for_a_frame(
    planned: Planned, frames: int, span: tuple[int, int], last_minute: float
) -> Truth:
    """Return the days on which a plate has to go into a frame while every one is taken."""
    days, (take, free) = planned.days, span
    assert days is not None
    late, due = _overrun(planned, take, last_minute)
    taken = (days.starts[:, None, :, take] <= due[:, :, None]) & ~(
        days.starts[:, None, :, free] <= due[:, :, None]
    )
    return np.asarray((late & (taken.sum(axis=2) >= frames)).any(axis=1))
