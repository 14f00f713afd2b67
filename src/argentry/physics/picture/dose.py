"""Running sums of light, and the moment at which a dose begun at another moment is reached.

Light is given in steps of equal length and holds within its step, so its running sum is a broken
line through the step edges. Moments are indices on those edges, in steps, and may be fractional:
index 0 is the start of the first step, index n the end of the last.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from argentry.arrays import Floats, Whole
from argentry.errors import check_range


def cumulative_j_m2(light_w_m2: ArrayLike, step_s: float) -> Floats:
    """Return the running integral of light along the last axis.

    Parameters
    ----------
    light_w_m2 : array_like, shape (..., n)
        Irradiance, holding within its step. [W/m2]
    step_s : float
        Length of a step. [s]

    Returns
    -------
    Floats, shape (..., n + 1)
        Light received up to each step edge; the first is 0. [J/m2]

    Raises
    ------
    BadInput
        If `step_s` is not positive.
    """
    check_range("step", step_s, 0.0, 86400.0, "s", open_low=True)
    light = np.asarray(light_w_m2, dtype=np.float64)
    total = np.zeros((*light.shape[:-1], light.shape[-1] + 1))
    np.cumsum(light, axis=-1, out=total[..., 1:])
    total *= step_s
    return total


def end_index(cumulative: Floats, start_index: float, dose: float) -> float:
    """Return where a dose begun at `start_index` is reached, NaN when it never is.

    Parameters
    ----------
    cumulative : Floats, shape (n + 1,)
        Running integral, never falling. [J/m2]
    start_index : float
        Start, in steps. [1]
    dose : float
        [J/m2]

    Returns
    -------
    float
        End, in steps, fractional; the earliest moment where the light stands still. [1]

    Raises
    ------
    BadInput
        If `dose` is negative or not a number, or the start lies outside the series.
    """
    check_range("dose", dose, 0.0, np.finfo(float).max, "J/m2")
    check_range("start", start_index, 0.0, len(cumulative) - 1.0, "steps")
    if dose == 0.0:
        return float(start_index)
    last, before = len(cumulative) - 1, int(start_index)
    base = cumulative[before]
    if before < last:
        base = base + (cumulative[before + 1] - base) * (start_index - before)
    return float(_first_reach(cumulative, base + dose))


def end_table(cumulative: Floats, dose: ArrayLike) -> Floats:
    """Return, for a start at every step edge, where the dose is reached; NaN when it never is.

    Parameters
    ----------
    cumulative : Floats, shape (n + 1,) or (k, n + 1)
        Running integral of one light or of k lights. [J/m2]
    dose : array_like, scalar, shape (k,) or (k, n + 1)
        Dose, one for all, one for each light, or one for each start under it; k doses over one
        light give k rows. [J/m2]

    Returns
    -------
    Floats, shape of `cumulative`, or (k, n + 1)
        Ends, in steps, fractional. [1]

    Raises
    ------
    BadInput
        If a dose is negative or not a number.
    """
    doses = np.asarray(dose, dtype=np.float64)
    for extreme in (np.min(doses), np.max(doses)):
        check_range("dose", float(extreme), 0.0, np.finfo(float).max, "J/m2")
    if doses.ndim == 1:
        doses = doses[:, None]
    shape = np.broadcast_shapes(cumulative.shape, doses.shape, (cumulative.shape[-1],))
    ends = _first_reach(np.broadcast_to(cumulative, shape), cumulative + doses)
    return np.where(doses == 0.0, np.arange(shape[-1], dtype=np.float64), ends)


def latest_start_index(cumulative: Floats, dose: float, deadline_index: float) -> float:
    """Return the latest start from which the dose is reached by a deadline, NaN when there is none.

    Parameters
    ----------
    cumulative : Floats, shape (n + 1,)
        Running integral. [J/m2]
    dose : float
        [J/m2]
    deadline_index : float
        In steps; beyond the series its end is meant. [1]

    Returns
    -------
    float
        Start, in steps, fractional; the latest moment where the light stands still. [1]

    Raises
    ------
    BadInput
        If `dose` is negative or not a number.
    """
    check_range("dose", dose, 0.0, np.finfo(float).max, "J/m2")
    last = len(cumulative) - 1
    deadline = min(float(deadline_index), float(last))
    wanted = float(np.interp(deadline, np.arange(last + 1), cumulative)) - dose
    if deadline < 0.0 or wanted < cumulative[0]:
        return float("nan")
    after = int(np.searchsorted(cumulative, wanted, side="right"))
    if after > last:  # only where nothing is asked for after the light has ended
        return deadline
    before = cumulative[after - 1]
    return min(deadline, after - 1 + float((wanted - before) / (cumulative[after] - before)))


def _first_reach(cumulative: Floats, wanted: Floats) -> Floats:
    """Return the first fractional index at which `cumulative` is `wanted`, NaN past its end.

    Of one light, or of several with a row of wanted sums each.
    """
    last = cumulative.shape[-1] - 1
    which: tuple[Whole, ...] = ()
    if cumulative.ndim == 1:
        after = cumulative.searchsorted(wanted)
    else:
        pairs = zip(cumulative, wanted, strict=True)
        after = np.stack([light.searchsorted(sums) for light, sums in pairs])
        which = (np.arange(len(cumulative))[:, None],)
    reached = after <= last
    # a start at index 0 with nothing wanted is reached at once; beyond the end nothing is divided
    step = np.minimum(np.maximum(after, 1), last) - 1
    before = cumulative[*which, step]
    rise = cumulative[*which, step + 1] - before
    share = (wanted - before) / np.where(reached & (rise > 0.0), rise, np.inf)
    return np.where(reached, step + np.minimum(np.maximum(share, 0.0), 1.0), np.nan)


def ends_of_days(cumulative_days: Floats, start_index: float, doses: Floats) -> Floats:
    """Return, for k possible days and a dose for each, where the dose is reached.

    Parameters
    ----------
    cumulative_days : Floats, shape (k, n + 1)
        Running integrals. [J/m2]
    start_index : float
        In steps. [1]
    doses : Floats, shape (k,)
        [J/m2]

    Returns
    -------
    Floats, shape (k,)
        Ends, in steps; infinite where the dose is never reached. [1]
    """
    ends = [
        end_index(day, start_index, float(dose))
        for day, dose in zip(cumulative_days, doses, strict=True)
    ]
    return np.asarray(np.nan_to_num(np.array(ends), nan=np.inf))


@dataclass(frozen=True)
class LightSums:
    """Running sums of many lights, for many questions: each light is lifted above the one before.

    Attributes
    ----------
    total : Floats, shape (k, n + 1)
        Running integrals, never falling, each from 0. [J/m2]
    lift : float
        By how much. [J/m2]
    flat : Floats, shape (k (n + 1),)
        All of them one above the other, so that one search answers for all. [J/m2]
    """

    total: Floats
    lift: float
    flat: Floats

    @classmethod
    def of(cls, total: Floats) -> LightSums:
        """Return the sums of k lights, shape (k, n + 1)."""
        lift = 2.0 * float(total[:, -1].max(initial=0.0)) + 1.0
        return cls(total, lift, (total + lift * np.arange(len(total))[:, None]).ravel())

    def at(self, which: Whole, index: Floats) -> Floats:
        """Return the sum of light `which` at a moment within the series, in steps. [J/m2]."""
        low = np.minimum(np.maximum(index.astype(np.int64), 0), self.total.shape[-1] - 2)
        # asked at every event of simulated days: one index is half the work of two
        at, sums = low + which * self.total.shape[-1], self.total.ravel()
        here = sums.take(at)
        return np.asarray(here + (sums.take(at + 1) - here) * (index - low))

    def ends(self, which: Whole, start_index: Floats, dose: Floats) -> Floats:
        """Return where doses are reached, each begun at its own moment under its own light.

        Parameters
        ----------
        which : Whole, shape (j,)
            Which of the k lights each dose is taken from.
        start_index : Floats, shape (j,)
            In steps, within the series. [1]
        dose : Floats, shape (j,)
            [J/m2]

        Returns
        -------
        Floats, shape (j,)
            In steps, fractional; NaN where the dose is never reached. [1]
        """
        last = self.total.shape[-1] - 1
        wanted = self.at(which, start_index) + dose
        lifted = wanted + self.lift * which
        first, sums = (last + 1) * which, self.total.ravel()
        after = self.flat.searchsorted(lifted, side="left") - first
        reached = (after <= last) & (wanted <= sums.take(first + last))
        step = np.minimum(np.maximum(after, 1), last) - 1
        before = sums.take(first + step)
        rise = sums.take(first + step + 1) - before
        share = np.divide(wanted - before, rise, out=np.zeros_like(rise), where=rise > 0.0)
        share = np.minimum(np.maximum(share, 0.0), 1.0)
        return np.where(reached, step + share, np.nan)


def ends_in(cumulative_days: Floats, which: Whole, start_index: Floats, dose: Floats) -> Floats:
    """Return where doses are reached under one of k lights each: `LightSums.ends`, asked once."""
    return LightSums.of(cumulative_days).ends(which, start_index, dose)
