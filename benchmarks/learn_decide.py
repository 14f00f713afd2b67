"""Deciding: good plates a day by the checkpoint rule, and plates until the exposure is known.

The makers simulated here do not follow the rule's own assumptions: faults come in bad sessions,
what a check shows has heavy tails, and the rule has rates only from the maker's first plates. Every
figure of the simulation is an assumption; the comparisons count.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np

from argentry.learn.deciding.checkpoints import advise
from argentry.learn.deciding.day_worth import solve_day
from argentry.learn.deciding.plate_value import GRID
from argentry.learn.deciding.stage_work import Check, StageWork, graded_check, posterior
from argentry.learn.deciding.steady_rate import solve_rate
from argentry.learn.numbers.exposure_belief import GradedExposure, believed, quantiles, weigh
from argentry.learn.numbers.exposure_trials import (
    best_centre,
    candidates,
    expected_sd,
    strip_offsets,
)

MINUTES = (75, 12, 20, 90, 50)  # clean, polish, buff; fume; load and expose; develop; finish
ATTENDED = (1.0, 1.0, 1.0, 15 / 90, 45 / 50)
FAULTS = (0.20, 0.12, 0.15, 0.08, 0.06)
NAMES = ("polish", "coat", "exposure", "development", "finish")
DAY = 540
REDO = 25.0
MOST = 14  # plates of one search
QUALITY = {"polish": ("breath", 3.0, 2.0), "coat": ("photograph", 2.0, 1.0)}


def work(faults=FAULTS, *, checks=True, redo=True, quality=None, overlap=False):
    """Return the stages as the rule sees them."""
    stages = []
    for i, name in enumerate(NAMES):
        looks: tuple[Check, ...] = ()
        if checks and name in QUALITY:
            key, minutes, good = QUALITY[name]
            looks = (graded_check(key, minutes, good if quality is None else quality),)
        stages.append(
            StageWork(
                name,
                float(MINUTES[i]),
                1.0 - faults[i],
                attended=ATTENDED[i] if overlap else 1.0,
                redo_minutes=REDO if redo and i == 0 else None,
                checks=looks,
                reveals=name == "development",
            )
        )
    return tuple(stages)


def learned(rng, faults, plates):
    """Return the faults as a maker knows them after some plates; believed: one in seven."""
    return tuple((rng.binomial(plates, fault) + 0.6) / (plates + 4.2) for fault in faults)


def luck_of_sessions(rng, faults, plates):
    """Return the chance of a fault for each plate: three plates a session, some sessions bad."""
    sessions = rng.normal(0.0, 0.5, (-(-plates // 3), 5)).repeat(3, axis=0)[:plates]
    faults = np.array(faults)
    odds = faults / (1 - faults) * np.exp(sessions)
    chance = odds / (1 + odds)
    return chance * faults / chance.mean(axis=0)


def score(rng, moved):
    """Return what a check shows: Student's t with 5 degrees of freedom, spread 1."""
    return moved + rng.standard_t(5) / np.sqrt(5 / 3)


def play(rng, chance, rule, rate, true_quality, noise=0.0):
    """Return good plates by minute of a maker with the rule, and without it, on the same luck."""
    good = minutes = plain_good = plain_minutes = 0.0
    for faults in chance:
        sound = rng.random(5) >= faults
        plain_minutes += sum(MINUTES[:4]) + MINUTES[4] * sound[:4].all()
        plain_good += sound.all()
        own = [odds_with_noise(rng, stage.ok, noise) for stage in rule]
        spent, made = follow(rng, sound, faults, rule, rate, true_quality, own)
        minutes, good = minutes + spent, good + made
    return good / minutes, plain_good / plain_minutes


def odds_with_noise(rng, ok, noise):
    odds = ok / (1.0 - ok) * np.exp(rng.normal(0.0, noise))
    return odds / (1.0 + odds)


def follow(rng, sound, faults, rule, rate, true_quality, own):
    """Return minutes and outcome of one plate made by the rule."""
    p, k, minutes = 1.0, 0, float(MINUTES[0])
    while k < 4:
        stage, q, before = rule[k], own[k], p
        if stage.reveals:
            if not sound[: k + 1].all():
                return minutes, False
            p = 1.0
        else:
            again = -1.0 if rate.redo[k] is None else at(rate.redo[k], before)
            on = at(rate.ahead[k], before * q)
            if stage.checks and worth_looking(stage, before, q, rate, k, max(0.0, on, again)):
                check, (_, _, quality) = stage.checks[0], QUALITY[stage.key]
                minutes += check.minutes
                shown = score(rng, 0.0 if sound[k] else true_quality.get(stage.key, quality))
                grade = int(np.searchsorted((quality / 2, quality / 2 + 1), shown))
                q = float(posterior(check, q)[1][grade])
                on = at(rate.ahead[k], before * q)
            if again > max(0.0, on):
                minutes += REDO
                sound[k] = rng.random() >= faults[k]
                continue
            if on <= 0.0:
                return minutes, False
            p = before * q
        k += 1
        minutes += MINUTES[k]
    return minutes, bool(sound.all())


def at(values, p):
    return float(np.interp(p, GRID, values))


def worth_looking(stage, before, q, rate, k, without):
    check = stage.checks[0]
    weights, after = posterior(check, q)
    again = rate.redo[k]
    total = -rate.per_minute * check.minutes
    for weight, seen in zip(weights, after, strict=True):
        best = max(0.0, at(rate.ahead[k], before * float(seen)))
        total += float(weight) * max(best, at(again, before) if again is not None else 0.0)
    return total > without


def gain(seed, faults, plates, *, behind, makers, checks=True, quality=None, true=None, noise=0.0):
    """Return the mean gain of the rule over makers, and its standard error. [1]."""
    rng = np.random.default_rng(seed)
    gains = []
    for _ in range(makers):
        rule = work(learned(rng, faults, behind), checks=checks, redo=checks, quality=quality)
        chance = luck_of_sessions(rng, faults, plates)
        ours, plain = play(rng, chance, rule, solve_rate(rule), true or {}, noise)
        gains.append(ours / plain - 1.0)
    return float(np.mean(gains)), float(np.std(gains) / np.sqrt(makers))


def gates(makers: int, plates: int) -> list[tuple[str, str]]:
    rows = []
    base = solve_rate(work(checks=False, redo=False)).per_minute
    perfect = [replace(s, checks=(Check("sure", 0.0, (1.0, 0.0), (0.0, 1.0)),)) for s in work()]
    bound = [replace(stage, redo_minutes=None) for stage in perfect]
    most = solve_rate(tuple(bound)).per_minute
    reached = np.cumprod([1.0, *(1 - f for f in FAULTS)])
    closed = DAY * reached[-1] / float(np.array(MINUTES) @ reached[:-1])
    rows += [
        ("stopping at the developed image (1.24 a day)", f"{DAY * base:.3f} good plates in 9 h"),
        (
            "perfect free checks: solver beside closed form",
            f"{DAY * most:.4f} and {closed:.4f} a day, {most / base - 1:+.1%} (about +25 %)",
        ),
    ]
    third = (0.35, *FAULTS[1:])
    for what, faults, asked in (
        ("half yield", FAULTS, "+8 %"),
        ("a third of the polishes fail", third, "+18 %"),
    ):
        exact = solve_rate(work(faults)).per_minute
        reference = solve_rate(work(faults, checks=False, redo=False)).per_minute
        mean, error = gain(1, faults, plates, behind=60, makers=makers)
        rows.append(
            (
                f"realistic checks, {what}, rates from 60 plates (at least {asked})",
                f"{mean:+.1%} +- {error:.1%} simulated; {exact / reference - 1:+.1%} by the book",
            )
        )
    for noise, what in (
        (0.0, "nothing to look at"),
        (0.5, "and odds of each plate that are noise"),
    ):
        mean, error = gain(2, FAULTS, plates, behind=30, makers=makers, checks=False, noise=noise)
        rows.append(
            (f"{what}, rates from 30 plates (at least -2 %)", f"{mean:+.1%} +- {error:.1%}")
        )
    useless = {"polish": 0.0, "coat": 0.0}
    mean, error = gain(3, FAULTS, plates, behind=30, makers=makers, quality=0.0, true=useless)
    rows.append(
        ("checks that tell nothing, known as such (at least -2 %)", f"{mean:+.1%} +- {error:.1%}")
    )
    mean, error = gain(4, FAULTS, plates, behind=30, makers=makers, true=useless)
    rows.append(
        (
            "the same, still believed good: what learning their worth saves",
            f"{mean:+.1%} +- {error:.1%}",
        )
    )
    return rows + days()


def days() -> list[tuple[str, str]]:
    """Return rows for whole days of one plate at a time, and for overlapping plates."""
    alone = [float(solve_day(work(checks=c, redo=c), DAY)[DAY]) for c in (False, True)]
    hands = [
        solve_rate(work(checks=c, redo=c, overlap=True)).per_minute * DAY for c in (False, True)
    ]
    start = time.perf_counter()
    advise(work(), {"polish": np.full(400, 0.6)}, "polish", 430)
    first = time.perf_counter() - start
    start = time.perf_counter()
    for left in range(400, 420):
        advise(work(), {"polish": np.full(400, 0.6)}, "polish", left)
    each = (time.perf_counter() - start) / 20
    return [
        (
            "whole plates in a day of 9 h that ends, rates known",
            f"{alone[0]:.2f} without, {alone[1]:.2f} with checks ({alone[1] / alone[0] - 1:+.0%})",
        ),
        (
            "development time filled with other plates, rates known",
            f"{hands[0]:.2f} without, {hands[1]:.2f} with checks ({hands[1] / hands[0] - 1:+.0%})",
        ),
        (
            "one advice (limit 0.5 s with the page's request)",
            f"{first:.2f} s first, {each:.3f} s then",
        ),
    ]


# --- exposure ---


def verdict(z: float, right: float, half: float) -> str:
    if z < right - half:
        return "under"
    if z < right + half:
        return "right"
    return "over" if z < right + half + 1.5 else "solarised"


def bracket(step: int) -> float:
    """Fixed bracketing: 0, +1, -1, +2, -2, then the half steps between."""
    whole = (0.0, 1.0, -1.0, 2.0, -2.0, 0.5, -0.5, 1.5, -1.5)
    return whole[step % len(whole)]


def seek(number: int, how: str, lost: float) -> tuple[list[float], int]:
    """Return |error| after each plate, and the plate after which the speed counts as found.

    Truth and luck of a run are the same for every rule; noise has heavier tails than believed.
    """
    rng = np.random.default_rng([7, number])
    right = rng.normal(0.0, 1.2)
    half = 0.5 * np.exp(rng.normal(0.0, 0.45))
    noise = 0.3 * np.exp(rng.normal(0.0, 0.4))
    luck = noise * rng.standard_t(5, MOST) / np.sqrt(5 / 3)
    gone = rng.random(MOST) < lost
    belief = believed(0.0, 1.2)
    errors, found = [], MOST + 1
    for step in range(MOST):
        if how == "bracketing":
            stops = np.array([bracket(step)])
        elif how == "likeliest right":
            stops = np.array([best_centre(belief)])
        elif how == "least variance":
            stops = candidates(belief)
            stops = stops[[int(np.argmin(expected_sd(belief, stops)))]]
        else:
            stops = round(belief.mean * 6) / 6 + strip_offsets()
        if not gone[step]:
            between = rng.normal(0.0, 0.08, stops.size) if stops.size > 1 else 0.0
            z = stops + luck[step] + between
            seen = tuple(verdict(float(v), right, half) for v in z)
            belief = weigh(belief, GradedExposure(tuple(map(float, stops)), seen))
        middle = quantiles(belief.shift, belief.marginal(0), (0.5,))[0]
        errors.append(abs(float(middle) - right))
        if found > MOST and belief.near(1 / 3) >= 0.8:
            found = step + 1
    return errors, found


def exposures(runs: int) -> list[tuple[str, str]]:
    """Return rows on the search for the speed.

    Two counts: the plates after which four runs in five lie, and stay, within a third of a stop,
    seen from outside; and the mean plates until the maker is told so, which is less noisy.
    """
    rows = []
    for lost in (0.0, 0.25):
        outside, told = {}, {}
        for how in ("bracketing", "likeliest right", "least variance", "strips"):
            each = [seek(number, how, lost) for number in range(runs)]
            errors = np.array([e for e, _ in each])
            found = np.array([f for _, f in each])
            below = np.flatnonzero((errors <= 1 / 3).mean(axis=0) < 0.8)
            outside[how] = int(below[-1]) + 2 if below.size else 1
            told[how] = float(found.mean())
            when = found <= MOST
            sure = (errors[when, found[when] - 1] <= 1 / 3).mean()
            rows.append(
                (
                    f"{how}, {lost:.0%} of plates lost",
                    (
                        f"{outside[how]} plates to 1/3 stop in 80 % of runs; told so after "
                        f"{told[how]:.1f}, rightly in {sure:.0%}"
                    ),
                )
            )
        for how in ("least variance", "strips"):
            saved = outside["bracketing"] - outside[how]
            rows.append(
                (
                    f"saved against bracketing by {how}, {lost:.0%} lost (at least 2)",
                    f"{saved} plates; told so {told['bracketing'] - told[how]:.1f} plates sooner",
                )
            )
    return rows


def run(makers: int = 40, plates: int = 1500, runs: int = 240) -> list[tuple[str, str]]:
    return [*gates(makers, plates), *exposures(runs)]


if __name__ == "__main__":
    for what, figure in run():
        print(f"{what:66s} {figure}")
