"""Is the main cause found? Simulated studios whose causes are hidden from the model."""

from __future__ import annotations

import sys
import time
from collections import Counter
from itertools import pairwise

import numpy as np

from argentry.learn.causes.plate_causes import studio_past, why_plate
from argentry.learn.causes.studio_causes import stage_views, why_studio
from argentry.learn.stages.table import succeeded
from benchmarks.studios import DRIVERS, simulate_studio

SIZES = (30, 60, 100, 250)
WANTED = {30: 75, 60: 90, 100: 97, 250: 99}  # per cent
STUDIOS = 200
BINS = (0.0, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0)
HARDER = {
    "no looks written down": {"looks": 0.0},
    "a quarter booked on a wrong stage": {"wrong_stage": 0.25},
    "half of the readings missing": {"missing": 0.5},
    "half the effect": {"effect": 0.4},
}


def found(studios: int, plates: int, seed: int, **how) -> Counter:
    """Return how often the main cause came first, among the first three, and was named."""
    rng = np.random.default_rng([seed, plates])
    out: Counter = Counter()
    for _ in range(studios):
        makings, truth = simulate_studio(rng, plates, **how)
        told = why_studio(makings, charts=False)
        keys = [cause.cause for cause in told.causes]
        named = [cause.cause for cause in told.causes if cause.named]
        out["first"] += keys[:1] == [truth.main]
        out["three"] += truth.main in keys[:3]
        out["named"] += truth.main in named
        out["false"] += bool(set(named) - {truth.main, *truth.minor})
        out["over half"] += any(c.probability > 0.5 and c.conditions for c in told.causes)
    return out


def plates_judged(studios: int, plates: int, seed: int) -> tuple[Counter, np.ndarray]:
    """Return how often one plate's cause was found, and (said, true) of every cause listed."""
    rng = np.random.default_rng([seed, plates])
    out: Counter = Counter()
    said = []
    for _ in range(studios):
        makings, truth = simulate_studio(rng, plates)
        past = studio_past(makings)
        for making, causes in zip(makings, truth.causes_of, strict=True):
            if succeeded(making) is not False:
                continue
            told = [
                (c.cause, c.probability) for c in why_plate(makings, making.id, past=past).causes
            ]
            said += [(probability, cause in causes) for cause, probability in told]
            if causes[0] in DRIVERS:
                keys = [cause for cause, _ in told]
                out["plates"] += 1
                out["first"] += keys[:1] == [causes[0]]
                out["three"] += causes[0] in keys[:3]
    return out, np.array(said, dtype=float)


def run(studios: int = STUDIOS) -> list[tuple[str, str]]:
    """Return what was found over `studios` studios of each size."""
    rows = []
    for plates in SIZES:
        start = time.perf_counter()
        got = found(studios, plates, 1)
        each = (time.perf_counter() - start) / studios
        first, three, named, false = (
            f"{100 * got[k] / studios:.1f} %" for k in ("first", "three", "named", "false")
        )
        head = f"{plates} plates"
        rows.append((f"{head}: main cause first", f"{first} (wanted {WANTED[plates]} %)"))
        wanted = " (wanted 90 %)" if plates == 30 else ""
        rows.append((f"{head}: main cause among the first three", three + wanted))
        rows.append((f"{head}: main cause named; one named that is none", f"{named}; {false}"))
        rows.append((f"{head}: seconds a studio, simulation included", f"{each:.2f}"))
    for plates in SIZES:
        got = found(studios, plates, 2, main_cause=None, causes=False)
        false, over = (f"{100 * got[k] / studios:.1f} %" for k in ("false", "over half"))
        rows.append((f"{plates} plates, no cause at all: one named", f"{false} (wanted < 10 %)"))
        rows.append((f"{plates} plates, no cause at all: one over a half, named or not", over))
    half = max(studios // 2, 1)
    for words, how in HARDER.items():
        for plates in (30, 100):
            got = found(half, plates, 3, **how)
            first, three = (f"{100 * got[k] / half:.1f} %" for k in ("first", "three"))
            rows.append((f"{plates} plates, {words}: first; in three", f"{first}; {three}"))
    return rows + _plate_rows(max(studios // 5, 1)) + [_speed()]


def _plate_rows(studios: int) -> list[tuple[str, str]]:
    rows = []
    for plates in (30, 100):
        got, said = plates_judged(studios, plates, 4)
        first, three = (f"{100 * got[k] / max(got['plates'], 1):.1f} %" for k in ("first", "three"))
        rows.append(
            (f"one failed plate of {plates}: its cause first; in three", f"{first}; {three}")
        )
        for low, high in pairwise(BINS):
            here = said[(said[:, 0] >= low) & (said[:, 0] < high)]
            if len(here):
                what = f"  causes said {low:.0%} to {high:.0%} ({len(here)}): said; true"
                rows.append((what, f"{here[:, 0].mean():.3f}; {here[:, 1].mean():.3f}"))
    return rows


def _speed() -> tuple[str, str]:
    makings, _ = simulate_studio(np.random.default_rng(5), 200)
    times = []
    for _ in range(5):
        start = time.perf_counter()
        stage_views(makings)
        times.append(time.perf_counter() - start)
    return "200 plates, five stages weighed, median of five", f"{np.median(times):.2f} s"


if __name__ == "__main__":
    for what, figure in run(int(sys.argv[1]) if len(sys.argv) > 1 else STUDIOS):
        print(f"  {what:<66} {figure}")
