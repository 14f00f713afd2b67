"""Hazards: something goes on acting with time or use, and luck has heavy tails from day to day.

What is made at one stage shows at a later one; looks are noisy, one grade in twenty-five is wrong.
"""

from __future__ import annotations

from math import exp

import numpy as np

from benchmarks.families.forms.common import accidents, begin, exposure, manner
from benchmarks.families.studio import Spoiler, World

# column, stage, where it shows, names, growth of the hazard with it
HAZARDS = (
    (
        *("coat_to_exposure_minutes", "exposure", "development"),
        ("long_wait", "coat_to_exposure_minutes"),
        1.7,
    ),
    (
        *("exposure_to_development_minutes", "development", "finish"),
        ("latent_fading", "exposure_to_development_minutes"),
        1.5,
    ),
    ("fixer_plates", "finish", "finish", ("tired_fixer", "fixer_plates", "fixer_age_days"), 2.0),
    ("gold_age_hours", "finish", "finish", ("old_gold", "gold_age_hours"), 1.0),
    ("days_since_sweeping", "coat", "finish", ("dust", "holder_dust", "days_since_sweeping"), 1.5),
    (
        *("plates_on_this_buff", "polish", "coat"),
        ("dirty_buff", "plates_on_this_buff"),
        2.0,
    ),
)
OWN = ("days_since_sweeping", "plates_on_this_buff")
TAIL = 1.6  # of the luck of a day, Pareto: its mean is TAIL / (TAIL - 1)


class Upkeep:
    """Count days since the room was swept and plates on one buff cover."""

    def __init__(self, rng):
        self.every, self.cover = rng.uniform(8.0, 20.0), rng.uniform(8.0, 18.0)
        self.swept, self.buffed = None, 0

    def __call__(self, rng, work):
        if self.swept is None or (
            work.order == 1 and (work.day - self.swept).days > self.every * rng.uniform(0.5, 1.8)
        ):
            self.swept = work.day
        self.buffed = 1 if self.buffed > self.cover * rng.uniform(0.6, 1.5) else self.buffed + 1
        work.values["days_since_sweeping"] = (work.day - self.swept).days
        work.values["plates_on_this_buff"] = self.buffed


def draw(rng):
    own, pilot = begin(rng)
    column, stage, seen, names, power = HAZARDS[int(rng.integers(len(HAZARDS)))]
    upkeep = Upkeep(rng)
    count = Upkeep(np.random.default_rng(rng.integers(2**32)))
    look = np.random.default_rng(rng.integers(2**32))
    for work in pilot:
        count(look, work)
    values = np.array([work.values[column] for work in pilot], dtype=float)
    wanted = rng.uniform(0.2, 0.3)  # share of all plates that it spoils
    scale = _scale(values, power, wanted)

    def chance(work):
        return 1.0 - exp(-((work.values[column] / scale) ** power))

    main = Spoiler(
        column, stage, chance, names, (column,), seen=seen,
        better={column: float(np.quantile(values, 0.1))},
    )  # fmt: skip
    luck = float(rng.uniform(0.015, 0.035))
    spread = np.minimum(luck * (1.0 - (np.arange(2000) + 0.5) / 2000.0) ** (-1.0 / TAIL), 0.95)
    mean = float(spread.mean())
    day = Spoiler(
        "a bad day", "coat",
        lambda work: min(luck * (1.0 - work.hidden["day_luck"]) ** (-1.0 / TAIL), 0.95),
        seen="development", expected=lambda _: mean,
    )  # fmt: skip
    return World(
        "hazards",
        (main, day, exposure(rng), *accidents(rng, 0.01, 0.05)),
        main,
        manner(rng, looks="noisy", turned=0.04),
        turn=upkeep,
        own=OWN,
        habits=own,
        about=f"{column} as a hazard",
    )


def _scale(values, power, wanted):
    low, high = 1e-3, 1e6
    for _ in range(80):
        middle = (low * high) ** 0.5
        share = float(np.mean(1.0 - np.exp(-((values / middle) ** power))))
        low, high = (middle, high) if share > wanted else (low, middle)
    return low
