"""What would have been predicted for each plate before it was seen, in one pass over the log.

Each stage keeps a normal belief in its unknowns and sharpens it plate by plate, matching mean and
variance after each (assumed-density filtering). It is coarser than the full posterior, so a running
score that beats the base rate is earned. Several sizes of the drift between sessions run side by
side, and the plates decide between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.stages.likelihood import log_cdf, normal_cdf
from argentry.learn.stages.unknowns import DRIFT_MEMORY, USUAL_VARIANCE, prior_of, unknowns_of
from argentry.trade.conditions import drifts, strengths

if TYPE_CHECKING:
    from argentry.arrays import Floats, Whole
    from argentry.learn.stages.table import StageTable
    from argentry.learn.stages.unknowns import Unknowns
    from argentry.trade.conditions import StagePrior


@dataclass(frozen=True)
class Predictions:
    """One pass over a stage's log.

    Attributes
    ----------
    probability : ndarray (m,)
        P(ok) of each plate of the log, before it was seen; the stage's mean where it was not
        reached and nothing is known.
    drift : float
        Standard deviation of the drift between sessions, as the plates speak for it. [probit]
    strength : float
        How much conditions matter against what is believed, as the plates speak for it. [1]
    """

    probability: Floats
    drift: float
    strength: float


def predict_in_order(table: StageTable, stage: StagePrior, session: Whole) -> Predictions:
    """Return what would have been predicted for each plate.

    Parameters
    ----------
    table : StageTable
        The plates that reached the stage.
    stage : StagePrior
        What was believed of it.
    session : ndarray (m,) of int
        Session of every plate of the log, in order of time.

    Returns
    -------
    Predictions
        Probabilities by plate.
    """
    conditions, x = [table.conditions[i] for i in table.seen], table.every[:, table.seen]
    unknowns = unknowns_of(conditions, gaps=0, sessions=0)
    strength = np.tile(list(strengths()), len(drifts()))
    drift = np.repeat(list(drifts()), len(strengths()))
    vote = np.log(np.outer(list(drifts().values()), list(strengths().values())).ravel())
    priors = [prior_of(unknowns, conditions, stage, factor) for factor in strength]
    # the last unknown is the drift of the session now running, in units of its spread
    mean = np.stack([np.append(prior.mean, 0.0) for prior in priors])
    cover = np.stack([np.diag(np.append(prior.sd**2, 1.0)) for prior in priors])
    moments = _moments_before(x)
    told: dict[int, list[int]] = {}
    for k, row in enumerate(table.row):
        told.setdefault(int(row), []).append(k)
    out, last = np.empty(x.shape[0]), int(session[0]) if session.size else 0
    for i in range(x.shape[0]):
        if session[i] != last:
            stay = DRIFT_MEMORY ** (int(session[i]) - last)
            mean[:, -1] *= stay
            cover[:, -1, :] *= stay
            cover[:, :, -1] *= stay
            cover[:, -1, -1] += 1.0 - stay**2
            last = int(session[i])
        along, spread, z = _seen(unknowns, mean, cover, x[i], *moments[i], drift)
        weight = np.exp(vote - vote.max())
        out[i] = float(weight @ normal_cdf(z) / weight.sum())
        for k in told.get(i, ()):
            side = 1.0 if table.low[k] == 2 else -1.0
            log_p = log_cdf(side * z)
            ratio = np.exp(-0.5 * z**2 - log_p) / sqrt(2.0 * pi)
            count = table.weight[k]
            vote = vote + count * log_p
            pull = count * side * ratio / np.sqrt(spread)
            bend = count * ratio * (ratio + side * z) / spread
            mean = mean + along * pull[:, None]
            cover = cover - along[:, :, None] * (along * bend[:, None])[:, None, :]
            if len(told[i]) > 1:  # the second share of the same plate starts from the first
                along, spread, z = _seen(unknowns, mean, cover, x[i], *moments[i], drift)
    weight = np.exp(vote - vote.max())
    weight /= weight.sum()
    return Predictions(out, float(weight @ drift), float(np.exp(weight @ np.log(strength))))


def _moments_before(x: Floats) -> list[tuple[Floats, Floats]]:
    """Return mean and variance of the conditions as seen before each plate; see `seen_moments`."""
    known = ~np.isnan(x)
    filled = np.where(known, x, 0.0)
    zero = np.zeros((1, x.shape[1]))
    count = np.concatenate([zero, np.cumsum(known, axis=0)])[:-1] + 4.0
    first = np.concatenate([zero, np.cumsum(filled, axis=0)])[:-1]
    second = np.concatenate([zero, np.cumsum(filled**2, axis=0)])[:-1]
    mean = first / count
    variance = (
        second - 2.0 * mean * first + (count - 4.0) * mean**2 + 4.0 * USUAL_VARIANCE
    ) / count
    return list(zip(mean, variance, strict=True))


def _seen(
    u: Unknowns,
    mean: Floats,
    cover: Floats,
    x: Floats,
    seen: Floats,
    variance: Floats,
    drift: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Return which way a plate moves the beliefs, its variance, and its probit at each of them."""
    eta, doubt, slope = _row_terms(u, mean, x, seen, variance, drift)
    along = np.matmul(cover, slope[:, :, None])[:, :, 0]
    spread = 1.0 + doubt + (slope * along).sum(axis=1)
    return along, spread, eta / np.sqrt(spread)


def _row_terms(
    u: Unknowns, mean: Floats, x: Floats, seen: Floats, variance: Floats, drift: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return eta, variance and slope of eta for one plate at several beliefs (k, d)."""
    part = u.parts
    missing = np.isnan(x)
    value, doubt_x = np.where(missing, seen, x), np.where(missing, variance, 0.0)
    slope = np.ones_like(mean)
    free, effect = mean[:, part["free"]], u.sign * np.exp(mean[:, part["one_way"]])
    curve, best = np.exp(mean[:, part["curve"]]), mean[:, part["best"]]
    off = value[u.window] - best
    fall = curve * (off**2 + doubt_x[u.window] - u.usual)
    slope[:, part["free"]] = value[u.free]
    slope[:, part["one_way"]] = effect * value[u.one_way]
    slope[:, part["curve"]] = -fall
    slope[:, part["best"]] = 2.0 * curve * off
    slope[:, -1] = drift
    eta = mean[:, 0] + free @ value[u.free] + effect @ value[u.one_way] - fall.sum(axis=1)
    eta = eta + drift * mean[:, -1]
    v = doubt_x[u.window]
    doubt = free**2 @ doubt_x[u.free] + effect**2 @ doubt_x[u.one_way]
    return eta, doubt + (curve**2 * (2 * v**2 + 4 * v * off**2)).sum(axis=1), slope
