"""How well a coat is told from pictures that the judge's model did not make.

Run ``python -m benchmarks.seeing.coat [COUNT] [FIRST]``.
"""

import sys

import numpy as np

from argentry.judge.coat import Look, see_coat
from argentry.judge.evenness import evenness
from argentry.physics.coat import colour, interlayer
from argentry.physics.coat.coat_words import bands
from benchmarks.seeing import coat_other
from benchmarks.seeing.scene import CARD, LIGHTS, scene

LINE = (
    "{name:28} told {told}/{count}, cycle {cycle:.2f}; mean off by "
    "{median:.1f} nm (90 % {p90:.1f}, 95 % {p95:.1f}), fields 95 % {fields:.1f}; "
    "word {words:.2f}; 80 % range holds {covers:.2f}; thin edge {thin:.2f}, "
    "in vain {vain:.2f} {whys}"
)


def place(nm):
    return max(i for i, one in enumerate(bands()) if one.low_nm <= nm)


def judged(seed, named=True, make=scene, **more):
    truth, _ = make(seed, **more)
    names = [truth.light] if named and truth.light in LIGHTS else ["window", "tungsten", "led"]
    lights = {name: colour.light(LIGHTS[name]) for name in names}
    return truth, see_coat(
        truth.picture,
        Look(
            lights, interlayer.likely(), truth.bare, truth.expected,
            card=CARD if more.get("card") else None,
        ),
    )  # fmt: skip


def row(name, first, count, **more):
    told, cycle, errors, fields, words, covers, thin, vain = 0, 0, [], [], 0, 0, [], []
    whys = {}
    for seed in range(first, first + count):
        truth, seen = judged(seed, **more)
        if not seen.coats:
            whys[seen.why[:60]] = whys.get(seen.why[:60], 0) + 1
            continue
        told += 1
        best = seen.coats[0]
        right = abs(best.thickness_nm - truth.mean) < 25
        cycle += right
        errors.append(abs(best.thickness_nm - truth.mean))
        both = np.isfinite(best.fields_nm) & np.isfinite(truth.thickness)
        fields.extend(np.abs(best.fields_nm - truth.thickness)[both])
        words += abs(place(best.thickness_nm) - place(truth.mean)) <= 1
        covers += best.low_nm <= truth.mean <= best.high_nm
        edge = evenness(best.fields_nm).thin_edge
        (thin if truth.thin_edge else vain).append(
            edge == truth.thin_edge if truth.thin_edge else edge is not None
        )
    n = max(told, 1)
    mean, field = np.array(errors or [np.nan]), np.array(fields or [np.nan])
    print(
        LINE.format(
            name=name, told=told, count=count, cycle=cycle / n, median=np.median(mean),
            p90=np.quantile(mean, 0.9), p95=np.quantile(mean, 0.95),
            fields=np.quantile(field, 0.95), words=words / n, covers=covers / n,
            thin=np.mean(thin or [np.nan]), vain=np.mean(vain or [np.nan]), whys=whys,
        ),
        flush=True,
    )  # fmt: skip


def main(count=None):
    count = count or (int(sys.argv[1]) if len(sys.argv) > 1 else 40)
    first = int(sys.argv[2]) if len(sys.argv) > 2 and sys.argv[2].isdigit() else 0
    for name, make in (("", scene), ("other: ", coat_other.scene)):
        row(name + "tidy, light named", first, count, make=make)
        row(name + "tidy, thin edge", first, count, make=make, kind="thin edge")
        row(name + "tidy, edge 8 % thin", first, count, make=make, kind="edge 8 % thin")
        row(name + "tidy, light unknown", first, count, make=make, named=False)
        row(name + "by hand, light named", first, count, make=make, by_hand=True)
        row(name + "no strip", first, count // 4, make=make, strip=False)
        if make is scene:
            row(name + "card, no strip, light named", first, count, strip=False, card=True)
            row(name + "card, by hand", first, count, strip=False, card=True, by_hand=True)
        row(name + "red light", first, count // 4, make=make, light="red")
        row(name + "blown by two stops", first, count // 4, make=make, blown=2.0)


if __name__ == "__main__":
    main()
