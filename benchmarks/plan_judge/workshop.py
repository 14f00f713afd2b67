"""Workshop days: twelve plates, four pairs of hands, several boxes, cameras and frames.

The gap is what lies between the earliest end that was found and the minute before which no plan
can end, as a share of the time from the first minute of the hours to the end that was found.
"""

from __future__ import annotations

import datetime as dt
import time
from dataclasses import replace

import numpy as np

from argentry.demo.studio import invented_studio
from argentry.records.studio import Hours, Site
from benchmarks.plan_judge import days

PLATES, WORKERS = 12, 4
GAP, SECONDS = 0.02, 10.0  # what a workshop is promised


def planned(number):
    """Return the workshop day of that number, planned, and the CPU seconds that took."""
    rng = np.random.default_rng([12, number])
    zone, longitude = days.ZONES[rng.integers(len(days.ZONES))]
    latitude = float(rng.uniform(35.0, 58.0))
    date = dt.date(2026, 4, 15) + dt.timedelta(days=int(rng.integers(120)))
    frames, boxes, cameras = (int(rng.integers(*span)) for span in ((5, 11), (2, 4), (2, 4)))
    begin, end = 5.0 + 0.5 * int(rng.integers(0, 4)), 21.0 + 0.5 * int(rng.integers(0, 3))
    noon = 12.0 + 0.25 * int(rng.integers(0, 5))
    usual = invented_studio(days.speed())
    studio = replace(
        usual,
        site=Site(
            f"Workshop {number} (invented)", latitude, longitude, 200.0, zone,
            haze_aod=float(rng.uniform(0.05, 0.3)),
        ),
        frames=(replace(usual.frames[0], count=frames),),
        boxes=(replace(usual.boxes[0], count=boxes),),
        lenses=(replace(usual.lenses[0], count=cameras),),
        hours=Hours(
            days.wall(begin), days.wall(end), ((days.wall(noon), days.wall(noon + 0.75)),),
            WORKERS,
        ),
    )  # fmt: skip
    name = (
        f"{number}: {date} {latitude:+.0f} {days.wall(begin)}-{days.wall(end)} {frames} frames "
        f"{boxes} boxes {cameras} cameras"
    )
    began = time.process_time()
    judged = days.plan_through_the_door(
        name, studio, date, plates=PLATES, weather=days.clear(studio, date)
    )
    return judged, time.process_time() - began


def gap(plan, first_minute):
    """Return how far the earliest end found lies above the bound [1]."""
    return (plan.earliest - plan.bound) / (plan.earliest - first_minute)


def rows(first, count):
    """Yield each day's end, bound, gap and time, then how many keep the promise."""
    gaps, times = [], []
    for number in range(first, first + count):
        judged, cpu = planned(number)
        plan = judged.planned
        if not plan.placed:
            yield judged.name, "no plan"
            continue
        gaps.append(gap(plan, judged.question.first_minute))
        times.append(judged.seconds)
        said = "proved" if plan.proved else f"bound {plan.bound:.0f}, gap {100 * gaps[-1]:.2f} %"
        yield (
            judged.name,
            f"end {plan.earliest:.0f} ({said}), {judged.seconds:.1f} s, {cpu:.1f} s of CPU",
        )
    widest = 100 * max(gaps, default=float("nan"))
    yield (
        f"{count} workshop days: gap over {100 * GAP:.0f} %, over {SECONDS:.0f} s (target 0, 0)",
        f"{sum(g > GAP for g in gaps)}, {sum(t > SECONDS for t in times)}; widest {widest:.2f} %",
    )
