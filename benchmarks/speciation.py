"""A thousand fixing baths beside a general solver on the full mass balance, in one run."""

from __future__ import annotations

import time

import numpy as np
from scipy.optimize import root

from argentry.physics.baths.speciation import complexes, speciation

BATHS, CALLS = 1000, 200


def _baths() -> np.ndarray:
    rng = np.random.default_rng(1)
    hypo = 10.0 ** rng.uniform(-2.0, 0.3, BATHS)
    silver = hypo * 10.0 ** rng.uniform(-5.0, -0.5, BATHS)
    return np.stack([silver, hypo, silver * 10.0 ** rng.uniform(-1.0, 1.0, BATHS)])


def _reference(totals: np.ndarray) -> tuple[float, float, int]:
    """Return seconds for all baths, the largest difference, and how many it did not solve."""
    holds, ln_beta = complexes()
    ours = speciation(*totals[:, :CALLS])

    def residuals(logs: np.ndarray, total: np.ndarray) -> np.ndarray:
        free, bound = logs[:3], logs[3:]
        amounts = np.exp(free) + holds.T @ np.exp(bound)
        return np.concatenate([np.log(amounts / total), bound - ln_beta - holds @ free])

    found = []
    start = time.perf_counter()
    for total in totals[:, :CALLS].T:
        free = np.log(total)
        free[0] -= 25.0
        first = np.concatenate([free, ln_beta + holds @ free])
        found.append(root(residuals, first, args=(total,), options={"maxfev": 20000}))
    seconds = (time.perf_counter() - start) * BATHS / CALLS
    off = 0.0
    for i, one in enumerate(found):
        if one.success:
            got = np.array([ours.silver[i], ours.thiosulfate[i], ours.iodide[i]])
            off = max(off, float(np.abs(got / np.exp(one.x[:3]) - 1.0).max()))
    return seconds, off, sum(not one.success for one in found)


def run() -> list[tuple[str, str]]:
    """Return what was measured, each figure beside its reference from this run."""
    totals = _baths()
    times = []
    for _ in range(15):
        start = time.perf_counter()
        speciation(*totals)
        times.append(time.perf_counter() - start)
    ours = float(np.median(times))
    theirs, off, unsolved = _reference(totals)
    return [
        ("1,000 baths, median of 15 (ms)", f"{ours * 1e3:.2f}"),
        ("1,000 baths by the general solver (ms)", f"{theirs * 1e3:.0f}"),
        ("times as fast", f"{theirs / ours:.0f}"),
        ("largest difference of a free ion (share)", f"{off:.1e}"),
        (f"not solved by the general solver, of {CALLS}", f"{unsolved}"),
    ]
