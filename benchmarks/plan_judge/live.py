"""A season of days with bad luck: the morning's sheet, the plan made again, and a plain rule."""

from __future__ import annotations

import time

import numpy as np

from argentry import trade
from argentry.errors import ArgentryError
from argentry.trade.steps import plate_size
from benchmarks.plan_judge.bench import Bench
from benchmarks.plan_judge.makers import Asking, ByLetter, ByRule, BySheet
from benchmarks.plan_judge.season import OVERTIME, season_day

SEASON = 20


def season(count):
    """Yield the first so many days that hold a plate."""
    number = found = 0
    while found < count:
        try:
            day = season_day(number)
        except ArgentryError:
            day = None
        number += 1
        if day is not None:
            found += 1
            yield day


def played(day):
    """Return outcomes by maker, and the questions asked."""
    asking = Asking(day)
    return {
        "sheet": Bench(day, ByLetter(day)).run(),
        "sheet, thinking ahead": Bench(day, BySheet(day)).run(),
        "sheet with overtime": Bench(day, BySheet(day, OVERTIME, heed_latest=False)).run(),
        "again": Bench(day, asking).run(),
        "rule": Bench(day, ByRule()).run(),
    }, asking.asked


def rows(count=SEASON):
    began = time.perf_counter()
    outcomes, asked = [], []
    for day in season(count):
        found, questions = played(day)
        outcomes.append(found)
        asked.append(questions)
        said = ", ".join(f"{who} {one.good:.2f}" for who, one in found.items())
        yield f"  good plates, day {day.name}", f"{said}; asked {len(questions)} times"
    yield from _goods(outcomes)
    yield from _questions(asked)
    yield f"season of {count} days (target under 12 min)", f"{time.perf_counter() - began:.0f} s"


def _goods(outcomes):
    good = {who: np.array([one[who].good for one in outcomes]) for who in outcomes[0]}
    for who, values in good.items():
        error = values.std(ddof=1) / np.sqrt(len(values)) if len(values) > 1 else 0.0
        ones = [one[who] for one in outcomes]
        lost, faults = sum(o.lost_for_time for o in ones), sum(o.faults for o in ones)
        area = plate_size("quarter").area_cm2
        gram = area * 1e-4 * trade.value("decide", "silver_um")
        gram *= trade.value("decide", "silver_density")
        yield (
            f"good plates per day: {who}",
            (
                f"{values.mean():.2f} ± {error:.2f}; begun {sum(o.begun for o in ones)}, finished "
                f"{sum(o.finished for o in ones)} ({sum(o.in_hours for o in ones)} in the hours), "
                f"lost for time {lost} ({lost * gram:.1f} g of silver), by faults {faults}"
            ),
        )
    for who, whose in (
        ("sheet", "the morning's sheet to the letter (target at least +8 %)"),
        ("sheet, thinking ahead", "a maker who keeps to it and thinks ahead"),
    ):
        yield f"plan made again against {whose}", _gain(good["again"], good[who])
    inside = np.array([one["again"].good_in_hours for one in outcomes])
    yield "its plates done within the hours alone, against the letter", _gain(inside, good["sheet"])
    one = good["again"]
    late = good["sheet with overtime"]
    yield (
        "against a sheet whose maker stays late and heeds no latest start",
        f"{100.0 * (one.mean() / max(late.mean(), 1e-9) - 1.0):+.0f} %",
    )
    over = [o["again"].overtime for o in outcomes]
    yield (
        "overtime of the plan made again, min per day",
        f"{np.mean(over):.0f}, most {max(over):.0f}",
    )


def _gain(one, other):
    """Return in words by how much one maker's good plates are more than another's."""
    gain, percent = one - other, 100.0 / max(other.mean(), 1e-9)
    error = gain.std(ddof=1) / np.sqrt(len(gain)) if len(gain) > 1 else 0.0
    return (
        f"{percent * gain.mean():+.0f} % (± {percent * error:.0f}); better on "
        f"{(gain > 0.05).sum()} days, worse on {(gain < -0.05).sum()} of {len(gain)}"
    )


def _questions(asked):
    every = [one for day in asked for one in day]
    if not every:
        yield "plans made again", "none"
        return
    for what, values in (
        ("wall", np.array([one.wall for one in every])),
        ("process", np.array([one.cpu for one in every])),
    ):
        target = " (target p95 under 3 s)" if what == "wall" else ""
        p50, p95 = np.quantile(values, [0.5, 0.95])
        yield (
            f"a plan made again, {what} time{target}",
            f"p50 {p50:.2f} s, p95 {p95:.2f} s, max {values.max():.2f} s of {len(values)} calls",
        )
    moved = np.array([one.moved for one in every])
    yield (
        "steps moved per plan made again",
        f"mean {moved.mean():.1f}, median {np.median(moved):.0f}, most {moved.max()}",
    )
    yield "plans made again that changed the order", f"{np.mean([o.reordered for o in every]):.0%}"
    told = np.array([sum(len(one.lines) for one in day) for day in asked])
    yield "lines told per day", f"mean {told.mean():.1f}, most {told.max()}"
