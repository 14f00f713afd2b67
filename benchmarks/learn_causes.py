"""Is the main cause found? Simulated studios whose causes are hidden from the model."""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np

from argentry.learn.causes import why_studio
from benchmarks.studios import simulate_studio

SIZES = (30, 60, 100, 250)
WANTED = {30: 0.75, 60: 0.90, 100: 0.97, 250: 0.99}
STUDIOS = 200


def found(studios: int, plates: int, seed: int, **how) -> Counter:
    """Return how often the main cause came first, among the first three, and was named."""
    rng = np.random.default_rng([seed, plates])
    out: Counter = Counter()
    for _ in range(studios):
        outcomes, truth = simulate_studio(rng, plates, **how)
        told = why_studio(outcomes, charts=False, draws=20)
        keys = [cause.cause for cause in told.causes]
        named = [cause.cause for cause in told.causes if cause.named]
        out["first"] += keys[:1] == [truth.main]
        out["three"] += truth.main in keys[:3]
        out["named"] += truth.main in named
        out["false"] += bool(set(named) - {truth.main, *truth.minor})
        out["over half"] += any(c.probability > 0.5 and c.conditions for c in told.causes)
    return out


def run(studios: int = STUDIOS) -> list[tuple[str, str]]:
    """Return what was found over `studios` studios of each size."""
    rows = []

    def share(count: int) -> str:
        return f"{100 * count / studios:.1f} %"

    for plates in SIZES:
        start = time.perf_counter()
        got = found(studios, plates, 1)
        each = (time.perf_counter() - start) / studios
        rows += [
            (f"{plates} plates: main cause first", f"{share(got['first'])} (wanted "
             f"{100 * WANTED[plates]:.0f} %)"),
            (f"{plates} plates: main cause among the first three", share(got["three"])),
            (f"{plates} plates: main cause named; another one named", f"{share(got['named'])}; "
             f"{share(got['false'])}"),
            (f"{plates} plates: seconds a studio, simulation included", f"{each:.2f}"),
        ]  # fmt: skip
    for plates in SIZES:
        got = found(studios, plates, 2, main_cause=None, causes=False)
        rows.append(
            (f"{plates} plates, no cause at all: one named (wanted under 10 %); over a half "
             "whether named or not", f"{share(got['false'])}; {share(got['over half'])}")
        )  # fmt: skip
    for words, how in {
        "no looks written down": {"looks": 0.0},
        "a quarter booked on a wrong stage": {"wrong_stage": 0.25},
        "half of the readings missing": {"missing": 0.5},
        "half the effect": {"effect": 0.4},
    }.items():
        for plates in (30, 100):
            got = found(max(studios // 2, 1), plates, 3, **how)
            half = max(studios // 2, 1)
            rows.append(
                (f"{plates} plates, {words}: first; among three",
                 f"{100 * got['first'] / half:.1f} %; {100 * got['three'] / half:.1f} %")
            )  # fmt: skip
    return rows


if __name__ == "__main__":
    for what, figure in run(int(sys.argv[1]) if len(sys.argv) > 1 else STUDIOS):
        print(f"  {what:<66} {figure}")
