"""Development in the sun, 100 plates, no file: each part of the doubt scored alone.

`python -m benchmarks.coverage.parts [--studios N] [--seed S]`. What was said of a plate misses by
the plate's own stops and by all else (light, dose); the truth tells the two apart. "All else" is
compared as it lies between studios and between the questions of one. And the ranges are asked of
three minutes: the plate's own ripe one, the one at which its maker's eye calls it ripe, and that of
the plates which came out well, as only these are taken for exact ends when a studio's plates are
read.
"""

from __future__ import annotations

import argparse
from math import log2
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

import argentry
from argentry.needs.doubt.compose import NOISE
from benchmarks.coverage import ask, book, truth

STUDIOS, SEED = 60, 1901
READINGS = ("the plate's own", "the eye's", "the eye's, of plates that came out well")


def of_studio(rng, number, tallies):
    """Ask ten questions; return of each (own stops, all else missed, said of the two). [stops]"""
    studio = truth.draw_studio(rng)
    with TemporaryDirectory() as folder:
        book.write(rng, studio, Path(folder) / "studio")
        known = {"studio": argentry.load_studio(Path(folder) / "studio")}
        known["plates"] = argentry.load_plates(studio=Path(folder) / "studio")
    found = []
    for _ in range(ask.QUESTIONS):
        number_of_day, begin = ask.begin_of(rng, studio, 12.0)
        light = truth.red_light(
            truth.draw_day(rng, studio, number_of_day, covered=False), covered=False
        )
        own = truth.mixed(rng, truth.DEVELOP_PLATE, truth.DEVELOP_ASTRAY)
        told = argentry.develop(book.at(number_of_day, begin), **known)
        eyes = book.late_by(rng), book.late_by(rng, well=True)
        for reading, late in zip(READINGS, (0.0, *eyes), strict=True):
            true = truth.develop_minutes(studio, own + late, light, begin)
            tallies[reading].add(number, true, told.minutes, *told.minutes_80)
        if told.minutes:
            got = np.interp(
                told.minutes, np.arange(light.size - begin + 1), np.cumsum([0.0, *light[begin:]])
            )
            each = next(p.sigma_stops for p in told.doubt.parts if p.cause == NOISE)
            rest = np.sqrt(told.doubt.sigma_stops**2 - each**2)
            found.append((own, log2(studio.develop_min / got), each, rest))
    return found


def rows(studios, seed):
    """Yield (what, found)."""
    tallies = {reading: ask.Tally() for reading in READINGS}
    rng = np.random.default_rng(seed)
    found = [of_studio(rng, number, tallies) for number in range(studios)]
    own, rest, said, said_rest = np.concatenate(found).T
    yield "plate to plate: said, true [stops]", f"{said.mean():.3f}, {own.std():.3f}"
    rest_of = [np.array(one)[:, 1] for one in found if len(one) > 1]
    within = np.sqrt(np.mean([one.var(ddof=1) for one in rest_of]))
    between = np.std([one.mean() for one in rest_of])
    yield "light and dose: said, true [stops]", f"{said_rest.mean():.3f}, {rest.std():.3f}"
    yield "of that within a studio, between studios", f"{within:.3f}, {between:.3f}"
    for reading, tally in tallies.items():
        yield reading, tally.told()


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.coverage.parts")
    parser.add_argument("--studios", type=int, default=STUDIOS)
    parser.add_argument("--seed", type=int, default=SEED)
    given = parser.parse_args()
    for what, figure in rows(given.studios, given.seed):
        print(f"  {what:<44} {figure}", flush=True)


if __name__ == "__main__":
    main()
