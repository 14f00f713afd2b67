"""The characteristic curve of a plate through the steps of a wedge, with its solarised turn.

Above the veil v it has a toe, a straight rise of gradient g and a shoulder, each corner rounded by
a width of its own; past a place xs a falling logistic is taken away::

    S(x) = v + g (soft(L, we) - soft(L - soft(x - b, wb), we)) - drop / (1 + exp(-(x - xs) / gs))
    soft(x, w) = w log(1 + exp(x / w))

x is the decadic logarithm of the exposure, S that of reflectance. With wide corners the rise is a
logistic, with narrow ones a straight line, as F. Hurter and V. C. Driffield drew it (Journal of the
Society of Chemical Industry 9 (1890) 455-469, from memory). It is fitted by bounded least squares
with weak beliefs on the widths; whether it turns is asked by fitting it without the drop as well.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.arrays import Floats

_CORNER, _CORNER_SD = float(np.log(0.12)), 0.6  # of the logarithm of a corner's width
_TURN, _TURN_SD = float(np.log(0.12)), 0.5
_DRAWS = 150
_STEP = 0.005  # of the grid on which figures are read off [log exposure]
_BEYOND = 0.5  # how far the grid reaches past the steps [log exposure]
_FAR = 20.0  # where a rise has come to its end [log exposure]
_SEED = 1839


@dataclass(frozen=True)
class Figure:
    """One figure with its standard deviation; NaN where it cannot be read off.

    Attributes
    ----------
    value, sd : float
        [as the figure]
    """

    value: float
    sd: float


@dataclass(frozen=True)
class Curve:
    """The curve of a plate.

    Attributes
    ----------
    turns : bool
        True when it falls again within the steps (solarised).
    veil, rise : Figure
        Logarithm of reflectance before any light, and from there to the peak. [1]
    speed_point : Figure
        Log exposure at 0.10 above the veil. [1]
    steepest : Figure
        Largest rise of S for one of log exposure. [1]
    latitude : Figure
        Log exposure from the speed point to nine tenths of the rise. [1]
    peak : Figure
        Log exposure of the peak; NaN where it does not turn. [1]
    x, s : ndarray
        The curve itself: log exposure, and S above the veil.
    """

    turns: bool
    veil: Figure
    rise: Figure
    speed_point: Figure
    steepest: Figure
    latitude: Figure
    peak: Figure
    x: Floats
    s: Floats


def fitted_curve(x: Floats, s: Floats, doubt: Floats) -> Curve:
    """Return the curve through the steps of a wedge.

    Parameters
    ----------
    x, s : ndarray (n,)
        Log exposure and logarithm of reflectance of each step; x ascending.
    doubt : ndarray (n,)
        Standard deviation of s.
    """
    plain = _best(x, s, doubt, turning=False)
    turned = _best(x, s, doubt, turning=True)
    after = _curve(turned.place, x)
    top = int(np.argmax(after))
    fall = float(after[top] - after[-1])
    turns = (
        plain.misfit - turned.misfit > trade.value("seeing", "turn_evidence")
        and fall > trade.value("seeing", "turn_least")
        and x[top] < x[-1]
    )
    fit = turned if turns else plain
    grid = np.arange(x[0] - _BEYOND, x[-1] + _BEYOND, _STEP)
    rng = np.random.default_rng(_SEED)
    own = _figures(fit.place, grid, x[-1], turns=turns)
    drawn = np.array(
        [_figures(one, grid, x[-1], turns=turns) for one in fit.draws(rng)], dtype=float
    )
    veil, rise, speed, steep, latitude, peak = (
        Figure(value, _spread(draws)) for value, draws in zip(own, drawn.T, strict=True)
    )
    return Curve(
        turns, veil, rise, speed, steep, latitude, peak, grid,
        _curve(fit.place, grid) - fit.place[0],
    )  # fmt: skip


def _spread(draws: Floats) -> float:
    """Return a standard deviation that tails do not move; NaN where few draws have the figure."""
    there = draws[np.isfinite(draws)]
    if there.size < 0.8 * draws.size:
        return float("nan")
    low, high = np.quantile(there, (0.16, 0.84))
    return float(high - low) / 2


@dataclass(frozen=True)
class _Fit:
    place: Floats
    misfit: float
    slope: Floats
    low: Floats
    high: Floats

    def draws(self, rng: np.random.Generator) -> Floats:
        """Return places that fit about as well, by the curvature at the best one."""
        inner = self.slope.T @ self.slope + 1e-9 * np.eye(self.place.size)
        values, ways = np.linalg.eigh(np.linalg.inv(inner))
        root = ways * np.sqrt(np.maximum(values, 0.0))
        noise = rng.standard_normal((_DRAWS, self.place.size))
        return np.asarray(np.clip(self.place + noise @ root.T, self.low, self.high))


def _soft(x: Floats | float, width: float) -> Floats:
    return np.asarray(width * np.logaddexp(0.0, np.asarray(x) / width))


def _curve(place: Floats, x: Floats) -> Floats:
    v, rise, middle, log_steep, log_toe, log_shoulder = place[:6]
    steep = np.exp(log_steep)
    long, toe, shoulder = rise / steep, np.exp(log_toe), np.exp(log_shoulder)
    straight = _soft(x - middle + long / 2, toe)
    out = v + steep * (_soft(long, shoulder) - _soft(long - straight, shoulder))
    if place.size > 6:
        drop, away, log_turn = place[6:]
        out = out - drop * np.exp(-np.logaddexp(0.0, -(x - middle - away) / np.exp(log_turn)))
    return np.asarray(out)


def _best(x: Floats, s: Floats, doubt: Floats, *, turning: bool) -> _Fit:
    from scipy.optimize import least_squares

    low_s, high_s = float(s.min()), float(s.max())
    rise = max(high_s - low_s, 0.1)
    narrow, wide = np.log(0.02), np.log(0.6)
    low = np.array([low_s - 0.5, 0.03, x[0] - 0.5, np.log(0.15), narrow, narrow, 0.0, 0.1, narrow])
    high = np.array([low_s + 0.3, 4.0, x[-1] + 0.7, np.log(6.0), wide, wide, 3.0, 3.0, wide])
    count = 9 if turning else 6
    low, high = low[:count], high[:count]

    def off(place: Floats) -> Floats:
        beliefs = [(place[at] - _CORNER) / _CORNER_SD for at in (4, 5)]
        if turning:
            beliefs.append((place[8] - _TURN) / _TURN_SD)
        return np.append((_curve(place, x) - s) / doubt, beliefs)

    half = float(x[np.argmax(s >= low_s + rise / 2)])
    peak = float(x[np.argmax(s)])
    found = []
    starts = [(steep, later) for steep in (0.8, 1.8) for later in ((0.1, 0.4) if turning else (0,))]
    for steep, later in starts:
        begin = [low_s, rise, half, np.log(steep), _CORNER, _CORNER]
        if turning:
            begin += [0.5 * rise, max(0.3, peak - half + later), _TURN]
        inside = np.clip(begin, low + 1e-6, high - 1e-6)
        found.append(least_squares(off, inside, bounds=(low, high), ftol=1e-5, xtol=1e-5))
    best = min(found, key=lambda one: float(one.cost))
    return _Fit(best.x, 2.0 * float(best.cost), np.asarray(best.jac), low, high)


def _figures(place: Floats, grid: Floats, last: float, *, turns: bool) -> tuple[float, ...]:
    """Return veil, rise, speed point, steepest, latitude and peak of one curve."""
    above = _curve(place, grid) - place[0]
    top = int(np.argmax(np.where(grid <= last, above, -np.inf)))
    far = np.array([grid[-1] + _FAR])
    rise = float(above[top]) if turns else float(_curve(place, far)[0] - place[0])
    rising = above[: top + 1] if turns else above
    speed = _crossing(grid, rising, trade.value("seeing", "speed_point_above_veil"))
    end = _crossing(grid, rising, 0.9 * rise)
    steep = float(np.gradient(rising, _STEP).max()) if rising.size > 2 else np.nan
    return (
        float(place[0]), rise, speed, steep, end - speed, float(grid[top]) if turns else np.nan,
    )  # fmt: skip


def _crossing(grid: Floats, rising: Floats, level: float) -> float:
    """Return where a curve first reaches a level; NaN where it begins above or never does."""
    over = rising >= level
    if over[0] or not over.any():
        return float("nan")
    at = int(np.argmax(over))
    share = (level - rising[at - 1]) / (rising[at] - rising[at - 1])
    return float(grid[at - 1] + share * _STEP)
