"""How well two pictures of one plate are laid over each other, and what has changed is told."""

import io

import numpy as np
from PIL import Image

from argentry import trade
from argentry.judge.change import ChangeLook, see_change
from benchmarks.seeing.change_scene import FADING, KINDS, change_scene

KIND = "{right} of {count} told rightly"
AREAS = "{found} of {count} found; {vain:.2f} in vain a pair"
OFF = "{p50:.2f} px in the middle, 90 % {p90:.2f}, worst {worst:.2f}; {within} of {count} within 2"


def of(content):
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"))


def seen_of(first, second, truth):
    look = ChangeLook(truth.grey_before, truth.grey_after, truth.densities)
    return see_change(of(first), of(second), look)


def kind_of(seen):
    whole = seen.whole.delta_e >= trade.value("seeing", "whole_delta_e")
    return KINDS[whole + 2 * bool(seen.areas)]


def off_px(seen, truth):
    """Return how far places on the plate go wrong at most. [px of the picture after]."""
    far = np.c_[truth.inside, np.ones(len(truth.inside))] @ seen.turn.T
    return float(np.hypot(*(far[:, :2] / far[:, 2:] - truth.onto).T).max())


def matched(seen, truth):
    """Return how many areas were found, and how many of those told are none."""

    def near(one, area):
        return np.hypot(one.x - area[0], one.y - area[1]) < area[2] / 2 + 4

    found = sum(any(near(one, area) for one in seen.areas) for area in truth.areas)
    return found, sum(not any(near(one, area) for area in truth.areas) for one in seen.areas)


def figures(count, first, other):
    offs, found, there, vain = [], 0, 0, 0
    for kind in KINDS:
        right = 0
        for seed in range(first, first + count):
            one, two, truth = change_scene(seed, kind, other)
            seen = seen_of(one, two, truth)
            there += len(truth.areas)
            if seen.why:
                continue
            right += kind_of(seen) == kind
            offs.append(off_px(seen, truth))
            hits, more = matched(seen, truth)
            found, vain = found + hits, vain + more
        yield f"change: {kind}", KIND.format(right=right, count=count)
    pairs = len(KINDS) * count
    yield "change: areas of 2 to 9 mm", AREAS.format(found=found, count=there, vain=vain / pairs)
    values = np.array(offs)
    yield (
        "change: registration at the worst of 81 places",
        OFF.format(p50=np.median(values), p90=np.quantile(values, 0.9), worst=values.max(),
                   within=int((values <= 2.0).sum()), count=pairs),
    )  # fmt: skip


def fading(count, first, other):
    """Yield how many stains that fade slowly are found, and how much is told beside them."""
    found = vain = 0
    for seed in range(first, first + count):
        one, two, truth = change_scene(seed, FADING, other)
        hits, more = matched(seen_of(one, two, truth), truth)
        found, vain = found + hits, vain + more
    yield (
        "change: stains that fade over 5 to 12 mm",
        AREAS.format(found=found, count=count, vain=vain / count),
    )


def run(draws=10, first=700):
    for name, other in (("", False), ("other generator: ", True)):
        for what, found in figures(draws, first, other):
            yield name + what, found
        for what, found in fading(draws, first, other):
            yield name + what, found
