"""What a stage's model does not know, what is believed of it, and plates in the form it needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import log

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Whole
from argentry.physics.stops import Z80
from argentry.trade.conditions import Condition, StagePrior

DRIFT_MEMORY = trade.value("conditions", "drift_memory")
USUAL_VARIANCE = trade.value("conditions", "usual_variance")
RECENT = 20  # sessions with drift of their own; at most as many groups of older ones


@dataclass(frozen=True)
class Prior:
    """Independent normal priors of a stage's unknowns.

    Attributes
    ----------
    mean, sd : ndarray (d,)
        Of each unknown.
    """

    mean: Floats
    sd: Floats


@dataclass(frozen=True)
class Unknowns:
    """Where each unknown of a stage stands in the vector.

    Attributes
    ----------
    free, one_way, window : ndarray of int
        Columns of x by the form of their condition.
    sign : ndarray
        +1 or -1 for each one-way column: its effect is sign * exp(t).
    usual : ndarray
        Square distance from a window's best value to be expected of a plate beforehand.
    gaps : int
        Cuts below the highest; each unknown is the log of a gap.
    sessions : int
        Sessions with drift; 0: no drift at all.
    """

    free: Whole
    one_way: Whole
    window: Whole
    sign: Floats
    usual: Floats
    gaps: int
    sessions: int

    @cached_property
    def parts(self) -> dict[str, slice]:
        """Return the slice of each part, in the order of the vector."""
        sizes = {
            "base": 1,
            "gaps": self.gaps,
            "free": self.free.size,
            "one_way": self.one_way.size,
            "curve": self.window.size,
            "best": self.window.size,
            "session": self.sessions,
        }
        ends = np.cumsum(list(sizes.values()))
        return {k: slice(int(e) - n, int(e)) for (k, n), e in zip(sizes.items(), ends, strict=True)}

    def columns(self, matrix: Floats) -> dict[str, Floats]:
        """Return the parts of a matrix with the columns of `Rows.design`."""
        windows = self.window.size
        sizes = (1, self.free.size, self.one_way.size, windows, windows, self.sessions)
        return _split(matrix, ("one", "free", "one_way", "square", "x", "luck"), sizes)

    def doubts(self, matrix: Floats) -> dict[str, Floats]:
        """Return the parts of a matrix with the columns of `Rows.doubts`."""
        windows = self.window.size
        sizes = (self.free.size, self.one_way.size, windows, windows, windows)
        return _split(matrix, ("free", "one_way", "still", "once", "twice"), sizes)

    @property
    def size(self) -> int:
        """Return the number of unknowns."""
        return int(self.parts["session"].stop)


@dataclass(frozen=True)
class Rows:
    """Plates as the density needs them: eta and its variance are products with these matrices.

    Attributes
    ----------
    design : ndarray (n, q)
        1, free conditions, one-way conditions, usual less squares of windows, windows, drift of the
        session in terms of independent normals; see `Unknowns.columns`.
    doubts : ndarray (n, r)
        What the variance is made of, 0 where a condition is known; see `Unknowns.doubts`.
    """

    design: Floats
    doubts: Floats


def unknowns_of(conditions: Sequence[Condition], *, gaps: int, sessions: int) -> Unknowns:
    """Return the unknowns of a stage with these conditions."""

    def having(*forms: str) -> Whole:
        return np.array([i for i, c in enumerate(conditions) if c.form in forms], dtype=np.int64)

    one_way = having("more is worse", "more is better")
    sign = np.array([float(conditions[i].sign) for i in one_way])
    window = having("window")
    usual = np.array([USUAL_VARIANCE + conditions[i].optimum_sd ** 2 for i in window])
    return Unknowns(having("free", "switch"), one_way, window, sign, usual, gaps, sessions)


def prior_of(
    unknowns: Unknowns, conditions: Sequence[Condition], stage: StagePrior, strength: float = 1.0
) -> Prior:
    """Return the priors of a stage.

    Parameters
    ----------
    unknowns : Unknowns
        Their places.
    conditions : sequence of Condition
        With their effects: four chances in five between low and high.
    stage : StagePrior
        Share that comes out ok on a usual day.
    strength : float
        How much all effects are against what is believed of them.
    """
    mean, sd = np.zeros(unknowns.size), np.ones(unknowns.size)
    parts = unknowns.parts
    mean[0], sd[0] = stage.probit
    mean[parts["gaps"]], sd[parts["gaps"]] = log(0.7), 0.5
    for name, columns in (("free", unknowns.free), ("one_way", unknowns.one_way),
                          ("curve", unknowns.window)):  # fmt: skip
        for at, column in enumerate(columns, parts[name].start):
            c = conditions[column]
            low, middle, high = c.effect_low, c.effect_middle, c.effect_high
            if name != "free":
                low, middle, high = (log(strength * effect) for effect in (low, middle, high))
            else:
                low, middle, high = strength * low, strength * middle, strength * high
            mean[at], sd[at] = middle, (high - low) / (2.0 * Z80)
    for at, column in enumerate(unknowns.window, parts["best"].start):
        sd[at] = conditions[column].optimum_sd
    return Prior(mean, sd)


def seen_moments(x: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance of each condition as seen, with four plates at the centre put in."""
    if x.shape[0] == 0:
        return np.zeros(x.shape[1]), np.full(x.shape[1], USUAL_VARIANCE)
    known = ~np.isnan(x)
    count = known.sum(axis=0) + 4.0
    mean = np.where(known, x, 0.0).sum(axis=0) / count
    spread = np.where(known, (x - mean) ** 2, 0.0).sum(axis=0)
    return mean, (spread + 4.0 * USUAL_VARIANCE) / count


def rows_of(unknowns: Unknowns, x: Floats, mean: Floats, variance: Floats, luck: Floats) -> Rows:
    """Return plates with what is not known put as its mean and variance.

    Parameters
    ----------
    unknowns : Unknowns
        Which column of x is what.
    x : ndarray (n, p)
        Standardised conditions; NaN where not known.
    mean, variance : ndarray (p,)
        Of each condition.
    luck : ndarray (n, sessions)
        Drift of each row's session in terms of independent normals.
    """
    missing = np.isnan(x)
    m, v = np.where(missing, mean, x), np.where(missing, variance, 0.0)
    free, one_way, window = unknowns.free, unknowns.one_way, unknowns.window
    m_w, v_w = m[:, window], v[:, window]
    one = np.ones((x.shape[0], 1))
    fall = unknowns.usual - m_w**2 - v_w
    design = np.concatenate([one, m[:, free], m[:, one_way], fall, m_w, luck], axis=1)
    # of a window: Var (x - c)^2 = 2 v^2 + 4 v (m - c)^2, spread out by powers of c
    still, once, twice = 2.0 * v_w**2 + 4.0 * v_w * m_w**2, 4.0 * v_w * m_w, 4.0 * v_w
    doubts = np.concatenate([v[:, free], v[:, one_way], still, once, twice], axis=1)
    return Rows(design, doubts)


def _split(matrix: Floats, names: Sequence[str], sizes: Sequence[int]) -> dict[str, Floats]:
    ends = np.cumsum(sizes)
    places = zip(names, sizes, ends, strict=True)
    return {name: matrix[:, end - size : end] for name, size, end in places}


def session_places(session: Whole) -> tuple[Floats, Whole]:
    """Return where drift is kept, and to which place each plate belongs.

    Each of the latest sessions keeps its own; older ones share it in groups, since drift is slow
    and only the latest bears on the next plate.

    Parameters
    ----------
    session : ndarray (n,) of int
        Session of each plate, numbered in order.

    Returns
    -------
    tuple of ndarray
        Places (t,), as session numbers, the middle one of a group; index of each plate's place.
    """
    present, of = np.unique(session, return_inverse=True)
    if present.size <= 2 * RECENT:
        return present.astype(np.float64), of
    older = np.array_split(np.arange(present.size - RECENT), RECENT)
    group = np.concatenate([np.full(part.size, i) for i, part in enumerate(older)])
    group = np.concatenate([group, RECENT + np.arange(RECENT)])
    places = np.bincount(group, weights=present) / np.bincount(group)
    return places, group[of]


def session_root(sessions: Floats) -> Floats:
    """Return a root of the drift's correlation between sessions, numbered in order; (t, t)."""
    apart = np.abs(sessions[:, None] - sessions[None, :])
    return np.asarray(np.linalg.cholesky(DRIFT_MEMORY**apart + 1e-10 * np.eye(sessions.size)))
