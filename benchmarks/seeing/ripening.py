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
END = (
    "within 15 % {near} of {count}, 80 % off by {p80:.0%}; by the dose alone {alone}; by an "
    "observer who knows the law {known}"
)
HELD = "80 % range holds {held} of {count}"
VAIN = "{wrong} of {count} before 85 % of the end"


def looks_of(one):
    """Return the doses of a series and its tones, None where a picture cannot be used."""
    pictures = [np.asarray(Image.open(io.BytesIO(content))) for content in one.pictures]
    looks = red_looks(pictures, one.bare, one.middle)
    return None if isinstance(looks, tuple) else (np.maximum(one.doses, 0.02), looks)


def is_called_ripe(seen, dose):
    odds = NormalDist().cdf((np.log(dose) - seen.end) / seen.sd)
    return odds >= trade.value("seeing", "ripe_odds_from")


def figures(count, first, *, other, by_hand):
    off, alone, known, held, wrong, asked = [], [], [], [], 0, 0
    for seed in range(first, first + count):
        for until in (0.6, 0.85):
            one = series(seed, other=other, by_hand=by_hand, until=until)
            there = looks_of(one)
            if there is None:
                continue
            doses, looks = there
            seen = ripeness(doses, looks.levels, looks.middle, BEFORE)
            asked += 1
            wrong += one.doses[-1] < 0.85 * one.end_dose and is_called_ripe(seen, one.doses[-1])
        if there is not None:  # of the later look
            off.append(seen.end - np.log(one.end_dose))
            alone.append(-np.log(one.end_dose))
            by_law = end_by_law(doses, looks, "waits" if other else "grains")
            known.append(by_law - np.log(one.end_dose))
            held.append(abs(off[-1]) <= 1.2816 * seen.sd)
    near, by_dose, known = (np.abs(np.expm1(np.array(one))) <= 0.15 for one in (off, alone, known))
    yield "end", END.format(
        near=int(near.sum()), count=near.size, p80=np.quantile(np.abs(np.expm1(off)), 0.8),
        alone=int(by_dose.sum()), known=int(known.sum()),
    )  # fmt: skip
    yield "range", HELD.format(held=sum(held), count=len(held))
    yield "called ripe", VAIN.format(wrong=wrong, count=asked)


def run(draws=20, first=3100):
    for name, other in (("", False), ("other generator: ", True)):
        for way, by_hand in (("stand", False), ("by hand", True)):
            for what, figure in figures(draws, first, other=other, by_hand=by_hand):
                yield f"{name}ripening, {way}: {what}", figure
