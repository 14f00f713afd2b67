"""The judging runs: each yields rows of what was judged and the figure."""

from __future__ import annotations

import itertools
import traceback
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from argentry.errors import ArgentryError
from argentry.plan.check import faults
from benchmarks.plan_judge import days, maker, truth

FIRST = 0  # number of the first seeded day
DRAWN, SEARCHED = 300, 12  # days behind a figure, and behind a first look at many orders


class Played:
    """A sheet played on the same drawn days as every other sheet of that day."""

    def __init__(self, judged, sheet, draws):
        self.runs = [maker.play(judged.setting, draw, sheet) for draw in draws]
        last = judged.setting.last
        self.good = np.array([run.good(last) for run in self.runs]).reshape(len(draws), -1)
        self.planned = len(sheet.order) - (sheet.further is not None)

    @property
    def plates(self):
        return float(self.good.sum(axis=1).mean()) if self.good.size else 0.0

    @property
    def all_done(self):
        return float(self.good[:, : self.planned].all(axis=1).mean()) if self.good.size else 0.0

    @property
    def starts(self):
        return np.array([run.starts for run in self.runs])


def drawn(judged, plates, number=DRAWN, seed=1, day=None):
    day = judged.question if day is None else day
    return [
        truth.draw(judged.setting, day, judged.camera, plates, np.random.default_rng([seed, k]))
        for k in range(number)
    ]


@lru_cache(maxsize=128)
def as_planned(judged, number=DRAWN):
    plan = judged.planned
    if not plan.placed:
        return None
    sheet = maker.as_printed(plan)
    return Played(judged, sheet, drawn(judged, len(sheet.order), number))


def planned_days(count):
    """Yield (number, judged day or None, what went wrong)."""
    for number in range(FIRST, FIRST + count):
        try:
            yield number, days.seeded(number), ""
        except ArgentryError as error:
            yield number, None, f"refused: {error}"
        except Exception:  # noqa: BLE001 - the judge tells of a traceback and goes on
            yield number, None, traceback.format_exc().strip().splitlines()[-1]


def sound(count):
    """Nothing is found by the checker."""
    broken, failed, placed, lacking = [], [], 0, 0
    for number, judged, error in planned_days(count):
        if judged is None:
            failed.append(f"day {number}: {error}")
            continue
        plan = judged.planned
        placed += plan.placed
        lacking += plan.placed < judged.question.plates
        found = faults(judged.question, plan.blocks, plan.starts, plan.ends, plan.frame_kind)
        if found:
            broken.append(f"day {judged.name}: {len(found)} faults, {found[0]}")
    yield f"{count} seeded days: plans with a fault (target 0)", str(len(broken))
    yield f"{count} seeded days: no plan but an error (target 0)", str(len(failed))
    yield "plates placed in all; days that hold fewer than asked", f"{placed}; {lacking}"
    for line in broken + failed:
        yield "  fault", line


def odds(count):
    """The printed chance that all finish against the second simulation."""
    off, shares = [], []
    for _, judged, _ in planned_days(count):
        played = judged and as_planned(judged)
        if played is None:
            continue
        off.append(judged.sheet.all_finished_share - played.all_done)
        shares.append(played.all_done)
    off, shares = 100.0 * np.array(off), np.array(shares)
    yield (
        "printed chance that all finish, less that of the second simulation",
        (
            f"mean {off.mean():+.0f} points, middle 80 % {np.quantile(off, 0.1):+.0f} to "
            f"{np.quantile(off, 0.9):+.0f}, worst {off[np.argmax(np.abs(off))]:+.0f}; "
            f"within 5 points on {(np.abs(off) <= 5).sum()} of {len(off)} days"
        ),
    )
    yield (
        "days on which at least 80 % finish all, by the second simulation",
        f"{(shares >= 0.8).sum()} of {len(shares)}",
    )


def itself(count):
    """Hands, camera, frames and order of the days that the judge played: its own faults."""
    broken = played_days = plates = lost = 0
    for _, judged, _ in planned_days(count):
        played = judged and as_planned(judged)
        if played and judged.question.light.expected is None:
            placed = judged.planned.placed
            draw = truth.as_expected(judged.setting, judged.question, placed)
            usual = Played(judged, maker.by_plan(judged.planned.starts), [draw])
            plates, lost = plates + placed, lost + placed - usual.good.sum()
        for run in played.runs if played else ():
            played_days += 1
            broken += not _possible(judged.setting, run)
    yield (
        "days played by the judge that no maker could have had (target 0)",
        f"{broken} of {played_days}",
    )
    yield (
        "plates of a plan lost by the judge when all takes as long as expected (target 0)",
        f"{lost} of {plates}",
    )


def _possible(s, run):
    ends = np.where(np.isnan(run.ends), 1e9, run.ends)
    begun = np.isfinite(run.starts)
    hands, frames, rooms = [], [], {}
    for plate, index in np.argwhere(begun).tolist():
        span, work = (run.starts[plate, index], ends[plate, index]), s.works[index]
        if index and span[0] < ends[plate, index - 1] - 1e-6:
            return False
        if work.attended:
            hands.append(span)
        if work.kind == "exposure":
            rooms.setdefault("camera", []).append(span)
        if index == s.take:
            out = run.starts[plate, s.free] if begun[plate, s.free] else 1e9
            frames.append((span[0], out))
    spans = [(hands, s.workers), (frames, sum(s.frames))]
    spans += [(held, 1) for held in rooms.values()]
    return all(
        sum(low <= at + 1e-6 < high for low, high in held) <= most
        for held, most in spans
        for at, _ in held
    )


def thumb(count):
    """Good plates of the plan against four rules of thumb."""
    lost, rows, total, best_total = [], [], 0.0, 0.0
    for _, judged, _ in planned_days(count):
        if judged is None:
            continue
        asked = judged.question.plates
        draws = drawn(judged, asked)
        plan, own = judged.planned, 0.0
        if plan.placed:
            own = as_planned(judged).plates
        rules = {
            name: Played(judged, sheet, draws).plates
            for name, sheet in maker.by_thumb(judged.setting, asked).items()
        }
        best = max(rules, key=rules.get)
        total, best_total = total + own, best_total + rules[best]
        if rules[best] > 0.05:
            lost.append(100.0 * (1.0 - own / rules[best]))
            rows.append((lost[-1], f"{judged.name}: {own:.2f} against {rules[best]:.2f} ({best})"))
    lost = np.array(lost)
    yield (
        "good plates of the plan against the best of four rules of thumb",
        f"{total:.1f} against {best_total:.1f} on {len(lost)} days with light",
    )
    yield (
        "days on which the plan is worse by more than 2 % (target 0)",
        f"{(lost > 2.0).sum()}, worst {lost.max(initial=0.0):.0f} % fewer",
    )
    for _, line in sorted(rows, reverse=True)[:5]:
        yield "  largest shortfalls", line


def searched(count):
    """Good plates of the plan for two plates against a search through orders and starts."""
    two = [days.named(0), days.named(1)]
    for _, judged, _ in planned_days(count):
        if judged is not None and judged.question.plates == 2 and judged.planned.placed:
            two.append(judged)
    lost = []
    for judged in two[:6]:
        sheets = list(_every_order(judged.setting))
        first = drawn(judged, 2, SEARCHED, seed=2)
        # days on which the light fails all the same tell nothing; ties are broken on fresh days
        tried = sorted(sheets, key=lambda s: -Played(judged, s, first).plates)[:30]
        second = drawn(judged, 2, 60, seed=3)
        tried = sorted(tried, key=lambda s: -Played(judged, s, second).plates)[:3]
        fresh = drawn(judged, 2)
        best = max(Played(judged, s, fresh).plates for s in tried)
        own = as_planned(judged).plates
        lost.append(100.0 * (1.0 - own / best) if best else 0.0)
        yield (
            f"two plates, {len(sheets)} orders and starts searched, {judged.name}",
            f"plan {own:.2f}, best found {best:.2f} good plates",
        )
    yield "worst shortfall against the search (target 2 %)", f"{max(lost, default=0.0):.0f} %"


def _every_order(setting):
    """Every order of two plates' parts, at starts on a coarse grid."""
    attended = [i for i, w in enumerate(setting.works) if w.attended]
    parts = [[i for i in attended if i < setting.exposing]]
    parts.append([i for i in attended if setting.exposing <= i < setting.free])
    after = [i for i in attended if i >= setting.free]
    parts += [after[:-2], after[-2:-1], after[-1:]]
    orders = []
    for chosen in itertools.combinations(range(2 * len(parts)), len(parts)):
        if chosen[0] != 0:  # plates are alike: the first is the one that is begun first
            continue
        order = np.zeros((2, len(setting.works)))
        done = [0, 0]
        for place in range(2 * len(parts)):
            plate = 0 if place in chosen else 1
            for work in parts[done[plate]]:
                order[plate, work] = place + 0.01 * work
            done[plate] += 1
        orders.append(order)
    fits = np.flatnonzero(setting.straight[0] <= setting.last)
    if not fits.size:
        return
    grid = np.linspace(setting.first, max(float(fits[-1]), setting.first), 9)
    for one, other in itertools.combinations_with_replacement(grid, 2):
        for order in orders:
            yield maker.Sheet(order, np.array([one, other]), 2)


def named():
    """Three days that a plan must hold, and whether coat and image wait near their limits."""
    for which, (name, *_, target) in enumerate(days.NAMED):
        judged = days.named(which)
        played = as_planned(judged, 1000)
        yield (
            f"{name}: all finished (target {100 * target:.0f} %)",
            (
                f"{100 * played.all_done:.1f} %; printed "
                f"{100 * judged.sheet.all_finished_share:.1f} %; "
                f"{judged.planned.placed} placed; {_waits(judged, played)}"
            ),
        )
    for which, (name, *_) in enumerate(days.NAMED):
        judged = days.named(which, learned=False)
        played = as_planned(judged, 1000)
        yield (
            f"new studio, {name}: printed odds within 5 points",
            (
                f"printed {100 * judged.sheet.all_finished_share:.0f} %, second simulation "
                f"{100 * played.all_done:.0f} %"
            ),
        )


def _waits(judged, played):
    said = []
    s = judged.setting
    ends = np.array([run.ends for run in played.runs])
    for what, index in (("coat", s.exposing), ("image", s.take)):
        limit = s.works[index].within
        if limit is None:
            continue
        waited = (played.starts[:, :, index] - ends[:, :, index - 1]).ravel()
        share = np.quantile(waited[np.isfinite(waited)] / limit, 0.9)
        said.append(f"{what} waits {100 * share:.0f} % of its limit")
    return ", ".join(said) + " on the 90th day of 100"


@dataclass(frozen=True)
class Held:
    name: str
    loss: float  # points that the chance falls
    later: float  # the same half an hour later still


def latest(count, how_many=100, number=400):
    """Latest starts: held back to them, the chance that all finish falls by at most ten points."""
    choices, bound_or_none = [], 0
    judged_days = [j for _, j, _ in planned_days(count) if j is not None and j.planned.placed]
    judged_days += [days.named(which) for which in range(3)]
    for judged in judged_days:
        plan = judged.planned
        for plate, index in np.ndindex(plan.latest.shape):
            if not plan.blocks[index].attended:
                continue
            if np.isfinite(plan.latest[plate, index]):
                choices.append((judged, plate, index))
            else:
                bound_or_none += 1
    rng = np.random.default_rng(4)
    picked = rng.permutation(len(choices))[:how_many]
    found = []
    for pick in sorted(picked.tolist()):
        judged, plate, index = choices[pick]
        found.append(_held(judged, plate, index, number))
    loss, later = (np.array([getattr(h, n) for h in found]) for n in ("loss", "later"))
    yield (
        f"{len(found)} latest starts drawn of {len(choices)} ({bound_or_none} rows without one)",
        f"{(loss <= 13.0).mean():.0%} keep the promise within 3 points (target 90 %)",
    )
    yield "the most that the chance falls (target at most 20 points)", f"{loss.max():.0f} points"
    yield (
        "half an hour later the chance falls by more than 10 points (target at least 50 %)",
        f"{(later > 10.0).mean():.0%}",
    )
    for one in sorted(found, key=lambda h: -h.loss)[:5]:
        yield "  largest falls", f"{one.name}: {one.loss:.0f}, half an hour later {one.later:.0f}"


def _held(judged, plate, index, number):
    plan = judged.planned
    base = as_planned(judged, number)
    draws = drawn(judged, plan.placed, number)
    sheet = maker.by_plan(plan.starts)
    minute = float(plan.latest[plate, index])
    fall = [
        100.0
        * (
            base.all_done
            - Played(judged, replace(sheet, held=(plate, index, minute + more)), draws).all_done
        )
        for more in (0.0, 30.0)
    ]
    key = plan.blocks[index].tasks[0].key
    slack = minute - plan.starts[plate, index]
    return Held(f"{judged.name}: plate {plate + 1} {key}, float {slack:.0f} min", *fall)


def speed(count):
    """Seconds of planning, as times of importing what any planner of this size must import."""
    import subprocess
    import sys
    import time

    libraries = "import numpy; from ortools.sat.python import cp_model"
    imports = []
    for _ in range(3):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", libraries], check=True)
        imports.append(time.perf_counter() - began)
    bare = sorted(imports)[1]
    took = np.array([judged.seconds for _, judged, _ in planned_days(count) if judged is not None])
    yield (
        "planning a seeded day, against the bare imports",
        (
            f"median {np.median(took):.2f} s ({np.median(took) / bare:.1f} times {bare:.2f} s), "
            f"slowest {took.max():.2f} s ({took.max() / bare:.1f} times)"
        ),
    )
