"""Development: the light that a plate needs behind the red filter, and when it is ripe."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.needs.numbers import dose_sigma_stops
from argentry.physics import development as red
from argentry.physics.dose import cumulative_j_m2
from argentry.physics.stops import even_draws
from argentry.records.day import Range
from argentry.sky.sunlight import STEP_S
from argentry.sky.weather.days import SEED

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.records.studio import Habits

    Array = NDArray[np.float64]


def development_dose(
    habits: Habits | None,
    *,
    dose_kj_m2: float | None = None,
    sigma_stops: float | None = None,
    exposure_stops: float = 0.0,
) -> Range:
    """Return the light that four plates in five need behind the filter. [J/m2].

    Parameters
    ----------
    habits : Habits or None
        The studio's dose and its spread; None: the trade's.
    dose_kj_m2, sigma_stops : float or None
        Others in their place. [kJ/m2, stops]
    exposure_stops : float
        How much more than the right exposure the plate had. [stops]
    """
    own = habits.development_dose_kj_m2 if habits and dose_kj_m2 is None else dose_kj_m2
    sigma = dose_sigma_stops(habits) if sigma_stops is None else sigma_stops
    median = red.development_dose_j_m2(own, exposure_stops)
    return Range(*red.dose_range_j_m2(median, sigma).tolist())


def ripening(
    development_w_m2: Array,
    start_index: float,
    dose: Range,
    last_index: float,
    *,
    days_w_m2: Array | None = None,
    sigma_stops: float,
) -> red.Ripening:
    """Return when a plate begun at `start_index` is ripe, in minutes of the light.

    Parameters
    ----------
    development_w_m2 : NDArray[float64], shape (m,)
        The likely light behind the filter, by minute. [W/m2]
    start_index, last_index : float
        When development begins, and when time is up. [min]
    dose : Range
        From `development_dose`. [J/m2]
    days_w_m2 : NDArray[float64], shape (k, m), or None
        The light under many skies as the day may bring.
    sigma_stops : float
        Spread of the dose. [stops]
    """
    if days_w_m2 is None:
        doses = np.array([dose.low, dose.middle, dose.high])
        total = cumulative_j_m2(development_w_m2, STEP_S)
        return red.ripening(total, start_index, doses, last_index)
    draws = even_draws(dose.middle, sigma_stops, len(days_w_m2), SEED)
    total = cumulative_j_m2(days_w_m2, STEP_S)
    return red.ripening_of_days(total, start_index, draws, last_index)
