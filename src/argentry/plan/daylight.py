"""The light of one day as the planner needs it: running sums, minute by minute, and what ends when.

Everything is on one grid of whole minutes from the start of the planned day. An exposure or a
development begun at minute s ends where the running sum of its light has grown by its dose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.picture import dose as light_dose
from argentry.physics.picture.reciprocity import Reciprocity, exposure_end_table, reciprocity

if TYPE_CHECKING:
    from argentry.arrays import Floats, Whole


@dataclass(frozen=True)
class Frames:
    """Development frames of one kind.

    Attributes
    ----------
    name : str
        Name of the frame.
    count : int
        How many plates it can hold at once.
    middle : Floats, shape (m + 1,)
        Running sum of development light on the middle day. [J/m2]
    days : Floats, shape (k, m + 1)
        The same for each weather the day may have. [J/m2]
    dose : float
        Median dose to the end point. [J/m2]
    dose_log_sd : float
        Spread of the dose between plates. [1]
    lamp : bool
        True when a lamp gives the light.
    expected : Floats, shape (m + 1,), or None
        When a plate put out at each minute is expected to be ripe, NaN where never; None: the
        median dose on the middle day. [min]
    dose_doubt_log_sd : float
        What is not known of the studio's own median dose, the same for all plates of a day. [1]
    """

    name: str
    count: int
    middle: Floats
    days: Floats
    dose: float
    dose_log_sd: float
    lamp: bool
    expected: Floats | None = None
    dose_doubt_log_sd: float = 0.0

    @property
    def expected_ends(self) -> Floats:
        """When a plate put out at each minute is expected to be ripe, shape (m + 1,) [min]."""
        if self.expected is not None:
            return self.expected
        return light_dose.end_table(self.middle, self.dose)


MINUTE_S = 60.0
SOON = 30  # minutes for which a shorter pose is waited for under a dark sky
ALL_DAY = (-math.inf, math.inf)


@dataclass(frozen=True)
class DayLight:
    """The day's light.

    Attributes
    ----------
    exposure_middle : Floats, shape (m + 1,)
        Running sum of exposure light on the subject, middle day. [J/m2]
    exposure_days : Floats, shape (k, m + 1)
        The same for each weather. [J/m2]
    exposure_dose : float
        Dose that the plates need, median. [J/m2]
    longest_exposure : float
        Longer exposures are not attempted. [min]
    patience : float
        Nor, in a plan, ones longer than this many times the day's shortest. [1]
    frames : tuple of Frames
        By kind.
    expected : Floats, shape (m + 1,), or None
        When an exposure begun at each minute is expected to end, NaN where never; None: the median
        dose on the middle day. [min]
    sky_seen : bool
        True when the weathers differ so much that whoever works decides by the sky she sees.
    law : Reciprocity
        How long and short exposures count.
    fading : float
        By how much a minute between camera and frame raises the log of a plate's dose. [1/min]
    window : tuple of (float, float)
        When an exposure may begin: of a sitter who comes at a set time. [min]
    """

    exposure_middle: Floats
    exposure_days: Floats
    exposure_dose: float
    longest_exposure: float
    patience: float
    frames: tuple[Frames, ...]
    expected: Floats | None = None
    sky_seen: bool = False
    law: Reciprocity = field(default_factory=reciprocity)
    fading: float = 0.0
    window: tuple[float, float] = ALL_DAY

    @property
    def minutes(self) -> int:
        """Length of the day's grid [min]."""
        return int(self.exposure_middle.shape[-1]) - 1


def exposure_ends(cumulative: Floats, light: DayLight) -> Floats:
    """Return the minute at which an exposure begun at each minute ends; NaN where it cannot be.

    Parameters
    ----------
    cumulative : Floats, shape (..., m + 1)
        Running sum of exposure light. [J/m2]
    light : DayLight
        Dose needed, law of reciprocity and longest exposure attempted.

    Returns
    -------
    Floats, shape (..., m + 1)
        End, in minutes of the grid. [min]
    """
    return _not_too_long(_ends(cumulative, light), light.longest_exposure)


def _ends(cumulative: Floats, light: DayLight) -> Floats:
    return exposure_end_table(cumulative, light.exposure_dose, MINUTE_S, light.law)


def _not_too_long(ends: Floats, longest_minutes: float) -> Floats:
    starts = np.arange(ends.shape[-1])
    too_long: Floats = np.where(ends - starts > longest_minutes, np.nan, ends)
    return too_long


def patient_ends(cumulative: Floats, light: DayLight) -> Floats:
    """Return exposure ends as a maker would have them: no long pose where a short one will come.

    In an hour that serves on the day as it is expected, the pose is taken as the sky makes it,
    unless a much shorter one comes within half an hour; in any other hour what will come is told
    by the rest of the day, and a day that is darker all through has longer ones.

    Parameters
    ----------
    cumulative : Floats, shape (..., m + 1)
        Running sum of the day's exposure light. [J/m2]
    light : DayLight
        Dose, longest exposure and patience.

    Returns
    -------
    Floats, shape (..., m + 1)
        End by starting minute; NaN where no exposure is begun. [min]
    """
    ends = exposure_ends(cumulative, light)
    usual = expected_exposure_ends(light)
    lengths = _lengths(ends)
    soon, seen = lengths.copy(), 1  # the shortest of so many minutes from each on
    while seen <= SOON:
        more = min(seen, SOON + 1 - seen)
        soon[..., :-more] = np.minimum(soon[..., :-more], soon[..., more:])
        seen += more
    taken = np.isfinite(usual) & (lengths <= light.patience * soon)
    return np.asarray(np.where(taken, ends, _patient(ends, light, _shortest(usual))))


def expected_exposure_ends(light: DayLight) -> Floats:
    """Return the ends of exposures on the day as it is expected: no long pose before a short one.

    Parameters
    ----------
    light : DayLight
        The day's light.
    """
    ends = light.expected
    if ends is None:
        ends = _ends(light.exposure_middle, light)
    return _patient(_not_too_long(ends, light.longest_exposure), light, np.zeros(1))


def _patient(ends: Floats, light: DayLight, least: Floats) -> Floats:
    starts = np.arange(ends.shape[-1])
    asked_then = (starts >= light.window[0]) & (starts <= light.window[1])
    with np.errstate(invalid="ignore"):  # without an exposure none is begun, whatever the patience
        longest = light.patience * np.maximum(_shortest(ends), least)
    patient: Floats = np.where(asked_then & (ends - starts <= longest), ends, np.nan)
    return patient


def _lengths(ends: Floats) -> Floats:
    """Return how long what ends then lasts by starting minute, infinite where it never ends [min].

    Parameters
    ----------
    ends : Floats, shape (..., m + 1)
        [min]
    """
    return np.where(np.isnan(ends), np.inf, ends - np.arange(ends.shape[-1]))


def _shortest(ends: Floats) -> Floats:
    """Return the shortest exposure of each table of ends, 0 where there is none [min]."""
    shortest = _lengths(ends).min(axis=-1, keepdims=True)
    return np.where(np.isinf(shortest), 0.0, shortest)


def whole_ends(ends: Floats) -> Whole:
    """Return ends on the solver's grid: rounded up, at least one minute long, -1 where never.

    Parameters
    ----------
    ends : Floats, shape (..., m + 1)
        Ends by starting minute, NaN where never. [min]
    """
    starts = np.arange(ends.shape[-1])
    raised = np.maximum(np.ceil(np.nan_to_num(ends, nan=-1.0) - 1e-9), starts + 1)
    return np.where(np.isnan(ends), -1, raised).astype(np.int64)
