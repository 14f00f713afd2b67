"""Which conditions explain faults: every small set of suspects weighed against every other.

A spike-and-slab probit: each suspect is in the model or not (the spike), and when it is in, its
effect has a prior of its own (the slab). Sets of up to three suspects are few, so each is fitted
and weighed by Laplace's formula and nothing is sampled. Plates of one session share their luck: a
random effect by session is integrated out with the rest, else one bad day would count three times.
A missing reading comes in as its expected value, and its doubt flattens the curve, which for a
probit is exact: ``E[Phi(m + b z)] = Phi(m / sqrt(1 + b^2 var))``.

References
----------
.. [1] T. J. Mitchell and J. J. Beauchamp, JASA 83 (1988) 1023 (spike and slab; recalled).
.. [2] A. E. Raftery, Biometrika 83 (1996) 251 (Bayes factors by Laplace; recalled).
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.arrays import Floats


NEWTON_ROUNDS = 12
BESIDE = 3  # likeliest sets beside which each of the other suspects is weighed
SETTLED = 1e-4  # gain of a step in log likelihood at which it ends: what is left is its square


@dataclass(frozen=True)
class Suspects:
    """What the plates of one stage say, ready for weighing.

    Attributes
    ----------
    x : Floats
        (plates, columns) badness: more is worse; missing values filled with their expectation.
    doubt : Floats
        (plates, columns) variance of a filled value; 0 where it was read.
    fault : Floats
        (plates,) probability that the stage failed on this plate, mostly 0 or 1.
    weight : Floats
        (plates,) how much each row counts, mostly 1.
    session : NDArray[np.intp]
        (plates,) number of the session.
    groups : tuple of tuple of int
        Columns of each suspect; they enter together.
    mean, sd : Floats
        (columns,) slab of each effect. [probit per unit of x]
    inclusion : Floats
        (suspects,) prior probability that a suspect matters.
    gain : Floats
        (suspects,) what the choice of its shape adds to the log evidence.
    alone : Floats or None
        (suspects,) log evidence of each alone, if that is known already.
    """

    x: Floats
    doubt: Floats
    fault: Floats
    weight: Floats
    session: NDArray[np.intp]
    groups: tuple[tuple[int, ...], ...]
    mean: Floats
    sd: Floats
    inclusion: Floats
    gain: Floats
    alone: Floats | None = None

    def group_of(self) -> NDArray[np.intp]:
        """Return the suspect that each column belongs to, (columns,)."""
        out = np.zeros(self.x.shape[1], dtype=np.intp)
        for number, columns in enumerate(self.groups):
            out[list(columns)] = number
        return out


@dataclass(frozen=True)
class Weighed:
    """Every set of suspects with its fit.

    Attributes
    ----------
    members : Floats
        (sets, columns) of 0 and 1: whether the suspect is in that the column belongs to.
    log_prior, log_evidence : Floats
        (sets,).
    effect, variance : Floats
        (sets, columns) fitted effects and their variances; 0 where left out.
    base, base_variance : Floats
        (sets,) intercept and its variance.
    by_session : Floats
        (sets, sessions) part of the log likelihood that each session gave.
    """

    members: Floats
    log_prior: Floats
    log_evidence: Floats
    effect: Floats
    variance: Floats
    base: Floats
    base_variance: Floats
    by_session: Floats

    def weights(self, extra: Floats | None = None) -> Floats:
        """Return the posterior probability of each set, (sets,) or (draws, sets) with `extra`."""
        score = self.log_prior + self.log_evidence + (0.0 if extra is None else extra)
        score = score - score.max(axis=-1, keepdims=True)
        weight = np.exp(score)
        return np.asarray(weight / weight.sum(axis=-1, keepdims=True))


def set_members(suspects: int, most: int, kept: NDArray[np.intp] | None = None) -> Floats:
    """Return the sets that are weighed, the empty one first, (sets, suspects).

    Every suspect alone, and every set of up to `most` out of `kept` (None: out of all).
    """
    of = list(range(suspects)) if kept is None else [int(k) for k in kept]
    chosen = [c for k in range(2, min(most, len(of)) + 1) for c in combinations(of, k)]
    alone = [(j,) for j in range(suspects)] if most else []
    out = np.zeros((1 + len(alone) + len(chosen), suspects))
    for row, members in enumerate([(), *alone, *chosen]):
        out[row, list(members)] = 1.0
    return out


def weigh(
    data: Suspects,
    *,
    most: int = 3,
    keep: int = 8,
    session_sd: float = 0.35,
    base_mean: float = -0.84,
    base_sd: float = 0.7,
) -> Weighed:
    """Fit and weigh every set of up to `most` suspects.

    With more than `keep` of them, each is first weighed alone, and only the `keep` best go into
    every larger set; each of the others stands alone and beside the likeliest sets of those. Alone
    it would look unlikely only because two others together explain much.

    Parameters
    ----------
    data : Suspects
        The plates of one stage.
    most : int
        Largest set.
    keep : int
        Suspects that may stand in a set with others.
    session_sd : float
        Spread of luck between sessions. [probit]
    base_mean, base_sd : float
        Prior of the intercept. [probit]

    Returns
    -------
    Weighed
        One row a set.
    """
    suspects, kept = len(data.groups), None
    if suspects > keep:
        alone = data.alone
        if alone is None:
            one = set_members(suspects, 1)
            alone = _weigh(data, one, session_sd, base_mean, base_sd).log_evidence[1:]
        score = alone + _log_odds(data.inclusion)
        kept = np.sort(np.argsort(-score, kind="stable")[:keep])
    members = set_members(suspects, most, kept)
    weighed = _weigh(data, members, session_sd, base_mean, base_sd)
    if kept is None or most == 1:
        return weighed
    further = _beside(members, weighed.weights(), kept, most)
    more = _weigh(data, further, session_sd, base_mean, base_sd)
    return Weighed(
        *(np.concatenate([getattr(w, f.name) for w in (weighed, more)]) for f in fields(Weighed))
    )


def _beside(members: Floats, weight: Floats, kept: NDArray[np.intp], most: int) -> Floats:
    """Return each suspect that is not kept beside the likeliest sets that have room for it."""
    size = members.sum(axis=1)
    room = np.flatnonzero((size > 0) & (size < most))
    best = room[np.argsort(-weight[room], kind="stable")[:BESIDE]]
    out = np.repeat(members[best], members.shape[1], axis=0)
    others = np.tile(np.arange(members.shape[1]), best.size)
    out[np.arange(len(out)), others] = 1.0
    return out[~np.isin(others, kept)]


def _weigh(
    data: Suspects, members: Floats, session_sd: float, base_mean: float, base_sd: float
) -> Weighed:
    design = _Design.build(data, members, base_mean, base_sd)
    evidence, *fit = _newton(design, data, session_sd)
    prior = np.clip(data.inclusion, 1e-6, 1.0 - 1e-6)
    log_prior = np.log1p(-prior).sum() + members @ _log_odds(data.inclusion)
    return Weighed(members[:, data.group_of()], log_prior, evidence + members @ data.gain, *fit)


def _log_odds(share: Floats) -> Floats:
    prior = np.clip(share, 1e-6, 1.0 - 1e-6)
    return np.asarray(np.log(prior) - np.log1p(-prior))


def bootstrap_weights(sessions: int, draws: int, rng: np.random.Generator) -> Floats:
    """Return by how much each session counts more or less, had chance dealt other sessions.

    The weights of a Bayesian bootstrap less one; their product with what each session gave to the
    evidence is what the evidence would gain, fits held as they are.

    Returns
    -------
    Floats
        (draws, sessions); each row sums to 0.

    References
    ----------
    .. [1] D. B. Rubin, Annals of Statistics 9 (1981) 130 (recalled).
    """
    if not sessions:
        return np.zeros((draws, 0))
    return np.asarray(rng.dirichlet(np.ones(sessions), draws) * sessions - 1.0)


@dataclass(frozen=True)
class _Design:
    """Columns of every set side by side, padded with columns of zeros that weigh nothing."""

    place: NDArray[np.intp]  # (sets, k) column, or -1 where padded
    x: Floats  # (sets, plates, k + 1), the last is the intercept
    doubt: Floats  # (sets, plates, k + 1)
    mean: Floats  # (sets, k + 1)
    precision: Floats  # (sets, k + 1)

    @staticmethod
    def build(data: Suspects, members: Floats, base_mean: float, base_sd: float) -> _Design:
        columns = [[c for s in np.flatnonzero(row) for c in data.groups[s]] for row in members]
        wide = max((len(c) for c in columns), default=0)
        place = np.full((len(columns), wide), -1, dtype=np.intp)
        for row, chosen in enumerate(columns):
            place[row, : len(chosen)] = chosen
        plates = data.x.shape[0]
        x = np.concatenate([data.x, np.zeros((plates, 1))], axis=1)
        doubt = np.concatenate([data.doubt, np.zeros((plates, 1))], axis=1)
        sets = len(columns)
        full_x = np.concatenate([x.T[place].transpose(0, 2, 1), np.ones((sets, plates, 1))], axis=2)
        full_doubt = np.concatenate(
            [doubt.T[place].transpose(0, 2, 1), np.zeros((sets, plates, 1))], axis=2
        )
        mean = np.append(data.mean, 0.0)[place]
        precision = 1.0 / np.append(data.sd, 1.0)[place] ** 2
        return _Design(
            place,
            np.ascontiguousarray(full_x),
            full_doubt,
            np.concatenate([mean, np.full((sets, 1), base_mean)], axis=1),
            np.concatenate([precision, np.full((sets, 1), base_sd**-2)], axis=1),
        )


def _newton(
    design: _Design, data: Suspects, session_sd: float
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
    sets, plates, wide = design.x.shape
    sessions = int(data.session.max()) + 1 if plates else 0
    luck_of = np.zeros((plates, sessions))
    luck_of[np.arange(plates), data.session] = 1.0
    beta, luck = design.mean.copy(), np.zeros((sets, sessions))
    tau = session_sd**-2
    sign = np.stack([np.ones(plates), -np.ones(plates)])  # towards fault, towards sound
    share = np.stack([data.fault, 1.0 - data.fault]) * data.weight
    if np.isin(data.fault, (0.0, 1.0)).all():  # each plate is known to be one of both
        sign, share = np.where(data.fault > 0.0, 1.0, -1.0)[None], data.weight[None]
    eye = np.eye(wide)

    def parts(beta: Floats, luck: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        shrink = 1.0 / np.sqrt(1.0 + np.einsum("mnk,mk->mn", design.doubt, beta**2))
        eta = (np.einsum("mnk,mk->mn", design.x, beta) + luck @ luck_of.T) * shrink
        loglik = np.zeros_like(eta)
        slope, curve = np.zeros_like(eta), np.zeros_like(eta)
        for s, w in zip(sign, share, strict=True):
            log_cdf, ratio = log_cdf_and_ratio(s * eta)
            loglik += w * log_cdf
            slope += w * s * ratio
            curve += w * ratio * (ratio + s * eta)
        return loglik, slope * shrink, np.maximum(curve, 1e-9) * shrink**2, shrink

    def target(loglik: Floats, beta: Floats, luck: Floats) -> Floats:
        return np.asarray(
            loglik.sum(axis=1)
            - 0.5 * (design.precision * (beta - design.mean) ** 2).sum(axis=1)
            - 0.5 * tau * (luck**2).sum(axis=1)
        )

    loglik, slope, curve, _ = parts(beta, luck)
    now = target(loglik, beta, luck)
    for _ in range(NEWTON_ROUNDS):
        d, cross, schur = _blocks(design, luck_of, curve, tau, eye)
        g_beta = np.einsum("mnk,mn->mk", design.x, slope) - design.precision * (beta - design.mean)
        g_luck = slope @ luck_of - tau * luck
        step = np.linalg.solve(
            schur, (g_beta - np.einsum("mks,ms->mk", cross, g_luck / d))[..., None]
        )[..., 0]
        step_luck = (g_luck - np.einsum("mks,mk->ms", cross, step)) / d
        size = np.ones((sets, 1))
        for _ in range(6):  # halve steps that do not climb
            tried_beta, tried_luck = beta + size * step, luck + size * step_luck
            tried = parts(tried_beta, tried_luck)
            score = target(tried[0], tried_beta, tried_luck)
            worse = score < now - SETTLED
            if not worse.any():
                break
            size = np.where(worse[:, None], size / 2.0, size)
        keep = (score >= now - SETTLED)[:, None]
        beta, luck = np.where(keep, tried_beta, beta), np.where(keep, tried_luck, luck)
        loglik, slope, curve, _ = parts(beta, luck)
        gain = target(loglik, beta, luck) - now
        now = now + gain
        if np.abs(gain).max(initial=0.0) < SETTLED:
            break
    d, _, schur = _blocks(design, luck_of, curve, tau, eye)
    logdet = np.log(d / tau).sum(axis=1) + np.linalg.slogdet(schur)[1]
    evidence = now + 0.5 * np.log(design.precision).sum(axis=1) - 0.5 * logdet
    variance = np.diagonal(np.linalg.inv(schur), axis1=1, axis2=2)
    columns = data.x.shape[1]
    effect_all, variance_all = np.zeros((2, sets, columns + 1))
    rows = np.arange(sets)[:, None]
    effect_all[rows, design.place] = beta[:, :-1]
    variance_all[rows, design.place] = variance[:, :-1]
    return (
        evidence,
        effect_all[:, :columns],
        variance_all[:, :columns],
        beta[:, -1],
        variance[:, -1],
        loglik @ luck_of,
    )


def _blocks(
    design: _Design, luck_of: Floats, curve: Floats, tau: float, eye: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return the Hessian by blocks: sessions (a diagonal), across, effects with sessions out."""
    weighted = design.x * curve[..., None]
    d = curve @ luck_of + tau
    cross = weighted.transpose(0, 2, 1) @ luck_of
    schur = weighted.transpose(0, 2, 1) @ design.x + design.precision[:, :, None] * eye
    return d, cross, schur - (cross / d[:, None, :]) @ cross.transpose(0, 2, 1)


def log_cdf_and_ratio(z: Floats) -> tuple[Floats, Floats]:
    """Return ``log Phi(z)`` and ``phi(z) / Phi(z)``, both exact far in the tails."""
    from scipy.special import log_ndtr

    log_cdf = log_ndtr(z)
    return log_cdf, np.exp(-0.5 * z**2 - 0.5 * np.log(2.0 * np.pi) - log_cdf)
