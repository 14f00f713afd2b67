"""How well a finished plate's faults are found, and how often in vain."""

import io

import numpy as np
from PIL import Image

from argentry import trade
from argentry.judge.plate import PlateLook, see_plate
from argentry.judge.scratches import weight_of
from benchmarks.seeing import plate_other
from benchmarks.seeing.plate_scene import FAULTS, plate_scene

FOUND = "{found:.2f} of {count}; in vain {vain:.2f}"
CLEAN = "{some} of {count}; corners off by {corners:.1f} px in the median, 90 % {p90:.1f}"
FOG = "{share:.2f} of {count} within 0.02; 90 % off by {p90:.3f}"
BUFF = "{p50:.1f} and {p90:.1f} degrees"
SPOTS = "recall {recall:.3f}, precision {precision:.3f} of {count}"


def seen_of(content, truth):
    picture = np.asarray(Image.open(io.BytesIO(content)))
    return see_plate(
        picture, PlateLook(truth.grey, truth.densities, truth.trap, truth.unlit, truth.smooth)
    )


def findings(seen):
    """Return the faults that lie beyond their limits, as the answer offers them."""
    tones = [sum(one.tone == tone for one in seen.spots or ()) for tone in ("light", "dark")]
    figures = {
        "fog": seen.fog or 0.0, "blue": seen.blue or 0.0, "rim": seen.rim_colour,
        "buff": seen.buff.strength, "spots": max(tones), "scratches": weight_of(seen.scratches),
    }  # fmt: skip
    return {
        key
        for key, figure in figures.items()
        if figure >= trade.value("seeing", f"{key}_from" + "_share" * (key in ("fog", "blue")))
    }


def figures(make, count, first=0, clean=None):
    """Yield what was asked of one generator and how well it was found."""
    vain, hits = dict.fromkeys(FAULTS, 0), {}
    some, corners, fogs, angles = 0, [], [], []
    clean = clean or count
    for seed in range(first, first + clean):
        content, truth = make(seed)
        seen = seen_of(content, truth)
        if seen.corners is None:
            continue
        found = findings(seen)
        some += bool(found)
        for key in found:
            vain[key] += 1
        corners.append(np.abs(seen.corners - truth.corners).max())
        if seen.fog is not None:
            fogs.append(abs(seen.fog - truth.fog))
    recall, precision = [0, 0], [0, 0]
    for key in FAULTS:
        hits[key] = 0
        for seed in range(first, first + count):
            content, truth = make(seed, (key,))
            seen = seen_of(content, truth)
            if seen.corners is None:
                continue
            hits[key] += key in findings(seen)
            if key == "fog" and seen.fog is not None:
                fogs.append(abs(seen.fog - truth.fog))
            if key == "buff":
                angles.append(abs((seen.buff.direction_deg - truth.buff_deg + 90) % 180 - 90))
            if key == "spots":
                pairs = [
                    [np.hypot(one.x - x, one.y - y) < max(3.0, d / 2) for one in seen.spots]
                    for x, y, d, _ in truth.spots
                ]
                recall[0] += sum(map(any, pairs))
                recall[1] += len(pairs)
                precision[0] += sum(map(any, zip(*pairs, strict=True)))
                precision[1] += len(seen.spots)
    yield (
        "clean plates with a finding",
        CLEAN.format(
            some=some, count=clean, corners=np.median(corners), p90=np.quantile(corners, 0.9)
        ),
    )
    for key in FAULTS:
        yield (
            f"plate: {key}",
            FOUND.format(found=hits[key] / count, count=count, vain=vain[key] / clean),
        )
    fogs = np.array(fogs)
    yield (
        "plate: fog with a trap",
        FOG.format(share=np.mean(fogs <= 0.02), count=fogs.size, p90=np.quantile(fogs, 0.9)),
    )
    yield (
        "plate: direction of buff lines, middle and 90 %",
        BUFF.format(p50=np.median(angles), p90=np.quantile(angles, 0.9)),
    )
    yield (
        "plate: spots on smooth ground",
        SPOTS.format(
            recall=recall[0] / recall[1], precision=precision[0] / precision[1], count=recall[1]
        ),
    )


def run(draws=20):
    for name, make in (("", plate_scene), ("other generator: ", plate_other.plate_scene)):
        for what, found in figures(make, draws, 700, 3 * draws):
            yield name + what, found
