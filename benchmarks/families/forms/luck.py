"""Luck: nothing is wrong. Plates fail by accident at every stage, on some days more than on others.

Looks come at random. To name a cause, or to change a setting, is to be fooled.
"""

from __future__ import annotations

import numpy as np

from benchmarks.families.forms.common import begin, manner
from benchmarks.families.studio import STAGES, Spoiler, World


def draw(rng):
    own, _ = begin(rng)
    even = (np.arange(4000) + 0.5) / 4000.0
    total, tail = float(rng.uniform(0.3, 0.5)), float(rng.uniform(0.0, 0.5))
    parts = rng.dirichlet(np.ones(len(STAGES)))

    def of_day(luck, part):  # some days are many times worse than most
        return np.minimum(part * total * 0.8 * (1.0 - luck) ** (-tail), 0.95)

    def luck(stage, part):
        mean = float(of_day(even, part).mean())
        return Spoiler(
            f"luck at {stage}",
            stage,
            lambda work: float(of_day(work.hidden["day_luck"], part)),
            expected=lambda _: mean,
        )

    spoilers = tuple(luck(stage, part) for stage, part in zip(STAGES, parts, strict=True))
    return World(
        "luck", spoilers, None, manner(rng, looks="scrambled"), habits=own, about="luck only"
    )
