"""Own columns: what matters is known to this maker only, among columns that do not matter.

A band, a fall or a word; it shows at another stage, looks are not written down, and one grade in
twelve is wrong.
"""

from __future__ import annotations

import numpy as np

from benchmarks.families.forms.common import accidents, begin, exposure, manner
from benchmarks.families.studio import STAGES, Spoiler, World

OWN = (
    *("stove_c", "hours_slept", "lamp_hours", "starch_days", "pressure_hpa", "tea_cups"),
    *("helper", "cloth"),
)
WORDS = {"helper": ("none", "Ada", "Ben"), "cloth": ("velvet", "buckskin")}


class Jotter:
    """What this maker writes down beside the trade's columns."""

    def __init__(self, rng):
        self.stove, self.lamp = rng.uniform(150.0, 250.0), 0.0

    def __call__(self, rng, work):
        self.lamp = 0.0 if self.lamp > 300.0 else self.lamp + rng.uniform(1.0, 8.0)
        day = np.random.default_rng([work.session, int(self.stove)])  # the same all day
        work.values |= {
            "stove_c": round(self.stove + rng.normal(0.0, 20.0), 0),
            "hours_slept": round(float(np.clip(day.normal(7.0, 1.2), 2, 11)), 1),
            "lamp_hours": round(self.lamp, 0),
            "starch_days": int(day.integers(0, 15)),
            "pressure_hpa": round(1013.0 + day.normal(0.0, 9.0), 0),
            "tea_cups": int(rng.integers(0, 6)),
            "helper": str(day.choice(WORDS["helper"], p=[0.5, 0.25, 0.25])),
            "cloth": str(rng.choice(WORDS["cloth"], p=[0.65, 0.35])),
        }


def _band(rng, values):
    """Return from where to where a value does no harm; a quarter to four tenths lie outside."""
    while True:
        share, form = rng.uniform(0.27, 0.4), str(rng.choice(["high", "low", "both ends"]))
        cut = {"high": (0.0, 1 - share), "low": (share, 1), "both ends": (share / 2, 1 - share / 2)}
        low, high = (float(np.quantile(values, q)) for q in cut[form])
        if 0.22 <= np.mean((values < low) | (values > high)) <= 0.45:
            return low, high


def draw(rng):
    own, pilot = begin(rng)
    jot = Jotter(rng)
    look = np.random.default_rng(rng.integers(2**32))
    for work in pilot:
        jot(look, work)
    column = str(rng.choice(OWN))
    worst, base = float(rng.uniform(0.55, 0.85)), float(rng.uniform(0.0, 0.05))
    if column in WORDS:
        word = str(rng.choice(WORDS[column][1:]))

        def bad(work):
            return work.values[column] == word

        better = {column: WORDS[column][0]}
    else:
        values = np.array([work.values[column] for work in pilot], dtype=float)
        low, high = _band(rng, values)

        def bad(work):
            return not low <= work.values[column] <= high

        better = {column: float(np.median(values[(values >= low) & (values <= high)]))}
    stage = str(rng.choice(STAGES))
    later = STAGES[min(STAGES.index(stage) + int(rng.integers(0, 3)), 4)]
    main = Spoiler(
        column, stage, lambda work: worst if bad(work) else base, (column,), (column,),
        seen=later, better=better,
    )  # fmt: skip
    return World(
        "own columns",
        (main, exposure(rng), *accidents(rng, 0.01, 0.06)),
        main,
        manner(rng, looks="none", turned=0.08),
        turn=jot,
        own=OWN,
        habits=own,
        about=f"{column}, a column of the maker's own",
    )
