"""One stage as an ordered probit: its density and slope.

    eta = b0 + s[session] + sum b_j x_j + sum d_j exp(t_j) x_j - sum exp(a_k) ((x_k - c_k)^2 - u_k)
    P(level >= g) = Phi((eta - cut_g) / sqrt(1 + v))

with the highest cut at 0, so that P(ok) = Phi(eta); u_k is the square to be expected beforehand, so
that b0 tells of a usual plate. A condition that is not known is normal with the mean and variance
seen so far: linear terms are integrated out exactly by the variance v, windows by their first two
moments. Sessions drift as s[t] = phi s[t-1] + noise, with a standard deviation given beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.stages.blocks import product
from argentry.learn.stages.likelihood import bounds_of, interval_terms
from argentry.learn.stages.unknowns import (
    Prior,
    Rows,
    Unknowns,
    prior_of,
    rows_of,
    seen_moments,
    session_places,
    session_root,
    unknowns_of,
)

if TYPE_CHECKING:
    from argentry.arrays import Floats, Whole
    from argentry.learn.stages.likelihood import Bounds, Terms
    from argentry.learn.stages.table import StageTable
    from argentry.trade.conditions import StagePrior


@dataclass(frozen=True)
class StageModel:
    """The density of a stage's unknowns, given its plates.

    Attributes
    ----------
    unknowns : Unknowns
        Their places.
    prior : Prior
        Their priors.
    rows : Rows
        The plates.
    low, high : ndarray (n,) of int
        Lowest and highest level each may have come to; the highest level of all is ``gaps + 1``.
    weight : ndarray (n,)
        How much each counts.
    """

    unknowns: Unknowns
    prior: Prior
    rows: Rows
    low: Whole
    high: Whole
    weight: Floats

    @cached_property
    def bounds(self) -> Bounds:
        """Return between which cuts each plate lies."""
        return bounds_of(self.low, self.high, self.unknowns.gaps + 1)

    def value(self, points: Floats) -> Floats:
        """Return the log density of points (c, d), up to a constant; (c,)."""
        eta, doubt = middle_and_doubt(self.unknowns, self.rows, points)
        terms = interval_terms(eta, doubt, cuts(self.unknowns, points), self.bounds)
        off = (points - self.prior.mean) / self.prior.sd
        return np.asarray(product(terms.value, self.weight) - 0.5 * (off**2).sum(axis=1))

    def value_and_slope(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the log density (c,) and its gradient (c, d)."""
        u, part = self.unknowns, self.unknowns.parts
        eta, doubt = middle_and_doubt(u, self.rows, points)
        terms = interval_terms(eta, doubt, cuts(u, points), self.bounds)
        off = (points - self.prior.mean) / self.prior.sd
        value = product(terms.value, self.weight) - 0.5 * (off**2).sum(axis=1)
        slope = -off / self.prior.sd
        # by the columns of the plates' matrices first, then by the unknowns behind each
        eta_by = u.columns(product(terms.by_eta() * self.weight, self.rows.design))
        effect = u.sign * np.exp(points[:, part["one_way"]])
        curve, best = np.exp(points[:, part["curve"]]), points[:, part["best"]]
        one, x = eta_by["one"], eta_by["x"]
        slope[:, part["base"]] += one
        slope[:, part["free"]] += eta_by["free"]
        slope[:, part["one_way"]] += effect * eta_by["one_way"]
        slope[:, part["curve"]] += curve * (eta_by["square"] + 2.0 * best * x - best**2 * one)
        slope[:, part["best"]] += 2.0 * curve * (x - best * one)
        slope[:, part["session"]] += eta_by["luck"]
        if self.rows.doubts.any():
            doubt_by = u.doubts(product(terms.by_doubt() * self.weight, self.rows.doubts))
            slope[:, part["free"]] += 2.0 * points[:, part["free"]] * doubt_by["free"]
            slope[:, part["one_way"]] += 2.0 * effect**2 * doubt_by["one_way"]
            once, twice = doubt_by["once"], doubt_by["twice"]
            whole = doubt_by["still"] - 2.0 * best * once + best**2 * twice
            slope[:, part["curve"]] += 2.0 * curve**2 * whole
            slope[:, part["best"]] += 2.0 * curve**2 * (best * twice - once)
        if u.gaps:
            self._add_gaps(slope, terms, points)
        return np.asarray(value), slope

    def _add_gaps(self, slope: Floats, terms: Terms, points: Floats) -> None:
        """Add the slope by the logs of the gaps, in place: a cut holds every gap from it up."""
        u, b = self.unknowns, self.bounds
        held = terms.slope / terms.root * self.weight
        held_2 = terms.slope_2 / terms.root[:, b.both] * self.weight[b.both]
        gaps = np.exp(points[:, u.parts["gaps"]])
        for g in range(u.gaps):
            total = held[:, b.cut <= g].sum(axis=1) + held_2[:, b.second <= g].sum(axis=1)
            slope[:, 1 + g] += gaps[:, g] * total

    def curvature(self, point: Floats) -> Floats:
        """Return the negative Hessian without the bending of eta itself, so that it is definite."""
        u = self.unknowns
        one = point[None]
        eta, doubt = middle_and_doubt(u, self.rows, one)
        terms = interval_terms(eta, doubt, cuts(u, one), self.bounds)
        by_eta, by_doubt = slopes_of(u, self.rows, point)
        root = terms.root[0][:, None]
        ends, both = [], self.bounds.both
        gap = np.exp(point[u.parts["gaps"]])
        for at, z, cut in (
            (np.arange(root.size), terms.bound[0], self.bounds.cut),
            (both, terms.bound_2[0], self.bounds.second),
        ):
            end = (by_eta[at] - 0.5 * z[:, None] / root[at] * by_doubt[at]) / root[at]
            for g in range(u.gaps):
                end[:, 1 + g] += np.where(cut <= g, gap[g], 0.0) / root[at, 0]
            ends.append(end)
        first, second = ends
        w, s, s2 = self.weight, terms.slope[0], terms.slope_2[0]
        bend = product(first.T, (w * (terms.bound[0] * s + s**2))[:, None] * first)
        by_second = w[both] * (terms.bound_2[0] * s2 + s2**2)
        bend += product(second.T, by_second[:, None] * second)
        mixed = product(first[both].T, (w[both] * s[both] * s2)[:, None] * second)
        return np.asarray(bend + mixed + mixed.T + np.diag(self.prior.sd**-2.0))


def model_of(
    table: StageTable, stage: StagePrior, drift: float, strength: float = 1.0
) -> tuple[StageModel, tuple[Floats, Floats], Floats]:
    """Return the density of a stage's table, the moments seen, and where drift is kept.

    Only conditions that some plate knows take part (`StageTable.seen`): of the others the plates
    say nothing, and their doubt is part of the luck.

    Parameters
    ----------
    table : StageTable
        The plates that reached the stage.
    stage : StagePrior
        What is believed of it.
    drift : float
        Standard deviation of the drift between sessions; 0: none. [probit]
    strength : float
        How much all effects are against what is believed of them.
    """
    x, conditions = table.x[:, table.seen], [table.conditions[i] for i in table.seen]
    mean, variance = seen_moments(x)
    kept, place = session_places(table.session)
    if drift <= 0.0 or kept.size < 2:
        kept = kept[:0]
    luck = np.zeros((table.low.size, kept.size))
    if kept.size:
        luck = drift * session_root(kept)[place]
    # a lower cut can be learned only from plates that show on which side of it they are
    told = table.low.size and bool(np.any((table.low == table.high) & (table.low < 2)))
    gaps = int(bool(told))
    low, high = (table.low, table.high) if gaps else (table.low // 2, table.high // 2)
    unknowns = unknowns_of(conditions, gaps=gaps, sessions=kept.size)
    prior = prior_of(unknowns, conditions, stage, strength)
    rows = rows_of(unknowns, x, mean, variance, luck)
    model = StageModel(unknowns, prior, rows, low, high, table.weight)
    return model, (mean, variance), kept


def cuts(unknowns: Unknowns, points: Floats) -> Floats:
    """Return the cut below each level but the lowest; (c, gaps + 1), the last one 0."""
    gaps = np.exp(points[:, unknowns.parts["gaps"]])
    below = -np.cumsum(gaps[:, ::-1], axis=1)[:, ::-1]
    return np.concatenate([below, np.zeros((points.shape[0], 1))], axis=1)


def middle_and_doubt(unknowns: Unknowns, rows: Rows, points: Floats) -> tuple[Floats, Floats]:
    """Return eta and the variance from what is not known, for points (c, d); each (c, n)."""
    part = unknowns.parts
    free, effect = points[:, part["free"]], unknowns.sign * np.exp(points[:, part["one_way"]])
    curve, best = np.exp(points[:, part["curve"]]), points[:, part["best"]]
    one = points[:, part["base"]] - (curve * best**2).sum(axis=1, keepdims=True)
    weights = (one, free, effect, curve, 2.0 * curve * best, points[:, part["session"]])
    eta = product(np.concatenate(weights, axis=1), rows.design.T)
    if not rows.doubts.any():
        return eta, np.zeros_like(eta)
    bend = curve**2
    spreads = (free**2, effect**2, bend, -2.0 * bend * best, bend * best**2)
    return eta, product(np.concatenate(spreads, axis=1), rows.doubts.T)


def slopes_of(unknowns: Unknowns, rows: Rows, point: Floats) -> tuple[Floats, Floats]:
    """Return the slopes of eta and of its variance at one point; each (n, d)."""
    u, part = unknowns, unknowns.parts
    by_eta, by_doubt = np.zeros((2, rows.design.shape[0], u.size))
    column, doubt = u.columns(rows.design), u.doubts(rows.doubts)
    free, effect = point[part["free"]], u.sign * np.exp(point[part["one_way"]])
    curve, best = np.exp(point[part["curve"]]), point[part["best"]]
    by_eta[:, part["base"]] = 1.0
    by_eta[:, part["free"]], by_doubt[:, part["free"]] = column["free"], 2.0 * free * doubt["free"]
    by_eta[:, part["one_way"]] = effect * column["one_way"]
    by_doubt[:, part["one_way"]] = 2.0 * effect**2 * doubt["one_way"]
    by_eta[:, part["curve"]] = curve * (column["square"] + 2.0 * best * column["x"] - best**2)
    by_eta[:, part["best"]] = 2.0 * curve * (column["x"] - best)
    whole = doubt["still"] - 2.0 * best * doubt["once"] + best**2 * doubt["twice"]
    by_doubt[:, part["curve"]] = 2.0 * curve**2 * whole
    by_doubt[:, part["best"]] = 2.0 * curve**2 * (best * doubt["twice"] - doubt["once"])
    by_eta[:, part["session"]] = column["luck"]
    return by_eta, by_doubt
