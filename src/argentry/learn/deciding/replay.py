"""Advice replayed on the plates of the book: what it would have won against a plain rule.

The rule goes on to the developed picture and stops there when the picture is bad. What came of each
plate is known, and so is what was predicted of it before it was seen. At each checkpoint the best
thing to do by the prediction is looked up and valued by what came: a plate given up saves its
minutes and loses what it became, a stage done once more comes out as the plate's own conditions let
expect, a check shows what such checks show of a fault or of none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from argentry.arrays import Floats
from argentry.learn.deciding.day_worth import solve_day
from argentry.learn.deciding.plate_value import AGAIN, at, plate_value, rounded_up
from argentry.learn.deciding.stage_work import StageWork, posterior

Gain = Callable[..., Floats]

DAY = 480  # minutes of the day in which each plate is replayed


def advice_gains(
    stages: Sequence[StageWork], predicted: Floats, faults: Floats, good: Floats
) -> dict[str, float]:
    """Return for each checkpoint what its advice would have gained over the rule, in good plates.

    Parameters
    ----------
    stages : sequence of StageWork
        Of a usual plate of this studio, in order.
    predicted : NDArray (stages, plates)
        Chance that each stage comes out sound, as predicted before the plate was seen. [1]
    faults : NDArray (stages, plates)
        How likely each stage spoilt the plate; all 0 for a good one. [1]
    good : NDArray (plates,)
        1 for a plate that came out good, else 0.

    Returns
    -------
    dict
        By stage, of those before the one that reveals; time is priced by the day's worth.
    """
    revealed = next(i for i, stage in enumerate(stages) if stage.reveals)
    worth = solve_day(tuple(stages), DAY)
    value = plate_value(stages, worth, predicted, AGAIN)
    left, out = DAY, {}
    for k in range(revealed):
        left -= rounded_up(stages[k].minutes)
        gain = _gain(stages, k, left, worth, predicted[k], faults, good)
        before, ok = np.prod(predicted[:k], axis=0)[:, None], predicted[k][:, None]
        on, again = value.ahead(k, left), value.redo(k, left)
        best, worth_of_best = _best(before, ok, on, again)
        total = gain(best)
        for check in stages[k].checks:
            look = value.look(k, left, check)
            if look is None:
                continue
            seen = posterior(check, ok)
            looked = np.full(good.size, -_price(worth, left, check.minutes))
            for shown, after in enumerate(seen[1]):
                then, _ = _best(before, after, on, again)
                looked += gain(then, check.sound[shown], check.fault[shown])
            total = np.where(look(before, seen)[:, 0] > worth_of_best, looked, total)
        out[stages[k].key] = float(total.sum())
    return out


def _best(
    before: Floats, ok: Floats, on: Floats | None, again: Floats | None
) -> tuple[NDArray[np.str_], Floats]:
    """Return the best of stopping, continuing and redoing for each plate, and its worth."""
    ways = {"stop": np.zeros(ok.shape[0])}
    if on is not None:
        ways["continue"] = at(on, before * ok)[:, 0]
    if again is not None:
        ways["redo"] = at(again, before)[:, 0]
    values = np.array(list(ways.values()))
    return np.array(list(ways))[values.argmax(axis=0)], values.max(axis=0)


def _price(worth: Floats, left: int, minutes: float) -> float:
    return float(worth[left] - worth[max(left - rounded_up(minutes), 0)])


def _gain(
    stages: Sequence[StageWork],
    k: int,
    left: int,
    worth: Floats,
    chance: Floats,
    faults: Floats,
    good: Floats,
) -> Gain:
    """Return what a way after stage k gains over continuing by the rule, a function for plates.

    It takes also how often a check shows this of a sound stage and of a fault.
    """
    revealed = next(i for i, stage in enumerate(stages) if stage.reveals)
    picture = -_price(worth, left, sum(rounded_up(s.minutes) for s in stages[k + 1 : revealed + 1]))
    whole = -_price(worth, left, sum(rounded_up(s.minutes) for s in stages[k + 1 :]))
    here = faults[k]
    elsewhere = faults[: revealed + 1].sum(axis=0) - here
    late = np.maximum(1.0 - good - here - elsewhere, 0.0)  # spoilt after the picture
    # the plate as it came with this stage sound, and with a fault in it
    sound = good * (1.0 + whole) + late * whole + elsewhere * picture
    spoilt = (good + late + elsewhere) * picture
    later = float(np.prod([stage.ok for stage in stages[k + 1 :]]))
    mended = chance * (later * (1.0 + whole) + (1.0 - later) * picture) + (1.0 - chance) * picture
    cost = _price(worth, left, stages[k].redo_minutes or 0.0) + stages[k].redo_price

    def gain(way: NDArray[np.str_], of_sound: float = 1.0, of_fault: float = 1.0) -> Floats:
        faulty = of_fault * here
        rule = of_sound * sound + faulty * picture
        redone = of_sound * (chance * sound + (1.0 - chance) * spoilt) + faulty * mended
        redone = redone - cost * (of_sound * (1.0 - here) + faulty)
        return np.where(way == "stop", -rule, np.where(way == "redo", redone - rule, 0.0))

    return gain
