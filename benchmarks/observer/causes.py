"""Main causes named by exact Bayes under the family's own law.

The observer reads the notebook that argentry reads, and knows all of the studio but its main
trouble: the family's law and its priors, the maker's habits and manner of writing, every other
trouble with its chances, and the looks of the main one. He weighs some thousand main troubles
drawn from the family's own prior by the exact chance of every row: grade, booking, the stage at
which the maker stopped, looks. What he does not reach cannot be had from such notebooks; argentry
knows neither the family nor all the rest.
"""

from __future__ import annotations

from itertools import chain, combinations
from math import prod
from unittest.mock import patch

import numpy as np

from benchmarks.families.draw import Shop, draw_studio
from benchmarks.families.forms import bottles, cliffs, hazards, own_columns, pairs
from benchmarks.families.scores import Mean
from benchmarks.families.studio import STAGES, Spoiler
from benchmarks.families.writing import OF_STAGE, all_looks, looks_of

WRONG = ("cliffs", "pairs", "hazards", "bottles", "own columns")
DRAWS, PILOT, SURE = 600, 400, 0.95
SIZES = (60, 120, 250)


# --- main troubles of the family's own prior --------------------------------------------------


def candidates(family, seed, draws=DRAWS):
    """Return main troubles drawn from the family's prior, for a maker of this studio's habits."""
    shop, rng = Shop(family, seed), np.random.default_rng([4, seed])
    pilot = [shop.work() for _ in range(PILOT)]
    known = {one.name for one in shop.world.spoilers if one is not shop.world.main}
    drawn = (DRAW[family](rng, pilot, shop.world) for _ in range(draws))
    return [one for one in drawn if one.name not in known]


def _by_form(form):
    def draw(rng, pilot, world):
        with patch.object(form, "begin", lambda _: (world.habits, pilot)):
            return form.draw(rng).main

    return draw


def _hazard(rng, pilot, _world):
    column, stage, seen, names, power = hazards.HAZARDS[int(rng.integers(len(hazards.HAZARDS)))]
    values = np.array([work.values[column] for work in pilot], dtype=float)
    scale = hazards._scale(values, power, rng.uniform(0.2, 0.3))  # noqa: SLF001 - its law

    def chance(work):
        return 1.0 - np.exp(-((work.values[column] / scale) ** power))

    return Spoiler(column, stage, chance, names, (column,), seen=seen)


def _own(rng, pilot, _world):
    column = str(rng.choice(own_columns.OWN))
    worst, base = rng.uniform(0.55, 0.85), rng.uniform(0.0, 0.05)
    if column in own_columns.WORDS:
        word = str(rng.choice(own_columns.WORDS[column][1:]))

        def bad(value):
            return value == word
    else:
        values = np.array([work.values[column] for work in pilot], dtype=float)
        low, high = own_columns._band(rng, values)  # noqa: SLF001 - the family's law

        def bad(value):
            return not low <= value <= high

    place = int(rng.integers(5))
    seen = STAGES[min(place + int(rng.integers(0, 3)), 4)]
    return Spoiler(
        column, STAGES[place], lambda work: worst if bad(work.values[column]) else base,
        (column,), (column,), seen=seen,
    )  # fmt: skip


def _bottle(rng, _pilot, world):
    framed = world.main.name == "frame"  # no frame is written as a bottle but a bad one
    kinds = [one for one in bottles.BOTTLES if framed or one[0] != "frame"]
    column, _, stage, seen, names = kinds[int(rng.integers(len(kinds)))]
    worst = rng.uniform(0.5, 0.75)

    def chance(work):
        return worst if int(work.values[column].split()[1]) % 2 == 0 else 0.03

    return Spoiler(column, stage, chance, names, (column,), seen=seen)


DRAW = {
    "cliffs": _by_form(cliffs),
    "pairs": _by_form(pairs),
    "hazards": _hazard,
    "bottles": _bottle,
    "own columns": _own,
}


# --- the chance of a notebook -----------------------------------------------------------------


class Read:
    """What a row says to whoever knows how this maker writes."""

    def __init__(self, made, kept):
        row = self.row = made.row
        self.work, self.bad = made.work, row["grade"] in ("lost", "study")
        self.booked = next((s for s in STAGES if row.get(f"stage_{s}") == "fault"), None)
        self.looks = frozenset(one.split("@")[0] for one in row["defects"].split(";") if one)
        kept = {s: [c for c in own if c in kept] for s, own in OF_STAGE.items()}
        told = [s for s in STAGES if f"stage_{s}" in row]
        told = told or [s for s in STAGES if not kept[s] or any(row.get(c) for c in kept[s])]
        self.reached = max(STAGES.index(s) for s in told)


class Reader:
    """The chances of rows under this studio's manner, with all troubles but the main one known."""

    def __init__(self, studio, scrambled):
        world = studio.world
        self.rows = [Read(one, studio.kept) for one in studio.made]
        self.others = [one for one in world.spoilers if one is not world.main]
        self.manner, self.main, self.scrambled = world.manner, world.main, scrambled
        self.rest = np.array([[one.chance(r.work) for r in self.rows] for one in self.others])
        self.tables = {}

    def log_likelihood(self, mains):
        """Return the log chance of all rows for each main trouble."""
        chances = np.array([self.chances(one) for one in mains])
        total, alike = np.zeros(len(mains)), {}
        for place, one in enumerate(mains):
            alike.setdefault((one.name, one.stage, one.seen), []).append(place)
        for places in alike.values():
            troubles = [mains[places[0]], *self.others]
            for n, row in enumerate(self.rows):
                c = [chances[places, n], *self.rest[:, n]]
                total[places] += np.log(self.row(row, troubles, c) + 1e-12)
        return total

    def chances(self, one):
        """Return the chance of a trouble by what is written; the mean where a cell is empty."""
        out = np.array([one.chance(r.work) for r in self.rows])
        empty = np.array([any(not r.row.get(c) for c in one.columns) for r in self.rows])
        if empty.any() and not empty.all():
            out[empty] = out[~empty].mean()
        return out

    def row(self, row, troubles, c):
        """Return the chance of a row's end, given each trouble's, the main one first."""
        sound, turned = prod(1.0 - p for p in c), self.manner.turned
        if not row.bad:
            return (1.0 - turned) * sound + turned * (1.0 - sound)
        total = 0.0
        for out in _subsets(row.looks):
            shown = row.looks - set(out)
            none = [self.shows_only(one, shown) for one in troubles]
            after = [1.0 - p + p * g for p, g in zip(c, none, strict=True)]
            part, before = 0.0, 1.0
            for f, one in enumerate(troubles):  # the first that spoils the plate is booked
                end = self.ends(row, one.seen or one.stage, one.stage)
                part = part + before * c[f] * none[f] * end * prod(after[f + 1 :])
                before = before * (1.0 - c[f])
            total = total + (-1.0) ** len(out) * part
        at_random = np.mean([self.ends(row, stage, None) for stage in STAGES])
        false = turned * sound * at_random * (not row.looks)
        return false + (1.0 - turned) * np.maximum(total, 0.0)

    def ends(self, row, seen, made_at):
        """Return the chance that a fault ends a row so; `made_at` is None where there is none."""
        last = STAGES.index(seen)
        stops = float(row.reached == last) if last == 4 else 0.5 * (row.reached in (last, 4))
        if self.manner.bookings == "none":
            return stops
        if self.manner.bookings == "right" and made_at is not None:
            by_chance = 0.15 / (row.reached + 1) * (STAGES.index(row.booked) <= row.reached)
            return stops * (0.85 * (row.booked == made_at) + by_chance)
        return stops * (row.booked == seen)

    def shows_only(self, one, shown):
        """Return the chance that a trouble shows no look but some."""
        key = one.name, shown
        if key not in self.tables:
            left = prod(1.0 - p for look, p in self.looks(one) if look not in shown)
            if self.manner.looks == "noisy":
                left *= 1.0 - 0.35 * (1.0 - len(shown) / len(all_looks()))
            self.tables[key] = left
        return self.tables[key]

    def looks(self, one):
        how = self.manner.looks
        if how == "none":
            return ()
        if how == "scrambled":  # whichever is the main trouble, its looks are known
            name = one.name if one in self.others else self.main.name
            return tuple(zip(self.scrambled[name], (0.7, 0.3), strict=True))
        table = next((t for name in one.names if (t := looks_of(name))), ())
        return tuple((look, p * (1.0 if how == "table" else 0.6)) for look, p in table)


def _subsets(some):
    return chain.from_iterable(combinations(sorted(some), n) for n in range(len(some) + 1))


def weights(family, seed, studio, draws=DRAWS):
    """Return main troubles and how likely each is, by the notebook."""
    shop = Shop(family, seed)
    mains = candidates(family, seed, draws)
    logs = Reader(studio, shop.writer.scrambled).log_likelihood(mains)
    likely = np.exp(logs - logs.max())
    return mains, likely / likely.sum()


# --- naming -----------------------------------------------------------------------------------


def of_studio(family, seed, plates):
    """Return what is named of a studio with .95 and with .6, and whether the main one is first."""
    studio = draw_studio(family, seed, plates, 0)
    mains, likely = weights(family, seed, studio)
    names = {}
    for one, p in zip(mains, likely, strict=True):
        for word in {*one.names, *one.columns}:
            names[word] = names.get(word, 0.0) + p
    main, every = studio.world.main, studio.world.spoilers
    right = {*main.names, *main.columns}
    truly = right.union(*({*one.names, *one.columns} for one in every))
    out = {"family": family, "first": max(names, key=names.get) in right}
    for sure in (SURE, 0.6):
        named = {word for word, p in names.items() if p >= sure}
        out |= {
            f"named at {sure:.2f}": bool(named & right),
            f"false at {sure:.2f}": bool(named - truly),
        }
    return out


def rows(plates, results):
    """Yield (what, found) over studios of one size."""
    for key in [key for key in results[0] if key != "family"]:
        mean = Mean()
        for one in results:
            mean.add(one[key])
        yield f"main cause {key}, {plates} plates", mean.shown()
