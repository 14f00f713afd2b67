"""When a plate is ripe, from how its lights and middle tones have risen so far.

Each tone rises out of the coat, slowly at first or at once, and levels off at one white that all
tones of a plate share::

    level(D) = coat + white rise(D / t)

D is the light behind the filter, t the tone's own dose: short for lights, long for shadows. Lights
show early where the white lies and how the rise bends; the middle tone is ripe at half that white,
as a middle tone is right there in a step wedge (`argentry.judge.wedge`). No curve of a tone against
red light is published, so two rises are fitted that level off soon and late, and weighed by how
well they explain the looks::

    soon: 1 - exp(-(D / t)^m)        late: (D / t)^m / (1 + (D / t)^m)

How far levels scatter about a rise tells how well these pictures are known: those of a phone that
packs lightly count for more. What the studio knows of its dose beforehand counts with its doubt, so
that few looks are not overrated. The laws and their doubts are judgements.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.arrays import Floats

_BEND_SD = 0.3  # of the logarithm of m
_WHITE_SD, _COAT_SD = 0.6, 0.5  # of logarithms: hardly known beforehand
_PICTURE_SD = 0.03  # of the logarithm of one picture's bare edge: what it mirrors changes
_LEVEL_SD = 0.006  # of a level, as a share of it, in usual pictures: noise and packing
_USUAL_COUNTS = 8.0  # scattered levels that usual pictures weigh as much as
_ALIKE = 1.5  # levels that err together, as one: a packed ground is off alike in several looks
_FAR = 2.0  # natural logarithm within which a tone's dose lies about the middle's, 1 sd

LEAST_LEVEL = 1e-3  # of the bare edge: a picture that is crushed to black has no logarithm


@dataclass(frozen=True)
class Ripeness:
    """What looks through the red filter say.

    Attributes
    ----------
    end, sd : float
        Natural logarithm of the dose at which the middle tone is ripe, in the unit of the looks,
        and its standard deviation.
    risen : ndarray, shape (tones,)
        Share of the white to which each tone has risen at the last look. [1]
    """

    end: float
    sd: float
    risen: Floats


def ripeness(doses: Floats, levels: Floats, middle: int, before: tuple[float, float]) -> Ripeness:
    """Return when the middle tone is ripe.

    Parameters
    ----------
    doses : ndarray, shape (looks,)
        Light behind the filter so far, above 0. [J/m2]
    levels : ndarray, shape (looks, tones)
        Of each tone, as a share of the bare edge's; the lights last. [1]
    middle : int
        Which tone is the middle one.
    before : (float, float)
        Natural logarithm of the dose at which such plates are ripe, and its standard deviation.
    """
    levels = np.maximum(levels, LEAST_LEVEL)
    # shadows veil by a law of their own: only the middle tone and lighter ones are fitted
    fitted = levels[:, middle:]
    fits = [_fitted(doses, fitted, before, law, _LEVEL_SD) for law in (_SOON, _LATE)]
    sd = _scatter(min(fits, key=lambda one: one.unlikely), fitted)
    fits = [
        _fitted(doses, fitted, before, law, sd, one.found)
        for law, one in zip((_SOON, _LATE), fits, strict=True)
    ]
    unlikely = np.array([one.unlikely for one in fits])
    weights = np.exp(unlikely.min() - unlikely)
    weights = weights / weights.sum()
    end = float(sum(w * one.end for w, one in zip(weights, fits, strict=True)))
    spread = sum(
        w * (one.sd**2 + (one.end - end) ** 2) for w, one in zip(weights, fits, strict=True)
    )
    coat, white = (sum(w * getattr(one, key) for w, one in zip(weights, fits, strict=True))
                   for key in ("coat", "white"))  # fmt: skip
    risen = (levels[-1] - coat) / white
    doubt = trade.value("seeing", "ripening_doubt")
    return Ripeness(end, float(np.sqrt(spread + min(doubt, before[1]) ** 2)), np.asarray(risen))


@dataclass(frozen=True)
class _Law:
    """A rise: the logarithm of its usual bend, and of what its bend turns the half into."""

    late: bool
    bend: float

    def risen(self, over: Floats) -> Floats:
        """Return the share risen, for the logarithm of (D / t)^m."""
        return np.asarray(1.0 / (1.0 + np.exp(-over)) if self.late else -np.expm1(-np.exp(over)))

    @property
    def half(self) -> float:
        """Logarithm of (D / t)^m at which half has risen."""
        return 0.0 if self.late else float(np.log(np.log(2.0)))


_SOON, _LATE = _Law(late=False, bend=0.0), _Law(late=True, bend=float(np.log(1.4)))


@dataclass(frozen=True)
class _Fit:
    end: float
    sd: float
    coat: float
    white: float
    unlikely: float  # less the logarithm of its evidence, by Laplace
    squares: float  # of all that is off, in the doubts it was fitted with, what was known included
    found: Floats


def _scatter(fit: _Fit, levels: Floats) -> float:
    """Return the standard deviation of a level by how far levels scatter about the best rise."""
    looks, tones = levels.shape
    free = max(looks * tones - tones - 3, 0)  # each tone's own dose, coat, white and bend
    squares = (fit.squares + _USUAL_COUNTS) * _LEVEL_SD**2
    return float(np.sqrt(_ALIKE * squares / (free + _USUAL_COUNTS)))


def _fitted(
    doses: Floats, levels: Floats, before: tuple[float, float], law: _Law, level_sd: float,
    start: Floats | None = None,
) -> _Fit:  # fmt: skip
    """Return one rise fitted to all tones at once, of which the first is the middle one."""
    from scipy.optimize import least_squares

    looks, tones = levels.shape
    top, low = float(levels.max()), float(levels.min())
    guess = float(np.log(max(top - low, 0.05) * 1.5))

    def risen(given: Floats) -> Floats:
        own = given[3 : 3 + tones]
        return law.risen((np.log(doses)[:, None] - own) * np.exp(given[2]))

    def misfit(given: Floats) -> Floats:
        coat, white, bend = given[:3]
        own, pictures = given[3 : 3 + tones], given[3 + tones :]
        drawn = (np.exp(coat) + np.exp(white) * risen(given)) * np.exp(pictures)[:, None]
        end = own[0] + law.half / np.exp(bend)
        return np.concatenate([
            ((drawn - levels) / (level_sd * levels)).ravel(),
            [(coat - np.log(low)) / _COAT_SD, (white - guess) / _WHITE_SD],
            [(bend - law.bend) / _BEND_SD, (end - before[0]) / before[1]],
            (own - own[0]) / _FAR, pictures / _PICTURE_SD,
        ])  # fmt: skip

    apart = np.linspace(0.0, -0.7, tones)
    first = np.concatenate([
        [np.log(low), guess, law.bend], before[0] + apart, np.zeros(looks),
    ])  # fmt: skip
    found = least_squares(misfit, first if start is None else start, x_scale=0.3, max_nfev=300)
    sharp = found.jac.T @ found.jac
    cover = np.linalg.pinv(sharp)
    bend = float(np.exp(found.x[2]))
    slope = np.zeros(found.x.size)
    slope[3], slope[2] = 1.0, -law.half / bend
    return _Fit(
        float(found.x[3] + law.half / bend), float(np.sqrt(slope @ cover @ slope)),
        float(np.exp(found.x[0])), float(np.exp(found.x[1])),
        float(found.cost + np.linalg.slogdet(sharp)[1] / 2.0), 2.0 * float(found.cost), found.x,
    )  # fmt: skip
