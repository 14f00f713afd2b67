"""What the page of learning shows: the studio as a whole."""

from __future__ import annotations

from dataclasses import asdict
from math import log2
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.desk.learning.causes import learned, why_studio_wide
from argentry.desk.learning.next_trial import next_plate
from argentry.desk.numbers.makings import from_book
from argentry.desk.numbers.own_numbers import exposure_curve, learned_numbers
from argentry.learn.stages.trend import good_trend

if TYPE_CHECKING:
    from argentry.desk.house import House
    from argentry.desk.numbers.makings import Gathered

REACH = 3.0  # stops drawn either side of the plan's exposure


def studio_page(house: House) -> dict[str, Any]:
    """Return what the page of the studio's learning shows. Takes seconds when plates are new.

    Returns
    -------
    dict
        ``learned``, ``why``, ``next`` as the commands give them; ``trend``: share of good plates;
        ``exposure``: ``curve`` and ``plates`` against the day plan's exposure, or None.
    """
    plates = from_book(house.book, house.studio)
    return {
        "learned": learned(plates),
        "why": why_studio_wide(plates),
        "next": next_plate(plates),
        "trend": [asdict(point) for point in good_trend(plates.makings)],
        "exposure": _exposure(plates),
    }


def _exposure(plates: Gathered) -> dict[str, Any] | None:
    numbers = learned_numbers(plates, with_odds=False)
    speed = numbers.of("plate_speed")
    if speed is None:
        return None
    shift = log2(numbers.start_speed_iso / speed.value)
    stops = np.linspace(-REACH, REACH, 61)
    curve = exposure_curve(numbers, stops + shift)
    shown = [
        {"stops": graded.stops[0] - shift, "verdict": graded.verdicts[0]}
        for graded in numbers.exposures
    ]
    return {"curve": {**curve, "stops": stops.tolist()}, "plates": shown}
