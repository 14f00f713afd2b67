"""How well a sharp picture is told from a soft one, and motion from what is not told."""

import numpy as np

from argentry.keeping.seeing.blur import blur_of
from benchmarks.seeing import plate_other
from benchmarks.seeing.plate import seen_of
from benchmarks.seeing.plate_scene import plate_scene

LINE = "sharp {sharp} of {count}, soft {soft} of {twice}; not told {none}"
MOTION = "{motion} of {count} moved ones named, {vain} of {count} out of focus"


def blurs(seed):
    """Return no blur, a focus that is off and a motion, of sizes that an eye sees. [px]."""
    rng = np.random.default_rng([seed, 99])
    focus = ("focus", rng.uniform(4, 14), 0.0)
    return None, focus, ("motion", rng.uniform(5, 20), rng.uniform(0, 180))


def figures(make, count, first):
    sharp, soft, none, motion, vain = 0, 0, 0, 0, 0
    for seed in range(first, first + count):
        for k, blur in enumerate(blurs(seed)):
            told, _ = blur_of(seen_of(*make(seed, blur=blur)), 1.0)
            if told is None:
                none += 1
                continue
            sharp += k == 0 and told.kind == "sharp"
            soft += k > 0 and told.kind != "sharp"
            motion += k == 2 and told.kind == "motion"
            vain += k == 1 and told.kind == "motion"
    said = LINE.format(sharp=sharp, soft=soft, none=none, count=count, twice=2 * count)
    yield "plate: sharp or soft", said
    yield "plate: motion", MOTION.format(motion=motion, vain=vain, count=count)


def run(draws=20, first=700):
    for name, make in (("", plate_scene), ("other generator: ", plate_other.plate_scene)):
        for what, found in figures(make, draws, first):
            yield name + what, found
