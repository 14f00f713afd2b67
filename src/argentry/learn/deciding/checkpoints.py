"""Continue, redo, stop, or look first: what to do with a plate between two stages.

`argentry.learn.deciding.plate_value` values every option in good plates to be expected by the end
of the day; the advice is the option worth most. Odds of this plate come as draws, so that each
value has its range.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from math import hypot

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.learn.deciding.day_worth import counts, solve_day
from argentry.learn.deciding.plate_value import (
    PlateValue,
    at,
    least_needed,
    plate_value,
    rounded_up,
)
from argentry.learn.deciding.stage_work import StageWork, posterior
from argentry.physics.stops import with_range
from argentry.records.decision import Advice, Option

DRAWS = 20  # of the odds, at which values are calculated for their ranges


def advise(
    usual: Sequence[StageWork],
    odds: Mapping[str, ArrayLike],
    done: str | None,
    minutes_left: float,
    *,
    checked: Collection[str] = (),
    again: Mapping[str, ArrayLike] | None = None,
    overlap: bool = False,
    plates: int = 0,
) -> Advice:
    """Return what to do now with a plate, with every option's worth.

    Parameters
    ----------
    usual : sequence of StageWork
        The stages of a usual plate of this studio, in order: what other plates would bring.
    odds : Mapping[str, array_like]
        For this plate: probability that a stage is (or will be) sound, as one number or as draws.
        [1] Of finished stages with all that is known by now; a stage left out counts as usual.
    done : str or None
        The stage just finished; None before the first.
    minutes_left : float
        Until hands or light end today, 0 to 2000. [min]
    checked : collection of str
        Checks already made after this stage (their result is in `odds`).
    again : Mapping[str, array_like], optional
        For this plate: probability that a stage comes out sound when it is done once more, after
        all that was seen of it. [1] Of a stage left out: as usual, as if its cause were gone.
    overlap : bool
        True when other plates are worked on during unattended minutes.
    plates : int
        Plates behind the odds.

    Returns
    -------
    Advice
        One of continue, redo, stop, check, with the rule and its numbers.

    Raises
    ------
    BadInput
        If a stage is unknown or the plate is finished, or a number is out of range.
    """
    minutes_left = check_range("minutes left today", minutes_left, 0.0, 2000.0, "min")
    names = [stage.key for stage in usual]
    k = _place(names, done)
    if unknown := sorted(set(odds) - set(names)):
        raise BadInput(
            "odds",
            "{unknown!r} is not a stage",
            "use {names}",
            unknown=unknown[0],
            names=", ".join(names),
        )
    draws = _draws(usual, odds)
    stages = list(usual) if overlap else [replace(stage, attended=1.0) for stage in usual]
    left = int(minutes_left)
    worth = solve_day(tuple(usual), left, overlap=overlap)
    base = float(worth[left])
    ways = _ways(stages, k, left, checked)
    # the mean first, then a few draws for the ranges
    cases = np.concatenate([draws.mean(axis=1, keepdims=True), _few(draws)], axis=1)
    value = _solved(stages, k, worth, cases[:, 0], again)
    values = _values(stages, k, value, cases, ways)
    middle, many = values[:, 0], values[:, 1:]
    options = [
        Option(*_words(way, stages, k), *with_range(base + drawn, base + value))
        for way, value, drawn in zip(ways, middle, many, strict=True)
    ]
    chosen = _chosen(ways, middle, begun=k >= 0)
    rivals = [i for i in range(len(ways)) if i != chosen and not ways[i].startswith("check")]
    gains = many[chosen] - many[rivals].max(axis=0)
    gain = float(middle[chosen] - middle[rivals].max())
    _, low, high = with_range(gains, gain)
    success = draws.prod(axis=0)
    probability = float(success.mean())
    _, probability_low, probability_high = with_range(success, probability)
    to_come = sum(rounded_up(stage.minutes) for stage in stages[k + 1 :])
    spent = min(left, to_come)
    price = 60.0 * float(worth[left] - worth[left - spent]) / max(1, spent)
    in_time = _in_time(stages, k, left)
    share = float(draws.mean(axis=1)[k + 1 :].prod())
    needed = least_needed(value.ahead[k][0, :, -1]) * share if in_time else None
    rest = sorted((o for i, o in enumerate(options) if i != chosen), key=lambda o: -o.worth)
    return Advice(
        advice=options[chosen].what,
        key=options[chosen].key,
        worth=gain,
        low=low,
        high=high,
        sureness=float((gains >= -trade.value("decide", "least_gain")).mean()),
        stage=done or "",
        probability=probability,
        probability_low=probability_low,
        probability_high=probability_high,
        needed=needed,
        price_per_hour=price,
        minutes_left=minutes_left,
        plates=plates,
        options=(options[chosen], *rest),
        rule=_rule(options[chosen], probability, needed, price, in_time=in_time),
    )


def _ways(stages: Sequence[StageWork], k: int, left: int, checked: Collection[str]) -> list[str]:
    """Return what can be done, in the order in which equals are preferred."""
    if not _in_time(stages, k, left):
        return ["stop", "continue"]
    ways = ["continue"]
    if k >= 0:
        now = stages[k]
        fits = [c for c in now.checks if c.key not in checked and rounded_up(c.minutes) <= left]
        ways += [f"check {check.key}" for check in fits]
        if (
            now.redo_minutes is not None
            and not now.reveals
            and rounded_up(now.redo_minutes) <= left
        ):
            ways.append("redo")
    return [*ways, "stop"]


def _in_time(stages: Sequence[StageWork], k: int, left: int) -> bool:
    """Return whether a plate may be over today.

    One not begun must be over by plan; of one begun, steps may be quicker by two standard
    deviations of their lengths.
    """
    to_come = stages[k + 1 :]
    luck = 2.0 * hypot(*(stage.scatter for stage in to_come)) if k >= 0 else 0.0
    return sum(rounded_up(stage.minutes) for stage in to_come) - luck <= left


def _chosen(ways: Sequence[str], middle: Floats, *, begun: bool) -> int:
    """Return the place of the best way; looking must gain something to be advised."""
    least = trade.value("decide", "least_gain")
    plain = [i for i, way in enumerate(ways) if way in {"continue", "stop"}]
    best = max(plain, key=lambda i: middle[i])
    if not begun and ways[0] == "continue" and middle[0] > middle[best] - least:
        best = 0  # a plate no worse than usual is begun: the minutes of a day are not that exact
    if middle.max() > middle[best] + least:
        return int(np.argmax(middle))
    if (
        ways[best] == "stop"
        and "redo" in ways
        and middle[ways.index("redo")] >= middle[best] - least
    ):
        return ways.index("redo")  # the same plate once more, before it is laid aside for another
    return best


def _solved(
    stages: Sequence[StageWork],
    k: int,
    worth: Floats,
    ok: Floats,
    again: Mapping[str, ArrayLike] | None,
) -> PlateValue:
    """Return what the plate is worth from stage k on; the last count of minutes is now."""
    given = [np.asarray((again or {}).get(s.key, s.ok), dtype=np.float64) for s in stages]
    shares = np.array([*(one.mean() for one in given[: k + 1]), *ok[k + 1 :]])[:, None]
    minutes = worth.size - 1
    left = np.linspace(0.0, minutes, counts(minutes) + 1)
    now = np.interp(left, np.arange(minutes + 1.0), worth)
    return plate_value(stages, now, shares, step=max(minutes, 1) / counts(minutes), first=k)


def _values(
    stages: Sequence[StageWork], k: int, value: PlateValue, ok: Floats, ways: Sequence[str]
) -> Floats:
    """Return each way's value now against stopping, for each draw; in good plates; (ways, draws).

    The first draw is the mean, for which the values are solved. What another draw says of stages to
    come counts as if it were said of those before.
    """
    ahead = ok[k + 1 :].prod(axis=0)
    before = (ok[: max(k, 0)].prod(axis=0) * ahead / max(float(ahead[0]), 1e-9))[None, :]
    last = ok[k][None, :] if k >= 0 else np.ones_like(before)
    rows = []
    for way in ways:
        kind, _, key = way.partition(" ")
        if kind == "continue":
            rows.append(at(value.ahead[k][..., -1:], before * last)[0, :, 0])
        elif kind == "redo":
            rows.append(at(value.redo[k][..., -1:], before)[0, :, 0])
        elif kind == "check":
            check = next(c for c in stages[k].checks if c.key == key)
            rows.append(value.look(k, check)(before, posterior(check, last))[0, :, -1])
        else:
            rows.append(np.zeros(ok.shape[1]))
    return np.array(rows)


def _words(way: str, stages: Sequence[StageWork], k: int) -> tuple[str, str, str, float]:
    """Return kind, key, words and minutes of an option."""
    kind, _, key = way.partition(" ")
    if kind == "check":
        check = next(c for c in stages[k].checks if c.key == key)
        return kind, key, "{title}, then decide".format(title=check.title or key), check.minutes
    if kind == "redo":
        return (
            kind,
            "",
            "redo the {key}".format(key=stages[k].key),
            stages[k].redo_minutes or 0.0,
        )
    if kind == "continue":
        return (
            kind,
            "",
            "continue to the {key}".format(key=stages[k + 1].key),
            stages[k + 1].minutes,
        )
    return kind, "", "give this plate up" if k >= 0 else "do not begin a plate", 0.0


def _place(names: Sequence[str], done: str | None) -> int:
    if done is None:
        return -1
    if done not in names[:-1]:
        right = "use one of {names}, or nothing before the first".format(
            names=", ".join(names[:-1])
        )
        raise BadInput("stage done", "{done!r} leaves nothing to decide".format(done=done), right)
    return names.index(done)


def _draws(usual: Sequence[StageWork], odds: Mapping[str, ArrayLike]) -> Floats:
    """Return the odds of every stage by draw; (stages, draws)."""
    rows = []
    for stage in usual:
        given = odds.get(stage.key, stage.ok)
        draws = np.atleast_1d(np.asarray(given, dtype=np.float64)).ravel()
        if not (draws.size and np.all((draws >= 0.0) & (draws <= 1.0))):
            raise BadInput(
                "odds of {key}".format(key=stage.key),
                "not a probability",
                "give numbers from 0 to 1",
            )
        rows.append(draws)
    count = max(row.size for row in rows)
    # a stage with fewer draws steps evenly through its own
    return np.array([row[(np.arange(count) * row.size) // count] for row in rows])


def _few(draws: Floats) -> Floats:
    """Return at most `DRAWS` of the draws, evenly from the worst plate to the best."""
    count = min(DRAWS, draws.shape[1])
    order = np.argsort(draws.prod(axis=0), kind="stable")
    return np.asarray(draws[:, order[((np.arange(count) + 0.5) * order.size / count).astype(int)]])


def _rule(
    top: Option, probability: float, needed: float | None, price: float, *, in_time: bool
) -> str:
    if not in_time or needed is None:
        return "This plate cannot be finished in the time left today."
    p = f"{100.0 * probability:.0f} %"
    if top.what == "continue" and probability < needed:
        return "This plate counts as {p}, as much as any other: continue.".format(p=p)
    pays = "pays from {share:.0f} %" if needed <= 1.0 else "does not pay at any odds"
    asks = "Continuing {pays}; this plate counts as {p}".format(
        pays=pays.format(share=100.0 * needed), p=p
    )
    time = (
        "an hour on other plates would bring {price:.2f} good ones".format(price=price)
        if price > 0.0
        else "no other plate can be finished today, so its time costs nothing"
    )
    last = {
        "continue": "continue",
        "stop": top.words,
        "redo": "{words}, which is worth more than continuing or stopping".format(words=top.words),
        "check": "{words}; the check is worth its minutes".format(words=top.words),
    }
    return f"{asks}, and {time}: {last[top.what]}."
