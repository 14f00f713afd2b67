"""What the page of learning shows: the studio as a whole."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log2

import numpy as np

from argentry.desk.learning.causes import AllLearned, WhyStudio, learned, why_studio_wide
from argentry.desk.learning.next_trial import NextPlate, next_plate
from argentry.desk.numbers.makings import Gathered
from argentry.desk.numbers.own_numbers import ExposureCurve, exposure_curve, learned_numbers
from argentry.learn.stages.trend import TrendPoint, good_trend

REACH = 3.0  # stops drawn either side of the plan's exposure


@dataclass(frozen=True)
class JudgedExposure:
    """One exposure as it was judged.

    Attributes
    ----------
    stops : float
        Light against the day plan's exposure. [stops]
    verdict : str
        How it was judged.
    """

    stops: float
    verdict: str


@dataclass(frozen=True)
class ExposureLearned:
    """The exposure curve against the day plan's exposure, with the plates behind it.

    Attributes
    ----------
    curve : ExposureCurve
        Chance of a right exposure.
    plates : tuple of JudgedExposure
        Each plate judged.
    """

    curve: ExposureCurve
    plates: tuple[JudgedExposure, ...]


@dataclass(frozen=True)
class StudioPage:
    """What the page of the studio's learning shows.

    Attributes
    ----------
    learned, why, next : records
        As the commands give them.
    trend : tuple of TrendPoint
        Share of good plates.
    exposure : ExposureLearned or None
        None while the speed is not learned.
    """

    learned: AllLearned
    why: WhyStudio
    next: NextPlate
    trend: tuple[TrendPoint, ...]
    exposure: ExposureLearned | None


def studio_page(plates: Gathered) -> StudioPage:
    """Return what the page of the studio's learning shows. Takes seconds when plates are new."""
    return StudioPage(
        learned=learned(plates),
        why=why_studio_wide(plates),
        next=next_plate(plates),
        trend=tuple(good_trend(plates.makings)),
        exposure=_exposure(plates),
    )


def _exposure(plates: Gathered) -> ExposureLearned | None:
    numbers = learned_numbers(plates, with_odds=False)
    speed = numbers.of("plate_speed")
    if speed is None:
        return None
    shift = log2(numbers.start_speed_iso / speed.value)
    stops = np.linspace(-REACH, REACH, 61)
    curve = replace(exposure_curve(numbers, stops + shift), stops=tuple(stops.tolist()))
    shown = tuple(
        JudgedExposure(stops - shift, verdict)
        for graded in numbers.exposures
        for stops, verdict in zip(graded.stops, graded.verdicts, strict=True)
    )
    return ExposureLearned(curve, shown)
