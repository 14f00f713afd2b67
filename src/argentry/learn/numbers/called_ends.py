"""What ends of developments say of the ripe dose, where an eye called them.

A plate lies off the studio's ripe dose by what differs from plate to plate, and is taken out early
or late by what its maker's eye is wrong by. Ends that are hardly early or late spoil nothing and
are booked as ripe, so ripe ends are a selected sample: where plates bear a late end better than an
early one, they lie too high. They are therefore read as what is left of all ends [1]_, and the
spoilt ones tell how much of the scatter is the eye's and how far off nothing is spoilt. Some plates
were stopped or fogged by something else than the eye; of those only the side is told.

How far ends scatter, the eye's share of it and how far off nothing is spoilt are not known. A few
values of each stand for that, weighed by the plates. So do four for how many were stopped
otherwise: most or all, where one plate after the other comes out unripe at one dose.

Where ends come by the clock, after much the same minutes in every light, no eye called them: then
each only says on which side of ripe the plate was, and that a good one was near enough.

References
----------
.. [1] J. J. Heckman, Sample selection bias as a specification error, Econometrica 47 (1979)
   153-161: what is normal, and of which those within bounds of another normal are seen.
.. [2] A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section 2.6: what is believed of
   a variance, as if some plates had shown it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.stages.likelihood import normal_cdf
from argentry.physics.stops import Z80

if TYPE_CHECKING:
    from argentry.arrays import Floats

EYE_SHARES = np.array([0.0, 0.25, 0.5, 0.75])[:, None]  # of the variance of an end [1]
TIMES = np.exp(np.linspace(-0.6, 0.6, 5))  # the scatter, of the trade's word [1]
# plates now and then lie far off: Student's law of three degrees of freedom, which is normal laws
# of many spreads together, as wide over 80 % as the normal one; 1.638 is its 90 % mark (any table)
_STRAYS = np.array([-0.35, 0.0, 0.35, 0.75, 1.25])
_CHI = 3.0 * np.exp(-2.0 * _STRAYS)
SPREADS = Z80 / 1.638 * np.exp(_STRAYS)
SHARES = _CHI**1.5 * np.exp(-0.5 * _CHI)
SHARES /= SHARES.sum()
# how far off an end nothing is spoilt [spreads of an end]
FORGIVEN = np.array([0.15, 0.4, 0.7, 1.0, 1.4, 1.9, 2.5, 3.2])
STEP = 0.025  # of the logarithms at which chances of ends are kept [1]
FINE, COARSE = 2, 8  # steps from value to value; the latter is right to a tenth of the scatter
FARTHEST = 180  # an end farther off tells no more [steps]
# how many of the early, or late, ends were stopped otherwise beside the three values of the trade:
# as good as all, which a ripe plate soon contradicts
ALL = 0.97
# how close together ends lie that were stopped otherwise, against called ones: where most are, it
# is by a clock or a plan, and they lie close; found by trial on drawn studios
CLOSE = np.array([0.4, 0.4, 1.0, 2.0])
REACH = 4.0  # how far values are looked at [standard deviations of what is believed]
LEAST = 1e-300


def late_by_eye(off: Floats | float, own: Floats, eye: Floats, limits: Floats) -> Floats:
    """Return the chance that the eye called an end no later than some limits.

    Parameters
    ----------
    off : NDArray (...)
        The end against the middle of ripe doses, of their logarithms. [1]
    own, eye : NDArray (...)
        Standard deviations of the plate's own ripe dose and of what the eye is wrong by. [1]
    limits : NDArray (..., k)
        How late against the plate's own ripe dose; below 0 for early. [1]

    Returns
    -------
    NDArray (..., k)
        Given where the end lies.
    """
    whole = own**2 + eye**2
    late, left = off * eye**2 / whole, np.sqrt(np.maximum(own**2 * eye**2 / whole, 1e-24))
    return normal_cdf((limits - late[..., None]) / left[..., None])


class Evidence:
    """Log likelihoods of values of the ripe dose, to which ends are added one after another.

    Parameters
    ----------
    believed_sd : float
        How well the dose was known before, as the standard deviation of its logarithm. [1]
    rough : bool
        In steps of `COARSE`, for how far ends stray from each other.
    by_clock : bool
        Of ends that no eye called.
    """

    def __init__(self, believed_sd: float, *, rough: bool = False, by_clock: bool = False) -> None:
        self.chances = _clock_chances() if by_clock else _chances()
        every = COARSE if rough else FINE
        span = int(np.ceil(REACH * believed_sd / (STEP * every))) + 2
        self.every, self.shifts = every, every * np.arange(-span, span + 1)
        self.total = np.zeros((self.shifts.size, _spread().size + 2 * _side_size()))
        self.pictures = np.zeros((self.shifts.size, TIMES.size))

    def add(self, logs: Floats, end: str) -> None:
        """Add plates that came out of the frame alike.

        Parameters
        ----------
        logs : NDArray (n,)
            Their doses over what was believed, as logarithms. [1]
        end : str
            As of `argentry.learn.numbers.box_and_dose.development_dose`.
        """
        steps = logs / STEP
        below = np.floor(steps).astype(int)
        both, share = np.stack([below, below + 1]), steps - below
        off = np.clip(both[:, None] - self.shifts[:, None], -FARTHEST, FARTHEST) + FARTHEST
        chances = self.chances[end]
        if logs.size == 1:  # as below, without a product of matrices for each of many plates
            near, far = chances[off[..., 0]]
            self.total += near + share * (far - near)
            return
        used = np.flatnonzero(np.bincount(off.ravel()))
        place = np.zeros(2 * FARTHEST + 1, dtype=int)
        place[used] = np.arange(used.size)
        cells = place[off] + used.size * np.arange(self.shifts.size)[:, None]
        counts = np.bincount(
            cells.ravel(),
            np.broadcast_to(np.stack([1.0 - share, share])[:, None], off.shape).ravel(),
            minlength=used.size * self.shifts.size,
        )
        self.total += counts.reshape(self.shifts.size, -1) @ chances[used]

    def add_pictures(self, logs: Floats, log_sds: Floats) -> None:
        """Add ripe doses that pictures told, each with its own doubt."""
        at = STEP * self.shifts[:, None, None]
        spread = np.hypot(log_sds[:, None], _spread()[0])
        off = (logs[:, None] - at) / spread
        self.pictures += (-0.5 * off**2 - np.log(spread)).sum(axis=1)

    def at(self, values: Floats) -> Floats:
        """Return the log likelihood of values of the ripe dose, over what was believed. [1]."""
        shape = (len(self.total), EYE_SHARES.size, TIMES.size)
        many = _spread().size
        ripe, early, late = np.split(self.total, [many, many + _side_size()], axis=1)
        each = ripe.reshape(shape) + self.pictures[:, None] + _believed()
        for side in (early, late):
            each = each + _log_sum(side.reshape(*shape, -1))
        score = _log_sum(each.reshape(len(each), -1))
        return _cubic(score, (values / STEP - self.shifts[0]) / self.every)


def _cubic(values: Floats, at: Floats) -> Floats:
    """Return what lies between evenly spaced values, by the cubic through four of them."""
    first = np.clip(np.floor(at).astype(int) - 1, 0, values.size - 4)
    x = at - first
    return np.asarray(
        values[first] * (x - 1.0) * (x - 2.0) * (x - 3.0) / -6.0
        + values[first + 1] * x * (x - 2.0) * (x - 3.0) / 2.0
        + values[first + 2] * x * (x - 1.0) * (x - 3.0) / -2.0
        + values[first + 3] * x * (x - 1.0) * (x - 2.0) / 6.0
    )


def _log_sum(logs: Floats) -> Floats:
    """Return the log of the sum of what lies along the last axis, as logs."""
    most = logs.max(axis=-1)
    return np.asarray(most + np.log(np.exp(logs - most[..., None]).sum(axis=-1)))


def _spread() -> Floats:
    """Return the standard deviation of an end, by the eye's share of it and by scatter. [1]."""
    each = trade.value("decide", "end_point_log_sd")
    return np.broadcast_to(each * TIMES, (EYE_SHARES.size, TIMES.size))


def _side_size() -> int:
    return _spread().size * FORGIVEN.size * CLOSE.size


def _believed() -> Floats:
    """Return the log of what is believed of the scatter before any plate: inverse chi squared."""
    plates = trade.value("decide", "error_plates")
    return -plates * np.log(TIMES) - 0.5 * plates / TIMES**2


@lru_cache(maxsize=1)
def _chances() -> dict[str, Floats]:
    """Return the log chance of each kind of end, by how far off the ripe dose it lies.

    A row for each step from -`FARTHEST` on. In its columns lie one after another the ends as such
    by eye's share and scatter, and what early and late ends tell, by those, how
    far off nothing is spoilt and how many are stopped otherwise. That none is both is taken as if
    each were by itself, so that the two sides need not be gone through together.
    """
    off: Floats = STEP * np.arange(-FARTHEST, FARTHEST + 1.0)[:, None, None]
    spread, fogged = _spread(), trade.value("decide", "other_fog")
    eye, usual = np.sqrt(EYE_SHARES) * spread, np.sqrt(1.0 - EYE_SHARES) * spread
    limits = FORGIVEN * spread[..., None]
    rows = len(off)
    all_ends, size = np.zeros((rows, *spread.shape)), (rows, *spread.shape, FORGIVEN.size)
    early, late = np.zeros(size), np.zeros(size)
    short, over = _beyond()
    for times, share in zip(SPREADS, SHARES, strict=True):
        own = times * usual
        whole = np.hypot(own, eye)
        here = share * np.exp(-0.5 * (off / whole) ** 2) / whole
        all_ends += here
        early += here[..., None] * late_by_eye(off, own, eye, -limits)
        late += here[..., None] * (1.0 - (1.0 - fogged) * late_by_eye(off, own, eye, limits))
    all_ends = np.maximum(all_ends, LEAST)
    stopped = _stopped()
    spoilt, unspoilt = {}, []
    for end, called, beyond in (("unripe", early, short), ("too long", late, over)):
        elsewhere = (beyond / spread[..., None])[..., None] * (stopped * CLOSE)
        spoilt[end] = _logs((1.0 - stopped) * called[..., None] + elsewhere).reshape(rows, -1)
        kept = 1.0 - called / all_ends[..., None]
        unspoilt.append(_logs((1.0 - stopped) * kept[..., None]).reshape(rows, -1))
    ends, side = np.zeros((rows, spread.size)), np.zeros((rows, _side_size()))
    return {
        "ripe": np.hstack([np.log(all_ends).reshape(rows, -1), *unspoilt]),
        "unripe": np.hstack([ends, spoilt["unripe"], side]),
        "too long": np.hstack([ends, side, spoilt["too long"]]),
    }


@lru_cache(maxsize=1)
def _clock_chances() -> dict[str, Floats]:
    """Return the same of ends by the clock: where they lie tells nothing, how they came out all."""
    short, over = _beyond()
    clear_of = (1.0 - trade.value("decide", "other_fog")) * (1.0 - over)
    sides = [
        _logs(np.repeat(one, CLOSE.size, axis=-1)).reshape(len(one), -1)
        for one in (short, 1.0 - short, 1.0 - clear_of, clear_of)
    ]
    ends, side = np.zeros((len(short), _spread().size)), np.zeros_like(sides[0])
    return {
        "ripe": np.hstack([ends, sides[1], sides[3]]),
        "unripe": np.hstack([ends, sides[0], side]),
        "too long": np.hstack([ends, side, sides[2]]),
    }


def _beyond() -> tuple[Floats, Floats]:
    """Return how likely an end, wherever it lies, spoilt its plate by being early, or late; [1].

    By the rows of `_chances`, eye's share, scatter, and how far off nothing is spoilt.
    """
    off: Floats = STEP * np.arange(-FARTHEST, FARTHEST + 1.0)[:, None, None, None]
    spread = _spread()[..., None]
    limits, usual = FORGIVEN * spread, np.sqrt(1.0 - EYE_SHARES)[..., None] * spread
    short, over = (np.zeros((len(off), *limits.shape)) for _ in range(2))
    for times, share in zip(SPREADS, SHARES, strict=True):
        short += share * normal_cdf((-off - limits) / (times * usual))
        over += share * normal_cdf((off - limits) / (times * usual))
    return short, over


def clock_chance(minutes: Floats) -> float:
    """Return how likely developments ended by the clock, by how alike their minutes are; [1].

    Either they were ended after much the same minutes, but for a few, or by an eye: plates differ,
    eyes err and light changes, so that minutes of the latter lie at least as far apart as ends do.

    Parameters
    ----------
    minutes : NDArray (n,)
        How long each lay behind the filter; NaN where nobody knows. [min]
    """
    facts = trade.facts("decide")
    logs = np.log(minutes[np.isfinite(minutes)])
    before, close = facts["clock_share"].value, facts["clock_log_sd"].value
    if not logs.size:
        return before
    off = logs - np.median(logs)
    least = facts["end_point_log_sd"].value * TIMES[0]
    eye = max(float(np.sqrt((off**2).mean())), least)
    far = facts["stopped_share"].value

    def density(sd: float) -> Floats:
        return np.asarray(np.exp(-0.5 * (off / sd) ** 2) / sd)

    clock = np.log((1.0 - far) * density(close) + far * density(10.0 * close)).sum()
    odds = np.log(before / (1.0 - before)) + clock - np.log(density(eye)).sum()
    return float(1.0 / (1.0 + np.exp(-np.clip(odds, -700.0, 700.0))))


def _stopped() -> Floats:
    """Return the shares tried of early, or late, ends that were stopped otherwise. [1]."""
    fact = trade.facts("decide")["stopped_share"]
    return np.array([fact.low, fact.value, fact.high, ALL])


def _logs(chances: Floats) -> Floats:
    return np.log(np.maximum(chances, LEAST))
