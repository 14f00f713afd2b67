"""Conditions in a studio's own spreads, and what is expected of those that were not read."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.stops import Z80

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.arrays import Floats, Truth, Whole
    from argentry.learn.stages.table import StageTable


LEAST_READ = 5  # readings below which a condition cannot be judged
_FAR = 3.0  # spreads beyond which a reading counts no more


def spreads(table: StageTable) -> tuple[Floats, Floats]:
    """Return middle and spread of each condition of a stage in this studio, in trade widths, (p,).

    NaN for a condition that was never read.
    """
    middles, widths = np.full((2, len(table.conditions)), np.nan)
    for j, condition in enumerate(table.conditions):
        column = table.x[:, j]
        seen = column[np.isfinite(column)]
        if not seen.size:
            continue
        if condition.form == "switch":
            middle, spread = seen.mean(), max(float(seen.std()), 0.15)
        else:
            low, middle, high = np.quantile(seen, [0.1, 0.5, 0.9])
            spread = max((high - low) / (2.0 * Z80), 0.5 * float(seen.std()), 0.2)
            if condition.form == "window":  # the trade's best value where the studio works near it
                middle = np.clip(0.0, *np.quantile(seen, [0.25, 0.75]))
        middles[j], widths[j] = middle, spread
    return middles, widths


def spread_out(x: Floats, middle: Floats, spread: Floats) -> Floats:
    """Return conditions (n, p) in the studio's own spreads around its middle, (n, p)."""
    return np.asarray(np.clip((x - middle) / spread, -_FAR, _FAR))


def fill(x: Floats, session: Whole) -> tuple[Floats, Floats]:
    """Return `x` with missing values as expected from the rest of their plate and session.

    Parameters
    ----------
    x : Floats
        (plates, columns), NaN where missing.
    session : Whole
        (plates,).

    Returns
    -------
    tuple of Floats
        Both (plates, columns): filled values, and their variance (0 where read).
    """
    read = np.isfinite(x)
    filled, doubt = np.where(read, x, 0.0), np.where(read, 0.0, 1.0)
    if read.all():
        return filled, doubt
    count = read.sum(axis=0)
    mean = np.divide(filled.sum(axis=0), count, out=np.zeros(x.shape[1]), where=count > 0)
    centred = np.where(read, x - mean, 0.0)
    pairs = read.T.astype(float) @ read
    # shrunk towards no relation, as few pairs say little; the diagonal keeps its own variance
    covariance = centred.T @ centred / (pairs + 10.0)
    variance = np.where(count > 1, (centred**2).sum(axis=0) / np.maximum(count, 1), 1.0)
    np.fill_diagonal(covariance, np.maximum(variance, 1e-3))
    of = np.unique(session, return_inverse=True)[1]
    for pattern in np.unique(read, axis=0):
        if pattern.all():
            continue
        rows = np.flatnonzero((read == pattern).all(axis=1))
        gone, known = ~pattern, pattern
        inner = covariance[np.ix_(known, known)]
        ridge = inner + 0.1 * np.diag(np.diag(inner))
        gain = np.linalg.solve(ridge, covariance[np.ix_(known, gone)]) if known.any() else None
        filled[np.ix_(rows, gone)] = mean[gone]
        doubt[np.ix_(rows, gone)] = np.diag(covariance)[gone]
        if gain is not None:
            filled[np.ix_(rows, gone)] += centred[np.ix_(rows, known)] @ gain
            explained = np.einsum("kg,kg->g", gain, covariance[np.ix_(known, gone)])
            doubt[np.ix_(rows, gone)] = np.maximum(np.diag(covariance)[gone] - explained, 0.02)
    _from_session(filled, doubt, read, centred, mean, of)
    return filled, doubt


def _from_session(
    filled: Floats,
    doubt: Floats,
    read: Truth,
    centred: Floats,
    mean: Floats,
    of: NDArray[np.intp],
) -> None:
    """Take a missing value from the other plates of its session where these agree among them."""
    sessions = int(of.max()) + 1
    count = np.zeros((sessions, read.shape[1]))
    total = np.zeros_like(count)
    square = np.zeros_like(count)
    np.add.at(count, of, read.astype(float))
    np.add.at(total, of, centred)
    np.add.at(square, of, centred**2)
    within = np.where(count > 1, square - total**2 / np.maximum(count, 1.0), 0.0).sum(axis=0)
    free = np.maximum(count - 1.0, 0.0).sum(axis=0)
    spread = square.sum(axis=0) / np.maximum(count.sum(axis=0), 1.0)
    for j in np.flatnonzero(free >= LEAST_READ):
        noise = within[j] / free[j]
        shared = max(float(spread[j]) - noise, 0.0)
        told = count[of, j]
        here = ~read[:, j] & (told > 0)
        gain = shared / (shared + noise / np.maximum(told, 1.0) + 1e-9)
        left = np.maximum(shared * (1.0 - gain) + noise, 0.02)
        better = here & (left < doubt[:, j])
        at = total[of, j] / np.maximum(told, 1.0)
        filled[better, j] = mean[j] + (gain * at)[better]
        doubt[better, j] = left[better]
