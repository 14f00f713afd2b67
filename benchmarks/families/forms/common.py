"""What the families share: a look at the studio's usual values, everyday accidents, manners."""

from __future__ import annotations

import numpy as np

from benchmarks.families.hands import Hands, habits
from benchmarks.families.studio import STAGES, Manner, Spoiler

# Accidents that no column tells of, under the trade's name for each; one of a stage in a studio.
ACCIDENTS = {
    "polish": ("grit", "dirty_buff", "fingers", "rouge_left"),
    "coat": ("dust", "draught", "uneven_heat", "light_on_coat"),
    "exposure": ("movement", "flare", "holder_dust"),
    "development": ("hot_frame",),
    "finish": ("uneven_flood", "dirty_bath", "hot_gilding", "stuck_bubbles"),
}
PILOT = 400


def begin(rng):
    """Return a studio's habits and, by column, what its values usually are."""
    own = habits(rng)
    hands = Hands(np.random.default_rng(rng.integers(2**32)), own)
    return own, [hands.next() for _ in range(PILOT)]


def quantile(pilot, column, q):
    return float(np.quantile([work.values[column] for work in pilot], q))


def accidents(rng, low=0.02, high=0.09):
    """Return one everyday accident of each stage, with a chance that never changes."""
    found = []
    for stage in STAGES:
        key = str(rng.choice(ACCIDENTS[stage]))
        chance = float(rng.uniform(low, high))
        found.append(Spoiler(key, stage, lambda _, p=chance: p, names=(key,)))
    return tuple(found)


def exposure(rng, worst=0.7):
    """Return what a wrong exposure does: nothing within the latitude, most plates beyond it."""
    latitude = float(rng.uniform(0.6, 0.95))

    def chance(work):
        off = abs(work.hidden["miss_stops"])
        return worst if off > latitude else 0.01

    return Spoiler(
        "exposure",
        "exposure",
        chance,
        names=(
            *("too_little_light", "too_much_light", "light_misjudged"),
            *("exposure_stops", "development_exposure_stops"),
        ),
        columns=("meter_ev", "exposure_seconds", "f_number"),
        seen="development",
    )


def manner(rng, **how):
    """Return a maker's manner; half of all makers book no stage."""
    base = {
        "bookings": "none" if rng.random() < 0.5 else "right",
        "missing": float(rng.uniform(0.03, 0.25)),
        "unkept": float(rng.uniform(0.2, 0.5)),
    }
    return Manner(**{**base, **how})
