"""Run the measures over studios and set what was found beside what was asked."""

from __future__ import annotations

import inspect
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from benchmarks.families import STUDIOS
from benchmarks.families.forms import FAMILIES
from benchmarks.families.measures import MEASURES


@dataclass(frozen=True)
class Wanted:
    """What to run: left empty, everything."""

    families: tuple[str, ...] = ()
    sizes: tuple[int, ...] = ()
    measures: tuple[str, ...] = ()
    studios: int = STUDIOS
    processes: int = 1
    by_family: bool = False


def seeds(families, studios):
    """Return (family, seed) of so many studios, the families in turn."""
    return [(families[n % len(families)], n // len(families)) for n in range(studios)]


def one(task):
    measure, family, seed, plates = task
    return MEASURES[measure].of_studio(family, seed, plates)


def _results(wanted, tasks):
    if wanted.processes == 1:
        return map(one, tasks)
    pool = ProcessPoolExecutor(wanted.processes)
    return pool.map(one, tasks)


def _rows(measure, results, plates):
    rows = MEASURES[measure].rows
    by_size = "plates" in inspect.signature(rows).parameters
    return rows(results, plates) if by_size else rows(results)


def table(wanted: Wanted):
    """Yield (what, asked, found), measure by measure and size by size."""
    families = wanted.families or tuple(FAMILIES)
    for measure in wanted.measures or tuple(MEASURES):
        module = MEASURES[measure]
        own = getattr(module, "FAMILIES", None)
        taking = [f for f in families if own is None or f in own]
        if not taking:
            continue
        for plates in wanted.sizes or module.SIZES:
            if plates not in module.SIZES and not wanted.sizes:
                continue
            began = time.perf_counter()
            drawn = seeds(taking, wanted.studios)
            tasks = [(measure, family, seed, plates) for family, seed in drawn]
            results = list(_results(wanted, tasks))
            spent = time.perf_counter() - began
            for what, asked, found in _rows(measure, results, plates):
                yield f"{plates} plates: {what}", asked, found
            if wanted.by_family:
                for family in taking:
                    some = [r for r, (f, _) in zip(results, drawn, strict=True) if f == family]
                    for what, asked, found in _rows(measure, some, plates) if some else ():
                        yield f"{plates} plates, {family}: {what}", asked, found
            print(f"  [{measure}, {plates} plates: {spent:.0f} s]", file=sys.stderr, flush=True)


def as_markdown(rows):
    lines = ["| what | asked | found |", "|---|---|---|"]
    return "\n".join([*lines, *(f"| {what} | {asked} | {found} |" for what, asked, found in rows)])
