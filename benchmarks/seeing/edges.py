"""How well motion and focus are told by marked edges, how long a blur is and where it points."""

import io

import numpy as np
from PIL import Image

from argentry.judge.edge_blur import Curve, blur_of_edges
from argentry.judge.grey_scale import LUMINANCE, grey_scale
from argentry.judge.plate import PlateLook, see_plate
from argentry.physics.coat import colour
from benchmarks.seeing.blur import blurs
from benchmarks.seeing.edge_scene import edge_scene

KIND = "told {told} of {count}, right {right}"
SIZE = "told {told} of {count}, within 15 % {near}; in the middle {bias:+.1%}"
TURN = "told {told} of {count}, within 5 degrees {near}"


def seen_of(content, truth, lines, *curves):
    """Return what marked edges say with each of some curves of the plate."""
    picture = np.asarray(Image.open(io.BytesIO(content)).convert("RGB"))
    copy = see_plate(picture, PlateLook()).sharp
    luminance = colour.from_srgb_bytes(picture) @ LUMINANCE
    share = grey_scale(luminance, truth.grey, truth.densities).shares_of(luminance)
    known = [None if one is None else Curve(*one) for one in curves]
    return [blur_of_edges(share, lines, copy and copy.copy, one) for one in known]


def told_of(count, first, *, other):
    """Return each blur with what was seen of it, with the plate's curve and without."""
    found = []
    for seed in range(first, first + count):
        for blur in blurs(seed)[1:]:
            content, truth, lines, curve = edge_scene(seed, blur, other=other)
            if lines is not None:
                found.append((blur, *seen_of(content, truth, lines, curve, None)))
    return found


def figures(pairs):
    """Yield how well kind, length and direction are told of pairs of blur and what was seen."""
    told = [(blur, seen) for blur, seen in pairs if seen.kind in ("motion", "focus")]
    right = sum(seen.kind == blur[0] for blur, seen in told)
    yield "kind", KIND.format(told=len(told), count=len(pairs), right=right)
    sizes = np.array([
        (seen.length or seen.disc) / blur[1] - 1.0 if seen.kind == blur[0] else 9.0
        for blur, seen in told if seen.length or seen.disc
    ])  # fmt: skip
    yield "length", SIZE.format(
        told=sizes.size, count=len(pairs), near=int((np.abs(sizes) <= 0.15).sum()),
        bias=np.median(sizes) if sizes.size else np.nan,
    )  # fmt: skip
    turns = np.array([
        abs((seen.direction_deg - blur[2] + 90) % 180 - 90) if blur[0] == "motion" else 90.0
        for blur, seen in told if seen.direction_deg is not None
    ])  # fmt: skip
    moved = sum(blur[0] == "motion" for blur, _ in pairs)
    yield "direction", TURN.format(told=turns.size, count=moved, near=int((turns <= 5.0).sum()))


def run(draws=20, first=2300):
    for name, other in (("", False), ("other generator: ", True)):
        found = told_of(draws, first, other=other)
        for k, known in ((1, ""), (2, ", no curve")):
            for what, figure in figures([(one[0], one[k]) for one in found]):
                yield f"{name}edges{known}: {what}", figure
