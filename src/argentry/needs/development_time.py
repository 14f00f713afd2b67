"""Development: the light a plate needs behind the red filter, when it is ripe and when veiled."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np

from argentry.arrays import Floats
from argentry.needs.doubt.compose import weather_part
from argentry.needs.doubt.development import development_doubt
from argentry.needs.numbers import dose_sigma_stops
from argentry.physics.picture import development as red
from argentry.physics.picture.dose import cumulative_j_m2
from argentry.physics.stops import even_draws, spread
from argentry.records.answers.doubt import Doubt, DoubtPart
from argentry.records.day import Range
from argentry.records.studio import Habits
from argentry.sky.sunlight import STEP_S
from argentry.sky.weather.days import SEED


def kept_stops(exposure_stops: float, waited_min: float) -> float:
    """Return what a wait between camera and frame leaves of an exposure. [stops].

    Parameters
    ----------
    exposure_stops : float
        How much more than the right exposure the plate had. [stops]
    waited_min : float
        Between camera and frame, while its image fades. [min]
    """
    faded_stops = red.fading_stops(waited_min)
    return max(exposure_stops - faded_stops, -red.MOST_STOPS) if faded_stops else exposure_stops


def development_dose(
    habits: Habits | None,
    *,
    dose_kj_m2: float | None = None,
    sigma_stops: float | None = None,
    exposure_stops: float = 0.0,
    waited_min: float = 0.0,
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
    waited_min : float
        Between camera and frame, while its image fades. [min]
    """
    own = habits.development_dose_kj_m2 if habits and dose_kj_m2 is None else dose_kj_m2
    sigma = dose_sigma_stops(habits) if sigma_stops is None else sigma_stops
    median = red.development_dose_j_m2(own, kept_stops(exposure_stops, waited_min))
    return Range(*red.dose_range_j_m2(median, sigma).tolist())


FADED = (
    "The wait between camera and frame costs about {stops:.1f} stops of exposure (published: the "
    "image disappears in several hours; the rate is a starting value): develop sooner, or expose "
    "so much more."
)
TOLD_STOPS = 0.2  # of fading, from which it is told


def faded(stops: float) -> tuple[str, ...]:
    """Return what a wait between camera and frame costs, where it is worth telling.

    Parameters
    ----------
    stops : float
        From `argentry.physics.picture.development.fading_stops`. [stops]
    """
    return (FADED.format(stops=stops),) if stops >= TOLD_STOPS else ()


@dataclass(frozen=True)
class RipeTime:
    """When a plate is ripe, and when it is veiled.

    Attributes
    ----------
    ripening : Ripening
        In minutes of the light.
    veiled : Ripening
        When its shadows veil, in the same way; NaN where the light ends before.
    doubt : Doubt
        What its range is made of.
    """

    ripening: red.Ripening
    veiled: red.Ripening
    doubt: Doubt


def ripening(
    development_w_m2: Floats,
    start_index: float,
    dose: Range,
    last_index: float,
    *,
    light: tuple[DoubtPart, ...],
    days_w_m2: Floats | None = None,
    sigma_stops: float,
    scatter: float,
    veil: tuple[float, float],
    exposure_stops: float = 0.0,
) -> RipeTime:
    """Return when a plate begun at `start_index` is ripe and veiled, in minutes of the light.

    Parameters
    ----------
    development_w_m2 : Floats, shape (m,)
        The likely light behind the filter, by minute. [W/m2]
    start_index, last_index : float
        When development begins, and when time is up. [min]
    dose : Range
        From `development_dose`. [J/m2]
    light : tuple of DoubtPart
        What is not known of sun or lamp, beside what drawn skies vary.
    days_w_m2 : Floats, shape (k, m), or None
        The light under many skies as the day may bring.
    sigma_stops : float
        Spread of the dose. [stops]
    scatter : float
        How far the studio's end points strayed, see `argentry.needs.doubt.compose`. [1]
    veil : tuple of float
        Light at which plates veil over the ripe dose, and its spread: see
        `argentry.needs.numbers.veil_known`. [1, stops]
    exposure_stops : float
        From `kept_stops`; the veil comes sooner with it. [stops]
    """
    total = cumulative_j_m2(development_w_m2, STEP_S)
    doubt = development_doubt(sigma_stops, light, scatter)
    days = None if days_w_m2 is None else cumulative_j_m2(days_w_m2, STEP_S)

    def when(middle_j_m2: float, sigma: float) -> red.Ripening:
        if days is None:
            return red.ripening(total, start_index, spread(middle_j_m2, sigma), last_index)
        draws = even_draws(middle_j_m2, sigma, len(days), SEED)
        return red.ripening_of_days(days, start_index, draws, last_index)

    found = when(dose.middle, doubt.sigma_stops)
    veiled = when(
        red.veiled_dose_j_m2(dose.middle, exposure_stops, veil[0]),
        hypot(doubt.sigma_stops, veil[1]),
    )
    if days_w_m2 is None:
        return RipeTime(found, veiled, doubt)
    likely = red.ripening(total, start_index, np.full(3, dose.middle), last_index)
    end = likely.end_index if np.isfinite(likely.end_index) else last_index
    first = min(int(start_index), days_w_m2.shape[-1] - 1)
    weather = weather_part(days_w_m2[:, first : max(first + 1, round(end))])
    return RipeTime(found, veiled, development_doubt(sigma_stops, (*light, weather), scatter))
