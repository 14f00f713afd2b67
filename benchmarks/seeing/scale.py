"""How well a coat is told by the studio's own scale, beside the model alone."""

import numpy as np

from argentry.judge.coat import Look, band_colours, see_coat
from argentry.physics.coat import colour, interlayer
from benchmarks.seeing.scene import LIGHTS, scene

BANDS = (8.0, 13.0, 18.0, 23.0, 28.0, 34.0, 41.0, 50.0)
DRIFT = 0.05  # of the seconds of a band: its coat is known no better
FIGURE = "90 % within {p90:.1f} nm, 95 % {p95:.1f} of {count}; by the model {a90:.1f}, {a95:.1f}"


def ends_of(corners, count):
    """Return the middles of the first band and the last."""
    left, right = ((corners[a] + corners[b]) / 2 for a, b in ((0, 3), (1, 2)))
    first, last = (left + (right - left) * at for at in (0.5 / count, 1 - 0.5 / count))
    return *first, *last


def scale_of(seed, light):
    """Return a scale as a maker reads it, its bands fumed by the clock; None where none is read."""
    true = np.array(BANDS) * np.exp(np.random.default_rng([seed, 11]).normal(0, DRIFT, len(BANDS)))
    truth, _ = scene(seed, light=light, bands=tuple(true))
    found = band_colours(truth.picture, ends_of(truth.corners, len(BANDS)), len(BANDS), "bottom")
    return None if isinstance(found, str) else np.column_stack([BANDS, found[0]])


def figures(count, first, light="tungsten"):
    """Return errors of the mean by the scale and by the model, of coats within its bands. [nm]."""
    by_scale, alone = [], []
    for seed in range(first, first + count):
        truth, _ = scene(seed, light=light)
        scale = scale_of(seed, light)
        if scale is None or not BANDS[0] <= truth.mean <= BANDS[-1]:
            continue
        lights = {light: colour.light(LIGHTS[light])}
        for own, into in ((scale, by_scale), (None, alone)):
            look = Look(lights, interlayer.likely(), truth.bare, truth.expected, scale=own)
            seen = see_coat(truth.picture, look)
            if seen.coats:
                into.append(abs(seen.coats[0].thickness_nm - truth.mean))
    return by_scale, alone


def run(draws=20, first=66000):
    by_scale, alone = figures(draws, first)
    (p90, p95), (a90, a95) = (np.quantile(one, (0.9, 0.95)) for one in (by_scale, alone))
    yield (
        "own scale, tungsten",
        FIGURE.format(p90=p90, p95=p95, a90=a90, a95=a95, count=len(by_scale)),
    )
