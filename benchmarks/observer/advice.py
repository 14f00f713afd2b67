"""Advice at the bench by an observer who knows what may spoil each plate, and with what chance.

He decides by dynamic programming, backwards over the plates of a day, their stages, the answers
of looks and the minutes left. Days, minutes, looks and faults are those of
`benchmarks.families.measures.advice`; nothing is drawn here but the plates' conditions: each way's
good plates are expected values, so the luck of faults, looks and minutes is no part of an error.

Three observers. One knows each stage's share of faults alone, and how plain a fault is in a look.
One knows the laws, each column once it is written, and what is left of the day; what he cannot
know of this plate yet he takes as its mean over the day. One knows beforehand all that acts, the
day's luck as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import prod

import numpy as np
from scipy.special import ndtr

from benchmarks.families.draw import Shop
from benchmarks.families.forms import FAMILIES
from benchmarks.families.measures.advice import (
    DAY_MINUTES,
    DAYS,
    FALSELY,
    LOOK,
    MINUTES,
    REDO,
    SHOWN,
    WHOLE,
)
from benchmarks.families.scores import Mean
from benchmarks.families.studio import STAGES, Spoiler
from benchmarks.families.writing import OF_STAGE

STEP = 2.0  # minutes
LEFT = np.arange(0.0, DAY_MINUTES + STEP, STEP)
PLATES, DECISIONS = 8, 6
WAYS = ("rule", "shares", "laws", "all")
KNOWS = {
    "shares": "the stages' shares",
    "laws": "the laws, and columns as they are written",
    "all": "all that acts, before it does",
}
SCATTER = 0.85, 1.15  # of a step's minutes, evenly


@dataclass(frozen=True, eq=False)
class Chances:
    """What each stage before the last may do to a plate, and whether the last leaves it good.

    `parts[stage]` holds the chances that the stage is sound, that it has a fault which the
    developed picture does not show, and that it has one which it shows.
    """

    parts: dict
    finish: float


def chances(spoilers, work, chance) -> Chances:
    """Return the chances of a plate; `chance(spoiler, work)` says whose they are."""
    parts, finish = {}, 1.0
    for stage in STAGES:
        own = [(one, chance(one, work)) for one in spoilers if one.stage == stage]
        sound = prod(1.0 - p for _, p in own)
        if stage == STAGES[-1]:
            finish = sound
            continue
        unshown = prod(1.0 - p for one, p in own if STAGES.index(one.seen or one.stage) <= 3)
        parts[stage] = np.array([sound, unshown - sound, 1.0 - unshown])
    return Chances(parts, finish)


def mean_of(some):
    """Return the chances of a plate of which nothing is known but the studio."""
    parts = {s: np.mean([one.parts[s] for one in some], axis=0) for s in STAGES[:-1]}
    return Chances(parts, float(np.mean([one.finish for one in some])))


def answers_of(stage):
    """Return the chances of right, doubtful and wrong of a look: where sound, and at a fault."""
    plain = LOOK[stage][1]
    cuts = np.array([0.4, max(0.75 * plain, 0.4)])
    beyond = np.array([ndtr(cuts), ndtr(cuts - plain)])
    if plain * 0.75 < 0.4:  # wrong is asked first
        raise ValueError(stage)
    return np.diff(beyond, axis=1, prepend=0.0, append=1.0)


def after_look(stage):
    """Return how each answer, or none, weighs (sound, unshown, shown): four rows."""
    sound, fault = answers_of(stage)
    return np.vstack([np.ones(3), np.column_stack([sound, fault, fault])])


def sooner(value, minutes):
    """Return a value as it is so many minutes later in the day: nothing once the day is over."""
    steps = minutes / STEP
    whole = int(steps)
    part = steps - whole
    out = np.zeros_like(value)
    out[..., whole:] = value[..., : LEFT.size - whole] * (1.0 - part)
    out[..., whole + 1 :] += value[..., : LEFT.size - whole - 1] * part
    return out


def scattered(value, minutes):
    """Return the mean of a value over how long a step may take."""
    total = np.zeros_like(value)
    total[..., 1:] = np.cumsum((value[..., 1:] + value[..., :-1]) / 2.0, axis=-1) * STEP
    soon, late = (sooner(total, minutes * part) for part in SCATTER)
    return (soon - late) / (minutes * (SCATTER[1] - SCATTER[0]))


class Plan:
    """A plate worked through backwards: its worth by the minutes left before it is begun.

    `choose(stage, round, options)` returns the values of the options taken; values have the answers
    of polish, coat and exposure (none, right, doubtful, wrong) as axes, then minutes.
    """

    def __init__(self, chances: Chances, rest, choose):
        self.choose = choose
        joint = {s: chances.parts[s] * after_look(s) for s in LOOK}
        self.seen = {s: own.sum(axis=1) for s, own in joint.items()}
        state = {s: own / self.seen[s][:, None] for s, own in joint.items()}
        dev = chances.parts["development"]
        sound = dev[0] * _over_answers(state, slice(1))
        unshown = dev[:2].sum() * _over_answers(state, slice(2))
        passes = unshown * (1.0 - FALSELY) + (1.0 - unshown) * (1.0 - SHOWN)
        good = sound * (1.0 - FALSELY) / passes
        in_time = scattered(np.ones(LEFT.size), MINUTES["finish"])
        go = (chances.finish * good)[..., None] * in_time + scattered(rest, MINUTES["finish"])
        kept = choose("development", 0, [go, rest + 0.0 * go])
        value = passes[..., None] * kept + (1.0 - passes)[..., None] * rest
        for stage in ("exposure", "coat", "polish"):
            value = scattered(value, MINUTES[STAGES[STAGES.index(stage) + 1]])
            value = self.after(stage, value, rest)[..., 0, :]  # before it is looked at
        self.value = np.where(LEFT >= WHOLE, scattered(value, MINUTES["polish"]), 0.0)

    def after(self, stage, go, rest):
        """Return the value after a stage; the last axis but one is the answer of its look."""
        value = go
        for n in range(DECISIONS if stage in REDO else 1):
            check = np.full_like(go, -np.inf)
            looked = np.einsum("a,...an->...n", self.seen[stage][1:], value[..., 1:, :])
            check[..., 0, :] = sooner(looked, LOOK[stage][0])
            options = [go, rest + 0.0 * go, check]
            if stage in REDO:
                # the coat once more is the polish once more: nobody has looked at either
                again = value[:1] if stage == "coat" else value
                options.append(sooner(again[..., :1, :], REDO[stage]) + 0.0 * go)
            value = self.choose(stage, n, options)
        return value


def _over_answers(state, kinds):
    """Return the chance that polish, coat and exposure are of some kinds, by their answers."""
    one, two, three = (state[s][:, kinds].sum(axis=1) for s in LOOK)
    return one[:, None, None] * two[:, None] * three


class Best:
    """Choose what is worth most, and remember it."""

    def __init__(self):
        self.taken = {}

    def __call__(self, stage, n, options):
        self.taken[stage, n] = np.argmax(np.array(options), axis=0)
        return taken(options, self.taken[stage, n])


def taken(options, which):
    return np.take_along_axis(np.array(options), which[None], axis=0)[0]


def first(_stage, _n, options):
    """Go on, whatever there is: the plain rule."""
    return options[0]


def played(beliefs, believed_rest, true, rest):
    """Return the true worth of a plate; each stage is decided by what is believed there."""
    best = {}
    for stage, belief in beliefs.items():
        same = next((s for s in best if beliefs[s] is belief), None)
        best[stage] = best[same] if same else Best()
        if not same:
            Plan(belief, believed_rest, best[stage])
    return Plan(true, rest, lambda stage, n, some: taken(some, best[stage].taken[stage, n])).value


def rests_of(beliefs, usual):
    """Return what a day with n usual plates to come is worth, by minutes left."""
    rests = [np.zeros(LEFT.size)]
    for _ in range(PLATES - 1):
        rests.append(played(beliefs, rests[-1], usual, rests[-1]))
    return rests


def day_of(plates, rests=None):
    """Return the true worth of a day of (beliefs, true chances) of its plates.

    `rests[n]` is what is believed of a day with n plates to come; None where they are known.
    Without beliefs a plate is made by the plain rule.
    """
    value = np.zeros(LEFT.size)
    for left, (beliefs, true) in enumerate(reversed(plates)):
        if beliefs is None:
            value = Plan(true, value, first).value
        else:
            value = played(beliefs, value if rests is None else rests[left], true, value)
    return float(value[-1])


def always(belief):
    """Return the beliefs of one who learns nothing on the way."""
    return dict.fromkeys(STAGES[:-1], belief)


def by_then(spoilers, works):
    """Return a function of a plate: its chances as they are known after each stage.

    What a spoiler does is known once all columns that it acts through are; before, its mean is.
    """
    usual = {one: float(np.mean([one.told(work) for work in works])) for one in spoilers}
    last = {one: max((_made_at(column) for column in one.columns), default=0) for one in spoilers}

    def known(work):
        return {
            stage: chances(
                spoilers, work,
                lambda one, work, k=k: one.told(work) if last[one] <= k else usual[one],
            )
            for k, stage in enumerate(STAGES[:-1])
        }  # fmt: skip

    return known


def _made_at(column):
    return next((STAGES.index(s) for s, own in OF_STAGE.items() if column in own), 0)


def of_studio(kind, seed, plates=60, days=DAYS):
    """Return the good plates of some days by each way: the studios and days of the families."""
    family = list(FAMILIES)[seed % len(FAMILIES)]
    polish = Spoiler("a bad buff", "polish", lambda _: 1.0 / 3.0, ("dirty_buff",))
    shop = Shop(family, seed, () if kind == "usual" else (polish,))
    made = [shop.make().work for _ in range(plates)]
    spoilers = shop.world.spoilers
    told = [chances(spoilers, work, Spoiler.told) for work in made]
    middle = mean_of(told)
    mean = always(middle)
    rests = rests_of(mean, middle)
    out = dict.fromkeys(WAYS, 0.0)
    for _ in range(days):
        works = [shop.work() for _ in range(PLATES)]
        true = [chances(spoilers, work, lambda one, work: one.chance(work)) for work in works]
        out["rule"] += day_of([(None, one) for one in true])
        out["shares"] += day_of([(mean, one) for one in true], rests)
        known = map(by_then(spoilers, works), works)
        out["laws"] += day_of(list(zip(known, true, strict=True)))
        out["all"] += day_of([(always(one), one) for one in true])
    return {"kind": kind, "family": family, "days": days, **out}


def rows(results):
    """Yield (what, found) over studios of one kind."""
    for way in WAYS[1:]:
        gain, rule = Mean(), Mean()
        for one in results:
            gain.add(one[way] - one["rule"], one["rule"])
            rule.add(one["rule"], one["days"])
        told = f"{gain.shown('{:+.1%}')} of {rule.value:.2f}"
        yield f"advice, {results[0]['kind']}: good plates a day by who knows {KNOWS[way]}", told
