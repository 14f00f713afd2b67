"""How long the lens stays open for a dose, while the sun moves: the law of reciprocity.

References
----------
.. [1] R. W. Bunsen and H. E. Roscoe, Photochemical researches: equal products of light and time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range
from argentry.physics.picture.dose import cumulative_j_m2, end_index, end_table
from argentry.physics.ranges import checked


@dataclass(frozen=True)
class Reciprocity:
    """How light over a long and over a short time count: its effect is light x (t/t0)^(p - 1).

    Attributes
    ----------
    exponent : float
        p; 1 where light times time is all that counts. [1]
    reference_s : float
        t0, the time at which the plate speed is stated. [s]

    References
    ----------
    Bunsen and Roscoe [1]_ for p = 1.
    """

    exponent: float
    reference_s: float

    def need(self, open_s: ArrayLike) -> Floats:
        """Return how many times the stated dose a plate needs that is exposed so long. [1]."""
        times = np.asarray(open_s, dtype=np.float64) / self.reference_s
        return np.asarray(times ** (1.0 - self.exponent))


def reciprocity(exponent: float | None = None, reference_s: float | None = None) -> Reciprocity:
    """Return the law of reciprocity, of the trade where a number is None.

    Parameters
    ----------
    exponent, reference_s : float or None
        As of `Reciprocity`. [1, s]
    """
    own, at = (
        trade.value("exposure", key) if value is None else value
        for key, value in (
            ("reciprocity_exponent", exponent), ("reciprocity_reference", reference_s),
        )
    )  # fmt: skip
    checked("reciprocity exponent", own, "exposure", "reciprocity_exponent")
    check_range("time at which the speed is stated", at, 0.0, 1e6, "s", open_low=True)
    return Reciprocity(own, at)


ROUNDS, CLOSE_S = 12, 0.01


def lens_closes(
    reach: Callable[[Floats], Floats],
    doses: Floats,
    starts: Floats | float,
    last: float,
    step_s: float,
    law: Reciprocity,
) -> Floats:
    """Return where exposures end, by a law of reciprocity and what light times time alone reaches.

    The dose needed and the time it takes hang on each other: a few rounds bring them together, as a
    change of the time changes the need by its (1 - p)th power only.

    Parameters
    ----------
    reach : callable
        Ends for doses of the shape of `doses`, in steps; not finite where the light ends first.
    doses : Floats
        At the time at which the speed is stated. [J/m2]
    starts : Floats or float
        When they begin, in steps. [1]
    last : float
        End of the light, in steps. [1]
    step_s : float
        [s]
    law : Reciprocity
        See there.

    Returns
    -------
    Floats
        In steps; not finite where the light ends first. [1]
    """
    ends = reach(doses)
    if law.exponent == 1.0:
        return ends
    known = np.where(np.isfinite(ends), ends, last)
    for _ in range(ROUNDS):
        ends = reach(doses * law.need(np.maximum((known - starts) * step_s, CLOSE_S)))
        before, known = known, np.where(np.isfinite(ends), ends, last)
        if np.max(np.abs(known - before), initial=0.0) * step_s < CLOSE_S:
            break
    return ends


def exposure_seconds(
    light_w_m2: ArrayLike,
    step_s: float,
    dose_j_m2: ArrayLike,
    *,
    start_s: float = 0.0,
    law: Reciprocity | None = None,
) -> Floats:
    """Return how long the shutter stays open while the sun moves; NaN where the light ends first.

    Parameters
    ----------
    light_w_m2 : array_like, shape (n,)
        Exposure light on the subject, steady within each step. [W/m2]
    step_s : float
        [s]
    dose_j_m2 : array_like, shape (k,) or scalar
        [J/m2]
    start_s : float
        When it opens, from the start of the series. [s]
    law : Reciprocity or None
        None means the trade's.

    Returns
    -------
    Floats, shape of `dose_j_m2`
        [s]
    """
    doses = np.asarray(dose_j_m2, dtype=np.float64)
    total = cumulative_j_m2(light_w_m2, step_s)
    start = start_s / step_s

    def reach(wanted: Floats) -> Floats:
        return np.array([end_index(total, start, float(one)) for one in wanted])

    ends = lens_closes(reach, doses.ravel(), start, len(total) - 1.0, step_s, law or reciprocity())
    return np.reshape((ends - start) * step_s, doses.shape)


def exposure_end_table(
    cumulative: Floats, dose_j_m2: ArrayLike, step_s: float, law: Reciprocity
) -> Floats:
    """Return, for a start at every step edge, where an exposure ends; NaN where it never does.

    Parameters
    ----------
    cumulative : Floats, shape (n + 1,) or (k, n + 1)
        Running sum of exposure light on the subject. [J/m2]
    dose_j_m2 : array_like, scalar or shape (k,)
        As of `argentry.physics.picture.dose.end_table`. [J/m2]
    step_s : float
        [s]
    law : Reciprocity
        See there.
    """
    doses = np.asarray(dose_j_m2, dtype=np.float64)[..., None]
    shape = np.broadcast_shapes(cumulative.shape, doses.shape)
    starts, last = np.arange(shape[-1], dtype=np.float64), shape[-1] - 1.0

    def reach(wanted: Floats) -> Floats:
        return end_table(cumulative, np.atleast_2d(wanted)).reshape(shape)

    return lens_closes(reach, np.broadcast_to(doses, shape), starts, last, step_s, law)
