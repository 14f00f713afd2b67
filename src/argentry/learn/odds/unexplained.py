"""How far plates lie apart in ways that the predictions do not tell, by what came of alike plates.

Predictions made before each plate was seen leave residuals. Where plates that are alike, in their
conditions or in time, came out alike beyond what was predicted, something tells them apart that the
model misses: a cliff, two things together, a bottle. Its variance on the log odds is estimated by
the residuals' products [1]_, and weighed with what is usual, since few plates say little of it.

References
----------
.. [1] X. Lin, Variance component testing in generalised linear models with random effects,
   Biometrika 84 (1997) 309 (score of a variance; recalled).
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, hypot, pi, prod, sqrt

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Whole

LEAST_READ = 15  # plates on which a condition was read, under which it tells no likeness
MEMORY = 8.0  # sessions after which plates are alike in time to 1/e
PROBIT = 1.7  # log odds in one probit, nearly


def unexplained(
    by_others: Floats, before: Floats, came: Floats, x: Floats, session: Whole
) -> tuple[float, float]:
    """Return the variance of plates' log odds beyond what is told: by condition, by time.

    What conditions leave is judged by the figures that are shown, each plate by the other
    sessions; what weeks leave by figures of the past alone, which is all that a plate to come has.

    Parameters
    ----------
    by_others : NDArray (n,)
        Chance that each plate is good by the plates of other sessions, as it is shown. [1]
    before : NDArray (n,)
        The same by the plates before it. [1]
    came : NDArray (n,)
        1 where it was, else 0.
    x : NDArray (n, p)
        Conditions; NaN where not known.
    session : NDArray (n,) of int
        In order of time.

    Returns
    -------
    tuple of float
        On the log odds; with no plate what is usual. Plates of the same weeks share the second.
    """
    usual = np.array(
        [
            trade.value("decide", "unexplained_by_condition"),
            trade.value("decide", "unexplained_by_time"),
        ]
    )
    worth = np.diag(np.full(2, trade.value("decide", "unexplained_sd") ** -2.0))
    alike = [_alike(x), np.exp(-np.abs(session[:, None] - session[None, :]) / MEMORY)]
    for one in alike:
        np.fill_diagonal(one, 0.0)
    told, known = np.zeros(2), np.zeros((2, 2))
    for row, (one, p) in enumerate(zip(alike, (by_others, before), strict=True)):
        left, weight = came - p, p * (1.0 - p)
        told[row] = left @ one @ left
        known[row] = [weight @ (one * other) @ weight for other in alike]
    # twice the information of the score; each pair stands in it twice
    found = np.linalg.solve(0.5 * known + worth, 0.5 * told + worth @ usual)
    return max(float(found[0]), 0.0), max(float(found[1]), 0.0)


def _alike(x: Floats) -> Floats:
    """Return how alike plates are in the conditions that were read, and in how far off they are."""
    from scipy.special import ndtri

    columns = []
    for values in x.T:
        read = np.isfinite(values)
        if read.sum() < LEAST_READ or np.ptp(values[read]) == 0.0:
            continue
        rank = np.argsort(np.argsort(values[read], kind="stable"), kind="stable")
        score = np.zeros(values.size)
        score[read] = ndtri((rank + 0.5) / read.sum())
        columns += [score, np.where(read, (score**2 - 1.0) / sqrt(2.0), 0.0)]
    if not columns:
        return np.zeros((x.shape[0], x.shape[0]))
    z = np.stack(columns, axis=1)
    return np.asarray(z @ z.T / z.shape[1])


def by_stage(whole: float, ok: Mapping[str, float]) -> float:
    """Return what each stage must scatter by, for the plate to scatter by `whole`. [probit].

    Parameters
    ----------
    whole : float
        Standard deviation of the plate's log odds.
    ok : Mapping[str, float]
        Share of each stage that comes out ok. [1]
    """
    of_plate = of_whole(dict.fromkeys(ok, 1.0), ok)
    return whole / of_plate if of_plate > 0.0 else 0.0


def of_whole(each: Mapping[str, float], ok: Mapping[str, float]) -> float:
    """Return by how much a plate's log odds scatter for stages that scatter by `each`.

    Parameters
    ----------
    each : Mapping[str, float]
        Standard deviation of each stage. [probit]
    ok : Mapping[str, float]
        Share of each stage that comes out ok. [1]
    """
    from scipy.special import ndtri

    lost = 1.0 - prod(ok.values())
    # by what the log of a stage's share moves with its probit
    parts = [
        exp(-0.5 * float(ndtri(share)) ** 2) / sqrt(2.0 * pi) / share * each[stage]
        for stage, share in ok.items()
        if 0.0 < share < 1.0
    ]
    return hypot(*parts) / lost if lost > 0.0 else 0.0
