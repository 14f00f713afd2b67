"""How well a step wedge is read: speed point, gradient, latitude, peak and turn."""

import io

import numpy as np
from PIL import Image

from argentry.judge.wedge import WedgeLook, see_wedge
from benchmarks.seeing.wedge_scene import GREYS, other_wedge_scene, wedge_scene

GOALS = {"speed point": 0.08, "steepest": 0.12, "latitude": 0.15, "peak": 0.08}
FOUND = "{share:.2f} of {count}; 90 % off by {p90:.3f}; 80 % range holds {held:.2f}"


def seen_of(content, truth):
    picture = np.asarray(Image.open(io.BytesIO(content)))
    ends = truth.ends if truth.brightest == "left" else (*truth.ends[2:], *truth.ends[:2])
    look = WedgeLook(truth.steps, truth.increment, truth.first, ends, truth.grey, GREYS)
    return see_wedge(picture, look)


def figures(make, count, first=0):
    """Yield what was asked and how well it was told, for `count` pictures of one generator."""
    off = {what: [] for what in GOALS}
    turns, held, told = [], {what: [] for what in GOALS}, 0
    for seed in range(first, first + count):
        content, truth = make(seed)
        seen = seen_of(content, truth)
        if seen.curve is None:
            continue
        told += 1
        turns.append(seen.curve.turns == truth.turns)
        got = {
            "speed point": (seen.curve.speed_point, truth.speed_point),
            "steepest": (seen.curve.steepest, truth.steepest),
            "latitude": (seen.curve.latitude, truth.latitude),
            "peak": (seen.curve.peak, truth.peak),
        }
        for what, (figure, right) in got.items():
            if (
                right is None
                or not np.isfinite(figure.value)
                or (what == "peak" and not seen.curve.turns)
            ):
                continue
            miss = figure.value - right
            off[what].append(abs(miss / right) if what == "steepest" else abs(miss))
            held[what].append(abs(miss) <= 1.2816 * figure.sd)
    yield "wedges told", f"{told} of {count}"
    for what, goal in GOALS.items():
        if off[what]:
            values = np.array(off[what])
            yield (
                f"wedge: {what} within {goal:g}",
                FOUND.format(
                    share=np.mean(values <= goal), count=values.size,
                    p90=np.quantile(values, 0.9), held=np.mean(held[what]),
                ),
            )  # fmt: skip
    yield "wedge: turn told rightly", f"{np.mean(turns):.2f} of {len(turns)}"


def run(draws=40):
    yield from figures(wedge_scene, draws, 500)
    for what, figure in figures(other_wedge_scene, draws, 500):
        yield f"second generator, {what}", figure
