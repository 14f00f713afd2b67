"""How a speed wanders from session to session, on a grid of speeds."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from argentry.arrays import Floats

LEAST = 0.3  # of a step of the grid: a smaller drift would not show


def wandered(weights: Floats, shift: Floats, drifts: Floats) -> Floats:
    """Return weights on one grid of which each speed has wandered by its own drift.

    Parameters
    ----------
    weights : NDArray (d, a, b, c)
        Before; `a` are the speeds.
    shift : NDArray (a,)
        The speeds. [stops]
    drifts : NDArray (d,)
        Standard deviation of each. [stops]

    Returns
    -------
    NDArray (d, a, b, c)
        Each adds up to 1.
    """
    key = shift.tobytes()
    spread = [
        np.eye(shift.size) if still(shift, sd) else _spread_by(key, sd) for sd in drifts.tolist()
    ]
    moved = (np.stack(spread) @ weights.reshape(*weights.shape[:2], -1)).reshape(weights.shape)
    return np.asarray(moved / moved.sum(axis=(1, 2, 3), keepdims=True))


def still(shift: Floats, sd: float) -> bool:
    """Return whether a drift is too small for the grid to show it."""
    return bool(sd < LEAST * (shift[1] - shift[0]))


@lru_cache(maxsize=32)  # from session to session by the same few drifts
def _spread_by(shift: bytes, sd: float) -> Floats:
    """Return the share of each speed that comes to be each other one, (a, a)."""
    at = np.frombuffer(shift)
    kernel = np.exp(-0.5 * ((at[:, None] - at[None, :]) / sd) ** 2)
    return np.asarray(kernel / kernel.sum(axis=0))
