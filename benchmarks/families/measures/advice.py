"""Advice at the bench against a plain rule: go on to the developed picture, stop if it is bad.

Both ways work through the same days with the same plates and the same luck, one plate after the
other. A fault lies hidden from the stage where it is made; the developed picture shows most of
those made before it. A stage that is done once more meets the same conditions with new luck. What
is counted are good plates, the last stage by its chance.
"""

from __future__ import annotations

import numpy as np

from benchmarks.families import doors
from benchmarks.families.draw import Shop
from benchmarks.families.forms import FAMILIES
from benchmarks.families.scores import Mean
from benchmarks.families.studio import STAGES, Spoiler, Studio
from benchmarks.families.writing import OF_STAGE

SIZES = (60,)
KINDS = ("usual", "a third of polishes fail")
ASKED = {"usual": "+6 %", "a third of polishes fail": "+18 %"}
DAYS, DAY_MINUTES = 6, 480.0
# as the steps of the trade have it in docs/trade.md, one plate after the other
MINUTES = {"polish": 22.0, "coat": 4.5, "exposure": 6.0, "development": 73.0, "finish": 96.5}
REDO = {"polish": 18.0, "coat": 23.0}  # docs/trade.md: redo_polish_minutes, redo_coat_minutes
LOOK = {"polish": (3.0, 1.6), "coat": (2.0, 0.9), "exposure": (1.0, 0.8)}  # minutes, how plain
SHOWN, FALSELY = 0.85, 0.05  # a fault that shows in the developed picture is seen; none is seen
WHOLE = sum(MINUTES.values())


def of_studio(kind, seed, plates):
    family = list(FAMILIES)[seed % len(FAMILIES)]
    polish = Spoiler("a bad buff", "polish", lambda _: 1.0 / 3.0, ("dirty_buff",))
    shop = Shop(family, seed, () if kind == "usual" else (polish,))
    made = tuple(shop.make() for _ in range(plates))
    book = doors.open_notebook(Studio(shop.world, seed, made, shop.writer.kept, ()))
    out = {"kind": kind, "rule": 0.0, "advised": 0.0, "begun": 0}
    for day in range(DAYS):
        works = [shop.work() for _ in range(8)]
        luck = Luck(shop, seed, day, works)
        out["rule"] += whole_day(luck, lambda *_: "continue")
        out["advised"] += whole_day(luck, lambda *so_far: advised(book, shop, *so_far))
    return out


class Luck:
    """What happens to the plates of a day, the same for every way of working."""

    def __init__(self, shop, seed, day, works):
        self.world, self.key, self.works = shop.world, (seed, day), works

    def draw(self, plate, stage, attempt, what):
        rng = np.random.default_rng([17, *self.key, plate, STAGES.index(stage), attempt, what])
        return rng.random(len(self.world.spoilers) + 1)

    def minutes(self, plate, stage):
        return MINUTES[stage] * (0.85 + 0.3 * self.draw(plate, stage, 0, 2)[0])

    def faults(self, plate, stage, attempt):
        """Return what a stage does to a plate that time."""
        work, luck = self.works[plate], self.draw(plate, stage, attempt, 0)
        return [
            one
            for one, u in zip(self.world.spoilers, luck, strict=False)
            if one.stage == stage and u < one.chance(work)
        ]

    def chance(self, plate, stage):
        chance = 1.0
        for one in self.world.spoilers:
            if one.stage == stage:
                chance *= 1.0 - one.chance(self.works[plate])
        return chance

    def look(self, plate, stage, attempt, faults):
        """Return the answer of a look at a plate: right, doubtful or wrong."""
        luck = self.draw(plate, stage, attempt, 1)
        if stage == "development":
            plain = any(STAGES.index(one.seen or one.stage) <= 3 for one in faults)
            bad = luck[0] < (SHOWN if plain else FALSELY)
            return "wrong" if bad else ("doubtful" if luck[1] < 0.1 else "right")
        own = any(one.stage == stage for one in faults)
        plain = LOOK[stage][1]
        signal = np.random.default_rng(int(luck[0] * 2**32)).normal(plain * own)
        return "wrong" if signal > 0.75 * plain else ("doubtful" if signal > 0.4 else "right")


def whole_day(luck, decide):
    """Return the good plates of a day, whole ones and chances."""
    left, good = DAY_MINUTES, 0.0
    for plate in range(len(luck.works)):
        if left < WHOLE:
            break
        left, came = one_plate(luck, plate, left, decide)
        good += came
    return good


def one_plate(luck, plate, left, decide):
    """Return the minutes left and whether the plate is good, deciding after each stage."""
    faults, answers = {}, {}  # answers of earlier stages stand, as on the bench
    times = dict.fromkeys(STAGES, 0)  # that each stage was done once more
    for stage in STAGES[:-1]:
        left -= luck.minutes(plate, stage)
        faults[stage] = luck.faults(plate, stage, 0)
        if stage == "development":
            answers[stage] = luck.look(plate, stage, 0, [f for own in faults.values() for f in own])
        for _ in range(6):  # a stage is not done again for ever
            what = decide(luck.works[plate], stage, answers, left)
            if what == "check" and stage in LOOK and stage not in answers:
                left -= LOOK[stage][0]
                answers[stage] = luck.look(plate, stage, times[stage], faults[stage])
            elif what == "redo" and stage in REDO:
                left -= REDO[stage]
                for again in STAGES[: STAGES.index(stage) + 1]:
                    times[again] += 1
                    faults[again] = luck.faults(plate, again, times[again])
                    answers.pop(again, None)
            else:
                break
        if what == "stop" or (stage == "development" and answers[stage] == "wrong"):
            return left, 0.0
    left -= luck.minutes(plate, "finish")
    return left, 0.0 if left < 0.0 or any(faults.values()) else luck.chance(plate, "finish")


def advised(book, shop, work, stage, answers, left):
    known = {
        column: work.values[column]
        for column in shop.writer.kept
        if column in work.values and _by_then(column, stage)
    }
    return doors.advice(book, known, stage, answers, max(left, 0.0))


def _by_then(column, stage):
    own = next((s for s, columns in OF_STAGE.items() if column in columns), STAGES[0])
    return STAGES.index(own) <= STAGES.index(stage)


def rows(results):
    out = []
    for kind in KINDS:
        gain, rule = Mean(), Mean()
        for one in results:
            if one["kind"] == kind:
                # a studio in which the rule made no good plate counts too
                gain.add(one["advised"] - one["rule"], max(one["rule"], 1e-9))
                rule.add(one["rule"], DAYS)
        if gain.counts:
            out.append(
                (
                    f"advice, {kind}: good plates a day over stopping at the developed picture",
                    ASKED[kind],
                    f"{gain.shown('{:+.1%}')} of {rule.value:.2f}",
                )
            )
    return out
