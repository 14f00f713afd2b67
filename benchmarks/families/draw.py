"""Draw a studio of a family: its world, its notebook, and the plates that come after."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from zlib import crc32

import numpy as np

from benchmarks.families.forms import EVERY
from benchmarks.families.hands import Hands
from benchmarks.families.studio import Made, Studio
from benchmarks.families.writing import Writer

AFTER = 24


def spoilt(rng, world, work, *, unknown=False):
    """Return what spoils a plate; `unknown` draws what is hidden from the maker as well."""
    chance = (lambda one: one.told(work)) if unknown else (lambda one: one.chance(work))
    return tuple(one for one in world.spoilers if rng.random() < chance(one))


class Shop:
    """A studio at work, plate after plate."""

    def __init__(self, family: str, seed: int, more=()):
        self.rng = np.random.default_rng([20261127, crc32(family.encode()), seed])
        self.world = EVERY[family](self.rng)
        self.world.spoilers = (*self.world.spoilers, *more)
        self.hands = Hands(self.rng, self.world.habits)
        self.writer = Writer(self.rng, self.world)

    def work(self):
        work = self.hands.next()
        self.world.turn(self.rng, work)
        return work

    def make(self, *, unknown=False, change=None) -> Made:
        """Make a plate; `change` sets columns otherwise than the hands would."""
        work = self.work()
        if change is not None:
            change(work)
        by = spoilt(self.rng, self.world, work, unknown=unknown)
        return self.writer.write(f"P{work.number:04d}", work, by)


def draw_studio(family: str, seed: int, plates: int, after: int = AFTER) -> Studio:
    """Return a studio with so many plates in its notebook; the same for the same seed.

    The plates after it belong to days of their own: what is hidden of a day is drawn for each.
    """
    shop = Shop(family, seed)
    made = tuple(shop.make() for _ in range(plates))
    if hasattr(shop.world.turn, "lasting"):
        shop.world.turn.lasting = True  # what a new bottle is like, nobody can know
    later = tuple(shop.make(unknown=True) for _ in range(after))
    return Studio(shop.world, seed, made, shop.writer.kept, later)


def write_table(path, rows, questions=()):
    """Write a notebook as a maker's table in CSV, with blank plates of the next day."""
    to_come = {
        "date": (date.fromisoformat(rows[-1]["date"]) + timedelta(days=1)).isoformat(),
        "session": str(int(rows[-1]["session"]) + 1),
    }
    everything = [*rows, *({"plate": label, **to_come} for label in questions)]
    names = list(dict.fromkeys(key for row in everything for key in row))
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        writer.writerows(everything)
