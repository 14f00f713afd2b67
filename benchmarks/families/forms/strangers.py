"""Strangers: four more families, written when the others had been looked at for weeks.

A window that both a thin and a thick coat miss; a hot room late in the work, while damp, light and
warmth go with the season together; marks that add up from many small things and heavy luck, with
a line above which a plate is good; and people, one with clumsy hands, who learn and who tire.
Nothing in argentry was ever chosen by them, and they stand outside the mean of the seven.
"""

from __future__ import annotations

from math import exp, log

import numpy as np

from benchmarks.families.forms.common import accidents, begin, exposure, manner, quantile
from benchmarks.families.studio import STAGES, Spoiler, World


def _halved(function, low, high, wanted):
    """Return where a falling function crosses what is wanted."""
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if function(middle) > wanted else (low, middle)
    return low


def window(rng):
    """Return a studio whose coats must be near a thickness of its own."""
    own, pilot = begin(rng)
    best = quantile(pilot, "coat_nm", float(rng.uniform(0.3, 0.7)))
    steep, worst = float(rng.choice([2.0, 4.0])), float(rng.uniform(0.75, 0.95))

    def harm(work, width):
        off = abs(log(work.values["coat_nm"] / best)) / width
        return worst * (1.0 - exp(-(off**steep)))

    wanted = float(rng.uniform(0.2, 0.3))
    width = _halved(lambda w: np.mean([harm(one, w) for one in pilot]), 0.02, 2.0, wanted)
    main = Spoiler(
        "coat_nm", "coat", lambda work: harm(work, width),
        ("coat_thin", "coat_thick", "coat_nm", "fuming_seconds", "box_c", "box_not_full"),
        ("coat_nm",), seen="development", better={"coat_nm": best},
    )  # fmt: skip
    return World(
        "window",
        (main, exposure(rng), *accidents(rng, 0.01, 0.05)),
        main,
        manner(rng, looks="table", turned=0.02),
        habits=own,
        about=f"coats far from {best:.0f} nm",
    )


def season(rng):
    """Return a studio whose plates suffer from a hot room when they are developed or gilded."""
    own, pilot = begin(rng)
    stage = str(rng.choice(["development", "finish"]))
    knee, soft = (
        quantile(pilot, "room_c", float(rng.uniform(0.6, 0.75))),
        float(rng.uniform(0.4, 1.5)),
    )
    worst = float(rng.uniform(0.65, 0.9))

    def harm(work):
        return worst / (1.0 + exp(-(work.values["room_c"] - knee) / soft))

    main = Spoiler(
        "room_c", stage, harm, ("room_c", "hot_frame", "hot_gilding"), ("room_c",),
        better={"room_c": quantile(pilot, "room_c", 0.1)},
    )  # fmt: skip
    return World(
        "season",
        (main, exposure(rng), *accidents(rng, 0.01, 0.05)),
        main,
        manner(rng, looks="noisy", turned=0.02),
        habits=own,
        about=f"a room over {knee:.0f} °C, at {stage}",
    )


# what takes marks away, and the direction in which it does; the first drawn weighs most
MARKED = (
    ("buff_minutes", -1.0, "polish", ("short_buff", "buff_minutes")),
    ("room_rh_pct", 1.0, "coat", ("damp_air", "room_rh_pct")),
    ("box_rest_minutes", -1.0, "coat", ("box_not_full", "box_rest_minutes")),
    ("coat_to_exposure_minutes", 1.0, "exposure", ("long_wait", "coat_to_exposure_minutes")),
    ("fixer_age_days", 1.0, "finish", ("tired_fixer", "fixer_age_days", "fixer_plates")),
    ("gold_age_hours", 1.0, "finish", ("old_gold", "gold_age_hours")),
    ("gilding_minutes", 1.0, "finish", ("long_gilding", "gilding_minutes")),
)
WEIGHTS = (2.5, 0.6, 0.4, 0.3)
LUCK = np.sort(np.random.default_rng(5).standard_t(2.5, 4000) * 0.5)


def _over(most):
    """Return the chance that luck takes away more than this."""
    return 1.0 - np.searchsorted(LUCK, most) / LUCK.size


def marks(rng):
    """Return a studio whose plates are good above so many marks, which many things take away."""
    own, pilot = begin(rng)
    drawn = [MARKED[n] for n in rng.choice(len(MARKED), len(WEIGHTS), replace=False)]
    ranks = {column: np.sort([one.values[column] for one in pilot]) for column, *_ in drawn}

    def lost(work, entry, weight):
        column, side, *_ = entry
        below = float(np.searchsorted(ranks[column], work.values[column])) / len(pilot)
        return weight * (below if side > 0 else 1.0 - below) ** 2

    def others(work):
        return sum(lost(work, one, w) for one, w in zip(drawn[1:], WEIGHTS[1:], strict=True))

    small = np.array([others(one) for one in pilot])
    whole = small + np.array([lost(one, drawn[0], WEIGHTS[0]) for one in pilot])
    failing = float(rng.uniform(0.28, 0.4))
    line = _halved(lambda most: np.mean(_over(most - whole)), 0.0, 6.0, failing)

    def without(work):
        return float(_over(line - others(work)))

    def chance(work):  # of those that would pass without it, the share that it takes with it
        both = float(_over(line - others(work) - lost(work, drawn[0], WEIGHTS[0])))
        return 1.0 - (1.0 - both) / max(1.0 - without(work), 1e-9)

    column, side, stage, names = drawn[0]
    main = Spoiler(
        column, stage, chance, names, (column,), seen="finish",
        better={column: float(ranks[column][len(pilot) // 10 if side > 0 else -len(pilot) // 10])},
    )  # fmt: skip
    rest = Spoiler(
        "the rest of the marks", "finish", without,
        tuple(name for *_, few in drawn[1:] for name in few),
        tuple(one[0] for one in drawn[1:]),
    )  # fmt: skip
    return World(
        "marks",
        (main, rest, exposure(rng, worst=0.4), *accidents(rng, 0.0, 0.02)),
        main,
        manner(rng, looks="noisy", turned=0.04),
        habits=own,
        about=f"marks taken away by {column} most",
    )


class People:
    """Say who makes each plate: one of two by the day."""

    def __init__(self, rng):
        self.share, self.seed = float(rng.uniform(0.3, 0.5)), int(rng.integers(2**31))

    def __call__(self, _rng, work):
        day = np.random.default_rng([work.session, self.seed])
        work.values["made_by"] = "Cleo" if day.random() < self.share else "Dan"


def people(rng):
    """Return a studio of two, of whom one has clumsy hands; both learn, and both tire."""
    own, _ = begin(rng)
    stage, turn = str(rng.choice(STAGES[:4])), People(rng)
    worst, base = float(rng.uniform(0.5, 0.7)), float(rng.uniform(0.02, 0.06))
    new, tempo = float(rng.uniform(0.1, 0.3)), float(rng.uniform(20.0, 60.0))
    tired = float(rng.uniform(0.05, 0.15))
    main = Spoiler(
        "made_by", stage, lambda work: worst if work.values["made_by"] == "Cleo" else base,
        ("made_by",), ("made_by",), better={"made_by": "Dan"},
    )  # fmt: skip
    young = Spoiler("new to it", "polish", lambda work: new * exp(-work.number / tempo))
    late = Spoiler("tired hands", "finish", lambda work: tired * (work.order - 1), ("order",))
    return World(
        "people",
        (main, young, late, exposure(rng), *accidents(rng, 0.01, 0.04)),
        main,
        manner(rng, looks="scrambled"),
        turn=turn,
        own=("made_by",),
        habits=own,
        about=f"one of two people, at {stage}",
    )
