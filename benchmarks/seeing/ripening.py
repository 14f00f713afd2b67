"""How well the end of a development is told from pictures, and how often a plate is called ripe."""

import io
from statistics import NormalDist

import numpy as np
from PIL import Image

from argentry import trade
from argentry.judge.red_looks import red_looks
from argentry.judge.ripening import ripeness
from benchmarks.seeing.ripening_known import end_by_law
from benchmarks.seeing.ripening_scene import series

BEFORE = 0.0, float(0.72 * np.log(2.0))  # a studio without plates
UNTIL = 0.85  # of the end: where the last picture is taken
END = (
    "within 15 % {near} of {count}, 80 % off by {p80:.0%}; by the dose alone {alone}; by an "
    "observer who knows the law {known}"
)
TOLD = "{near} of {count} within 15 %; too early to tell: {early}"
HELD = "80 % range holds {held} of {count}"
VAIN = "{wrong} of {count} looks before 85 % of the end"


def looks_of(one):
    """Return the doses of a series and its tones, None where a picture cannot be used."""
    pictures = [np.asarray(Image.open(io.BytesIO(content))) for content in one.pictures]
    looks = red_looks(pictures, one.bare, one.middle)
    return None if isinstance(looks, tuple) else (np.maximum(one.doses, 0.02), looks)


def is_called_ripe(seen, dose):
    odds = NormalDist().cdf((np.log(dose) - seen.end) / seen.sd)
    return odds >= trade.value("seeing", "ripe_odds_from")


def figures(count, first, *, other, by_hand):
    ends, off, sds, known, wrong, asked = [], [], [], [], 0, 0
    for seed in range(first, first + count):
        one = series(seed, other=other, by_hand=by_hand, until=UNTIL)
        there = looks_of(one)
        if there is None:
            continue
        doses, looks = there
        for last in range(2, len(doses) + 1):  # as after each look
            seen = ripeness(doses[:last], looks.levels[:last], looks.middle, BEFORE)
            if doses[last - 1] < UNTIL * one.end_dose:
                asked += 1
                wrong += is_called_ripe(seen, doses[last - 1])
        ends.append(np.log(one.end_dose))
        off.append(seen.end - ends[-1])
        sds.append(seen.sd)
        by_law = end_by_law(doses, looks, "waits" if other else "grains")
        known.append(by_law - ends[-1])
    near, by_dose, by_law = (
        np.abs(np.expm1(np.array(one))) <= 0.15 for one in (off, np.negative(ends), known)
    )
    told = np.array(sds) <= trade.value("seeing", "ripening_known_from")
    yield "end", END.format(
        near=int(near.sum()), count=near.size, p80=np.quantile(np.abs(np.expm1(off)), 0.8),
        alone=int(by_dose.sum()), known=int(by_law.sum()),
    )  # fmt: skip
    yield (
        "end where it is told by the pictures",
        TOLD.format(near=int(near[told].sum()), count=int(told.sum()), early=int((~told).sum())),
    )
    held = int((np.abs(off) <= 1.2816 * np.array(sds)).sum())
    yield "range", HELD.format(held=held, count=near.size)
    yield "called ripe", VAIN.format(wrong=wrong, count=asked)


def run(draws=20, first=3100):
    for name, other in (("", False), ("other generator: ", True)):
        for way, by_hand in (("stand", False), ("by hand", True)):
            for what, figure in figures(draws, first, other=other, by_hand=by_hand):
                yield f"{name}ripening, {way}: {what}", figure
