"""A million reflectances of coats beside the scalar transfer-matrix library, in one run."""

from __future__ import annotations

import time
import tracemalloc

import numpy as np
import tmm

from argentry.physics.coat import film
from argentry.physics.coat.interlayer import interlayer
from argentry.physics.coat.silver_iodide import mixed_index, silver_index, silver_iodide_index

WAVELENGTH = np.linspace(380.0, 780.0, 400)
THICKNESS = np.linspace(0.0, 250.0, 2500)
CALLS = 2000  # of the scalar library; its cost per call does not depend on the values


def _ours() -> tuple[float, float]:
    film.reflectance(WAVELENGTH[:2], THICKNESS[:2])  # tables read once
    times = []
    for _ in range(7):
        start = time.perf_counter()
        film.reflectance(WAVELENGTH, THICKNESS)
        times.append(time.perf_counter() - start)
    tracemalloc.start()
    film.reflectance(WAVELENGTH, THICKNESS)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return float(np.median(times)), peak / 1e6


def _reference() -> tuple[float, float]:
    rng = np.random.default_rng(1)
    rows = rng.integers(0, THICKNESS.size, CALLS)
    columns = rng.integers(0, WAVELENGTH.size, CALLS)
    iodide, silver = silver_iodide_index(WAVELENGTH), silver_index(WAVELENGTH)
    mixed = mixed_index(silver, iodide, 0.5)
    layer = interlayer(12.0, 0.5)
    grown = layer.under(THICKNESS)
    cases = [
        (
            [1.0, complex(iodide[j]), complex(mixed[j]), complex(silver[j])],
            [np.inf, float(THICKNESS[i]), float(grown[i]), np.inf],
            float(WAVELENGTH[j]),
        )
        for i, j in zip(rows, columns, strict=True)
    ]
    start = time.perf_counter()
    want = [tmm.coh_tmm("s", index, depth, 0.0, w)["R"] for index, depth, w in cases]
    seconds = time.perf_counter() - start
    got = film.reflectance(WAVELENGTH, THICKNESS, layer=layer)[rows, columns]
    return seconds * 1e6 / CALLS, float(np.abs(got - want).max())


def run() -> list[tuple[str, str]]:
    """Return what was measured, each figure beside its reference from this run."""
    seconds, peak = _ours()
    reference, off = _reference()
    return [
        ("1,000,000 reflectances with interlayer", f"{seconds:.3f} s, peak {peak:.0f} MB"),
        (f"the same by the scalar library tmm (from {CALLS} calls)", f"{reference:.0f} s"),
        ("times faster (at least 300 asked)", f"{reference / seconds:.0f}"),
        ("largest difference (1e-6 asked)", f"{off:.0e}"),
    ]


if __name__ == "__main__":
    for what, figure in run():
        print(f"{what:60s} {figure}")
