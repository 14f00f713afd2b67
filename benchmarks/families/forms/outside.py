"""Outside: something spoils whole days, and it is in no column and on no list.

It looks like light that reached the coat. To name that, or anything else, is wrong.
"""

from __future__ import annotations

from dataclasses import replace

from benchmarks.families.forms.common import accidents, begin, exposure, manner
from benchmarks.families.studio import Spoiler, World


def draw(rng):
    own, _ = begin(rng)
    share, worst = float(rng.uniform(0.2, 0.35)), float(rng.uniform(0.55, 0.8))
    unseen = Spoiler(
        "the neighbour's stove", "coat",
        lambda work: worst if work.hidden["day_luck"] < share else 0.01,
        seen="development", expected=lambda _: share * worst + (1.0 - share) * 0.01,
    )  # fmt: skip
    small = tuple(replace(one, names=()) for one in accidents(rng, 0.01, 0.05))
    return World(
        "outside",
        (unseen, exposure(rng), *small),
        None,
        manner(rng, looks="scrambled"),
        habits=own,
        about="whole days spoilt by what nobody writes down",
    )
