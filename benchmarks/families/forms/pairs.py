"""Pairs: two things together spoil a plate, neither alone; often at a stage the list does not have.

Each studio's faults have looks of their own, unlike the trade's table.
"""

from __future__ import annotations

import numpy as np

from benchmarks.families.forms.common import accidents, begin, exposure, manner, quantile
from benchmarks.families.studio import Spoiler, World

# two columns with the side that is bad, the stage that suffers, further right names
PAIRS = (
    (
        ("room_c", "high", "exposure_to_development_minutes", "high", "development"),
        ("latent_fading",),
    ),
    (("room_rh_pct", "high", "box_c", "low", "coat"), ("damp_air", "coat_thin")),
    (("fixer_plates", "high", "room_c", "low", "finish"), ("tired_fixer",)),
    (("buff_minutes", "low", "times_repolished", "high", "polish"), ("short_buff", "thin_silver")),
    (("room_c", "high", "coat_to_exposure_minutes", "high", "development"), ("long_wait",)),
    (("box_rest_minutes", "low", "box_c", "low", "development"), ("box_not_full", "coat_thin")),
)


def draw(rng):
    own, pilot = begin(rng)
    (one, side, two, other, stage), names = PAIRS[int(rng.integers(len(PAIRS)))]
    wanted, worst = rng.uniform(0.22, 0.35), float(rng.uniform(0.6, 0.9))
    base = float(rng.uniform(0.02, 0.06))
    limits: dict = {}

    def bad(work, column, s):
        value = work.values[column]
        return value >= limits[column] if s == "high" else value <= limits[column]

    def both(work):
        return bad(work, one, side) and bad(work, two, other)

    for each in np.arange(0.3, 0.96, 0.02):  # share of plates beyond each limit
        for column, s in ((one, side), (two, other)):
            limits[column] = quantile(pilot, column, 1.0 - each if s == "high" else each)
        if np.mean([both(work) for work in pilot]) >= wanted:
            break

    def chance(work):
        return worst if both(work) else base

    values = sorted(work.values[two] for work in pilot)
    safe = values[len(values) // 10 if other == "high" else -len(values) // 10]
    main = Spoiler(
        f"{one} and {two}",
        stage,
        chance,
        (*names, one, two),
        (one, two),
        seen="finish" if stage != "polish" else "coat",
        better={two: safe},
    )
    return World(
        "pairs",
        (main, exposure(rng), *accidents(rng, 0.01, 0.06)),
        main,
        manner(rng, looks="scrambled"),
        habits=own,
        about=f"{main.name} together, at {stage}",
    )
