"""`next` by an observer who knows every law of a studio, and changes one setting at a time.

He is asked in the place of `argentry next` (`benchmarks.families.measures.following`): before every
tenth of 60 plates he proposes the one change that is worth most over the plates of the notebook, in
true chances. Once within the hard limits and largest steps of trials, once anywhere within what was
usual in the studio, where a setting does no harm of itself.
"""

from __future__ import annotations

from copy import deepcopy

import numpy as np

from argentry.learn.deciding.trials import reachable
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings
from benchmarks.families.measures.following import SETTINGS, TOO_FAR, Settings, follow
from benchmarks.families.scores import Mean

WAYS = ("limits", "anywhere")
PLATES, LEAST = 60, 0.002  # of the notebook; gain from which something is changed [good plates]
PARTS = np.linspace(0.0, 1.0, 9)


class Knowing:
    """Asked like `argentry next`, and knows the world of the studio."""

    def __init__(self, way):
        self.way, self.made, self.settings = way, None, None

    def __call__(self, studio):
        if self.made is None:
            self.made = studio.made
            self.settings = Settings(self.made)
        base = self.worth(studio.world, ())
        best, gain = None, LEAST
        for change in self.changes():
            more = self.worth(studio.world, (change,)) - base
            if more > gain:
                best, gain = change, more
        if best is None:
            return None
        self.settings.move(*best)
        return (*best, False)

    def worth(self, world, changes):
        """Return the mean true chance of the notebook's plates, had they been made so."""
        moved = deepcopy(self.settings)
        for change in changes:
            moved.move(*change)
        total = 0.0
        for one in self.made[-PLATES:]:
            work = deepcopy(one.work)
            moved.apply(work)
            total += world.good(work) * (1.0 - (TOO_FAR if moved.far else 0.0))
        return total / len(self.made[-PLATES:])

    def changes(self):
        for column in sorted(SETTINGS):
            seen = np.array([one.work.values[column] for one in self.made[-PLATES:]], dtype=float)
            start = float(np.median(seen))
            start, now = self.settings.moved.get(column, (start, start))
            if start <= 0.0:
                continue
            for to in self.values(column, seen, now):
                yield column, start, float(to)

    def values(self, column, seen, now):
        if self.way == "anywhere":
            low, high = np.quantile(seen, [0.02, 0.98])
            return np.unique(low + (high - low) * PARTS)
        key = "fuming_seconds_20c" if column == "fuming_seconds" else column
        condition = next(one for one in conditions() if one.key == key)
        return reachable(condition, settings()[key], now)


def of_studio(family, seed, plates=60):
    """Return what each way brings a studio over no change, in its mean chance of a good plate."""
    out = {"family": family}
    for way in WAYS:
        told = follow(family, seed, plates, Knowing(way))
        out |= {way: told["next"] - told["no change"], "wrong": told["wrong"]}
        out["lever"] = told["lever"]
    return out


def rows(results):
    """Yield (what, found) over studios, in points of the share of good plates."""
    for words, some in (
        ("something is wrong that can be set", [r for r in results if r["lever"]]),
        ("something is wrong", [r for r in results if r["wrong"]]),
        ("nothing nameable is wrong", [r for r in results if not r["wrong"]]),
    ):
        for way in WAYS:
            mean = Mean()
            for one in some:
                mean.add(one[way])
            yield f"next where {words}, {way}: points", mean.shown("{:+.1f}", 100.0)
