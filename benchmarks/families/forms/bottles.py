"""Bottles: a bottle, a filter, a hypo or a lot of plates is bad while it lasts, then comes another.

What changes is written down as a word (a column of the maker's own, or the frame of the
table). Beside it something drifts slowly the whole time, and lots of bad plates come unannounced.
"""

from __future__ import annotations

from math import exp

from benchmarks.families.forms.common import accidents, begin, exposure, manner
from benchmarks.families.studio import Spoiler, World

# column, words of its bottles, stage, where it shows, names
BOTTLES = (
    ("iodine_bottle", "iodine", "coat", "development", ("iodine_bottle",)),
    ("rouge_jar", "rouge", "polish", "coat", ("rouge_jar",)),
    ("frame", "filter", "development", "development", ("frame_leak", "frame")),
    ("hypo_batch", "hypo", "finish", "finish", ("hypo_batch", "bad_fixer")),
)
OWN = ("iodine_bottle", "rouge_jar", "hypo_batch")


class Shelf:
    """Bottles that are used up one after the other, each with its own chance to spoil a plate."""

    def __init__(self, rng, main):
        self.main, self.lasting = main, False  # lasting: no bottle is used up any more
        self.words, self.left, self.bad = dict.fromkeys(OWN, 0), {}, 0.0
        self.worst, self.used = rng.uniform(0.5, 0.75), 0
        self.lot, self.lot_bad = 0, False

    def __call__(self, rng, work):
        for column in dict.fromkeys((*OWN, self.main)):  # in the same order in every run
            if self.left.get(column, 0) <= 0:
                self.left[column] = int(rng.integers(14, 30))
                self.words[column] = self.words.get(column, 0) + 1
                if column == self.main:  # every other bottle is bad
                    self.used += 1
                    self.bad = self.worst if self.used % 2 == 0 else 0.03
            self.left[column] -= not self.lasting
            work.values[column] = f"no {self.words[column]}"
        if self.lot <= 0:
            self.lot, self.lot_bad = int(rng.integers(5, 12)), rng.random() < 0.12
        self.lot -= 1
        work.hidden |= {"bottle": self.bad, "lot": self.lot_bad}


def draw(rng):
    own, _ = begin(rng)
    column, _, stage, seen, names = BOTTLES[int(rng.integers(len(BOTTLES)))]
    main = Spoiler(
        column, stage, lambda work: work.hidden["bottle"], names, (column,), seen=seen,
    )  # fmt: skip
    lots = Spoiler(
        "a bad lot", "polish",
        lambda work: 0.6 if work.hidden["lot"] else 0.0,
        seen="finish", expected=lambda _: 0.12 * 0.6,
    )  # fmt: skip
    top, tempo = float(rng.uniform(0.08, 0.2)), float(rng.uniform(60.0, 150.0))
    drift = Spoiler(
        "slow drift", "finish", lambda work: top * (1.0 - exp(-work.number / tempo)),
    )  # fmt: skip
    return World(
        "bottles",
        (main, lots, drift, exposure(rng), *accidents(rng, 0.01, 0.04)),
        main,
        manner(rng, looks="noisy"),
        turn=Shelf(rng, column),
        own=OWN,
        habits=own,
        about=f"every other {column} is bad",
    )
