"""Posterior of a smooth density: its summit by Newton's way, then many short Hamiltonian walks.

Knows nothing of plates. The density comes as one function of many points at once; every random
number comes from the seed, so that the same plates give the same figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from argentry.arrays import Floats
from argentry.errors import ArgentryError
from argentry.learn.stages.blocks import inverse_root, product

DRAWN_IN = 60  # halvings: from anywhere to the summit itself


class Density(Protocol):
    """A log density that can be walked on."""

    def value(self, points: Floats) -> Floats:
        """Return the log density, up to a constant; points (c, d), result (c,)."""

    def value_and_slope(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the log density (c,) and its gradient (c, d)."""

    def curvature(self, point: Floats) -> Floats:
        """Return a positive definite stand-in for the negative Hessian at a point; (d, d)."""


@dataclass(frozen=True)
class Summit:
    """Where a density is highest, and how sharp it is there.

    Attributes
    ----------
    point : ndarray (d,)
        The summit.
    curvature : ndarray (d, d)
        Negative Hessian there, or its positive definite stand-in.
    spread : ndarray (d, d)
        A square root of its inverse: point + spread @ standard normal is a draw.
    steps : int
        Newton steps taken.
    """

    point: Floats
    curvature: Floats
    spread: Floats
    steps: int


@dataclass(frozen=True)
class Draws:
    """Draws of a posterior.

    Attributes
    ----------
    points : ndarray (n, d)
        Walks one after another.
    walks : int
        How many walks they come from, of equal length.
    rhat : float
        Largest R-hat over groups of walks and over the unknowns; 1 when they agree.
    effective : float
        Least number of independent draws they are worth, over the unknowns.
    accepted : float
        Share of proposals accepted.
    """

    points: Floats
    walks: int
    rhat: float
    effective: float
    accepted: float

    @property
    def settled(self) -> bool:
        """Return whether figures may be read off them: a mean is off by a tenth of its spread."""
        return self.rhat < 1.1 and self.effective > 100.0


def climb(density: Density, start: Floats, *, most: int = 60) -> Summit:
    """Return the summit reached from a start, by Newton steps shortened while they overshoot.

    Parameters
    ----------
    density : Density
        What to climb.
    start : ndarray (d,)
        Where to begin.
    most : int
        Most Newton steps.

    Returns
    -------
    Summit
        The last point reached; the density never falls on the way.
    """
    point = np.array(start, dtype=np.float64)
    height = float(density.value(point[None])[0])
    steps = 0
    for _ in range(most):
        steps += 1
        slope = density.value_and_slope(point[None])[1][0]
        root = inverse_root(density.curvature(point))
        step = root @ (root.T @ slope)
        # several lengths at once cost little more than one
        lengths = 0.5 ** np.arange(8.0)
        with np.errstate(over="ignore", invalid="ignore"):
            heights = density.value(point + lengths[:, None] * step)
        heights = np.where(np.isfinite(heights), heights, -np.inf)
        best = int(np.argmax(heights))
        if heights[best] < height:
            break
        point, height = point + lengths[best] * step, float(heights[best])
        if float(slope @ step) < 1e-7:  # twice what this step could gain
            break
    curvature = density.curvature(point)
    return Summit(point, curvature, inverse_root(curvature), steps)


def walk(
    density: Density,
    summit: Summit,
    *,
    walks: int = 96,
    draws: int = 16,
    warm: int = 10,
    leaps: int = 3,
    seed: int = 1,
) -> Draws:
    """Return draws by Hamiltonian walks begun around the summit and whitened by its curvature.

    Parameters
    ----------
    density : Density
        What to walk on.
    summit : Summit
        Where to begin.
    walks, draws, warm : int
        Walks side by side; draws kept of each; steps before that, in which the stride settles.
    leaps : int
        Leapfrogs in a step.
    seed : int
        Of every random number used.

    Returns
    -------
    Draws
        Of ``walks * draws`` points. A proposal that is not finite is refused.

    Raises
    ------
    ArgentryError
        If the density is not finite at the summit: a fault of the model, not of the plates.

    References
    ----------
    Neal, "MCMC using Hamiltonian dynamics", Handbook of Markov Chain Monte Carlo (2011), ch. 5.
    """
    random = np.random.default_rng(seed)
    spread, size = summit.spread, summit.point.size
    at = 0.5 * random.standard_normal((walks, size))
    value, slope = _whitened(density, summit, at)
    for _ in range(DRAWN_IN):  # an outlying start is drawn in until its density is finite
        if np.all(np.isfinite(value)):
            break
        at = np.where(np.isfinite(value)[:, None], at, 0.5 * at)
        value, slope = _whitened(density, summit, at)
    else:
        raise ArgentryError(
            "What these plates teach cannot be worked out (a number that is not finite): plan with "
            "--as-written and look for a mistake in the newest plates."
        )
    stride, kept = 0.6, np.empty((draws, walks, size))
    took = 0.0
    for step in range(warm + draws):
        push = random.standard_normal((walks, size))
        eps = stride * random.uniform(0.4, 1.3, (walks, 1))
        new, new_value, new_slope = at, value, slope
        half = push + 0.5 * eps * new_slope
        for leap in range(leaps):
            new = new + eps * half
            new_value, new_slope = _whitened(density, summit, new)
            half = half + (eps if leap < leaps - 1 else 0.5 * eps) * new_slope
        with np.errstate(over="ignore", invalid="ignore"):
            gain = new_value - value + 0.5 * ((push**2).sum(1) - (half**2).sum(1))
        gain = np.where(np.isfinite(gain), gain, -np.inf)
        yes = np.log(random.uniform(size=walks)) < gain
        at = np.where(yes[:, None], new, at)
        value, slope = np.where(yes, new_value, value), np.where(yes[:, None], new_slope, slope)
        share = float(np.exp(np.minimum(gain, 0.0)).mean())
        if step < warm:
            stride *= float(np.exp((share - 0.8) * 2.0 / (step + 2.0) ** 0.6))
        else:
            kept[step - warm] = at
            took += share / draws
    paths = np.swapaxes(kept, 0, 1)  # (walks, draws, d), still whitened
    points = summit.point + product(paths.reshape(-1, size), spread.T)
    paths = points.reshape(walks, draws, size)
    return Draws(
        points, walks, float(grouped_rhat(paths).max()), float(effective_draws(paths).min()), took
    )


def grouped_rhat(paths: Floats, groups: int = 4) -> Floats:
    """Return R-hat of each unknown over groups of walks and halves; (walks, draws, d) to (d,).

    Walks too short to be judged one by one are judged in groups, first halves apart from second
    halves, so that a drift still under way shows as well.

    References
    ----------
    Margossian and others, "Nested R-hat", Bayesian Analysis (2024), for judging many short walks in
    groups (recalled).
    """
    half = paths.shape[1] // 2
    means, within = [], []
    for part in (paths[:, :half], paths[:, half : 2 * half]):
        for group in np.array_split(part, groups):
            means.append(group.mean(axis=(0, 1)))
            within.append(group.var(axis=(0, 1)))
    between = np.var(means, axis=0, ddof=1)
    return np.asarray(np.sqrt(1.0 + between / np.maximum(np.mean(within, axis=0), 1e-300)))


def effective_draws(paths: Floats) -> Floats:
    """Return how many independent draws many short walks are worth; (walks, draws, d) to (d,).

    The means of independent walks spread by the variance over the draws each is worth; for squares
    likewise, and the smaller of both counts. Never more than the draws there are.
    """
    walks, draws = paths.shape[:2]
    worth = np.full(paths.shape[2], float(walks * draws))
    centred = paths - paths.mean(axis=(0, 1))
    for what in (centred, centred**2):
        spread = what.mean(axis=1).var(axis=0, ddof=1)
        worth = np.minimum(worth, walks * what.var(axis=(0, 1)) / np.maximum(spread, 1e-300))
    return worth


def _whitened(density: Density, summit: Summit, at: Floats) -> tuple[Floats, Floats]:
    with np.errstate(over="ignore", invalid="ignore"):  # a step too far: refused afterwards
        value, slope = density.value_and_slope(summit.point + product(at, summit.spread.T))
        return value, product(slope, summit.spread)
