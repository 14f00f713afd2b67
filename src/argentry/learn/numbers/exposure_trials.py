"""The next exposure: a strip plate or a whole one, to learn the speed or to make a picture.

While the speed is sought, the exposure that leaves the least variance of it on average is given;
once it is known to a third of a stop four times in five, the one most likely to be right.

References
----------
.. [1] A. B. Watson, QUEST+: a general multidimensional Bayesian adaptive psychometric method,
   Journal of Vision 17 (2017) 3:10: the next trial by what it is expected to leave unknown.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations_with_replacement

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.learn.numbers.exposure_belief import SHARED, SHARED_CHANCE, Belief, grade_chances
from argentry.learn.numbers.speed import found
from argentry.records.decision import Trial

SIXTH = 1.0 / 6.0  # steps in which exposures are offered [stops]
REACH = 15  # how many of them either side of the middle


def candidates(belief: Belief) -> Floats:
    """Return exposures worth considering, in sixths of a stop about the mean. [stops]."""
    middle = round(belief.mean / SIXTH)
    return np.asarray(SIXTH * np.arange(middle - REACH, middle + REACH + 1, dtype=np.float64))


def expected_sd(belief: Belief, stops: Floats) -> Floats:
    """Return the standard deviation of the speed to be expected after one whole plate at each.

    Parameters
    ----------
    belief : Belief
        Before.
    stops : NDArray (m,)
        Exposures. [stops]

    Returns
    -------
    NDArray (m,)
        Root of the mean variance over what it may show. [stops]
    """
    joint = (grade_chances(belief, stops) * belief.weight).sum(axis=(-1, -2))
    return _left(joint, belief.shift)


def _left(joint: Floats, shift: Floats) -> Floats:
    """Return the root of the mean variance of S over results; joint is (results, ..., a)."""
    total = joint.sum(axis=-1)
    mean = joint @ shift / np.maximum(total, 1e-300)
    square = joint @ shift**2 - total * mean**2
    return np.asarray(np.sqrt(np.maximum(square.sum(axis=0), 0.0)))


def expected_strip_sd(belief: Belief, stops: Floats) -> float:
    """Return the same after one plate of strips, whose verdicts never fall back with more light.

    Parameters
    ----------
    belief : Belief
        Before.
    stops : NDArray (m,)
        Exposures of the strips, ascending. [stops]

    Returns
    -------
    float
        [stops]
    """
    chances = grade_chances(belief, stops, 0.0, SHARED)
    rows = []
    for seen in combinations_with_replacement(range(4), stops.size):
        each = chances[list(seen), np.arange(stops.size)].prod(axis=0) @ SHARED_CHANCE
        rows.append((each * belief.weight).sum(axis=(-1, -2)))
    joint = np.array(rows)
    # verdicts out of order come from slips alone and are left out
    return float(_left(joint / joint.sum(), belief.shift))


def right_chances(belief: Belief, stops: Floats) -> Floats:
    """Return the chance that a whole plate at each exposure is judged right. [1]."""
    return np.asarray((grade_chances(belief, stops)[1] * belief.weight).sum(axis=(-1, -2, -3)))


def best_centre(belief: Belief) -> float:
    """Return the exposure most likely to be right. [stops]."""
    at = candidates(belief)
    return float(at[int(np.argmax(right_chances(belief, at)))])


@cache
def strip_offsets() -> Floats:
    """Return by how much the strips of a test plate differ from its middle. [stops]."""
    count = int(trade.value("decide", "trial_strips"))
    step = trade.value("decide", "trial_strip_step")
    return np.asarray(step * (np.arange(count) - (count - 1) / 2.0))


def next_exposure(
    belief: Belief,
    *,
    commissioned: bool = False,
) -> Trial:
    """Return the next exposure and what it would teach.

    Parameters
    ----------
    belief : Belief
        Of speed and latitude.
    commissioned : bool
        True when the plate is promised: it is given the exposure most likely to be right.

    Returns
    -------
    Trial
        Stops from the starting exposure, with the chance of right and the doubt before and after.
    """
    seeking = not found(belief) and not commissioned
    at = candidates(belief)
    chances = right_chances(belief, at)
    now = best_centre(belief)
    steps: tuple[float, ...] = ()
    if seeking:
        to = SIXTH * round(belief.mean / SIXTH)
        steps = tuple(float(to + off) for off in strip_offsets())
        after = expected_strip_sd(belief, np.array(steps))
        reason = "The speed is not yet known to a third of a stop: strips on one plate teach most."
    else:
        to = now
        after = float(expected_sd(belief, np.array([to]))[0])
        reason = (
            "The plate is promised: the exposure most likely to be right."
            if commissioned
            else "The speed is known well enough: the exposure most likely to be right."
        )
    chance, low, high = _right(belief, to)
    return Trial(
        change="exposure",
        title="strips on one plate" if steps else "exposure",
        from_=now,
        to=to,
        unit="stops",
        steps=steps,
        explores=seeking,
        chance=chance,
        chance_low=low,
        chance_high=high,
        chance_before=float(chances.max()),
        doubt=belief.sd,
        doubt_after=after,
        teaches="Doubt about plate speed should fall from {sd:.2f} to {after:.2f} stops.".format(
            sd=belief.sd, after=after
        ),
        plates=belief.plates,
        reason=reason,
    )


def _right(belief: Belief, stops: float) -> tuple[float, float, float]:
    """Return the chance of right at an exposure, with the 80 % range over the grid."""
    each = grade_chances(belief, np.array([stops]))[1, 0].ravel()
    order = np.argsort(each)
    weight = belief.weight.ravel()[order]
    total = np.cumsum(weight) - 0.5 * weight
    low, high = np.interp([0.1, 0.9], total, each[order])
    mean = float(each[order] @ weight)
    return mean, min(float(low), mean), max(float(high), mean)
