"""How well the end of a development is told from pictures, and how often a plate is called ripe."""

import io
from statistics import NormalDist

import numpy as np
from PIL import Image

from argentry import trade
from argentry.judge.red_looks import RedLooks, plate_fields, tones_of
from argentry.judge.ripening import ripeness
from benchmarks.seeing.ripening_known import end_by_law
from benchmarks.seeing.ripening_scene import series

BEFORE = 0.0, float(0.72 * np.log(2.0))  # a studio without plates
UNTIL, LOOK = 1.3, 0.85  # of the end: the last picture, and where all are asked
NEAR = 0.15
END = (
    "{near} of {count} within 15 %, 80 % off by {p80:.0%}; by the dose alone {alone}; by an "
    "observer who knows the law {known}; 80 % range holds {held}; told: {told}, {told_near} of "
    "them within 15 %"
)
FIRST = "told of {told} of {count}, {before} before its end; within 15 % {near}"
HELD = "80 % range holds in {held} of {count} looks"
RIPE = "{wrong} of {count} plates before 85 % of the end; by 130 % {called}, half by {half:.0%}"


def fields_of(one):
    """Return the fields of a series and which are the middle tone, None if it cannot be used."""
    pictures = [np.asarray(Image.open(io.BytesIO(content))) for content in one.pictures]
    seen = plate_fields(pictures, one.bare)
    return None if isinstance(seen, tuple) else (seen.levels, seen.marked(one.middle))


def looks_of(one):
    """Return what is seen after each look from the second on: doses and tones."""
    there = fields_of(one)
    doses = np.maximum(one.doses, 0.02)
    for last in range(2, len(doses) + 1) if there else ():
        yield doses[:last], RedLooks(*tones_of(there[0][:last], there[1]), None)


def told_of(one, law):
    """Return each look: share of the end, log error, sd, odds of ripe, error of who knows."""
    rows, known, right = [], np.nan, np.log(one.end_dose)
    for doses, looks in looks_of(one):
        seen = ripeness(doses, looks.levels, looks.middle, BEFORE)
        odds = NormalDist().cdf((np.log(doses[-1]) - seen.end) / seen.sd)
        share = doses[-1] / one.end_dose
        if share <= LOOK or not rows:
            known = end_by_law(doses, looks, law) - right
        rows.append((share, seen.end - right, seen.sd, odds))
    return np.array(rows).reshape(-1, 4), known


def figures(count, first, *, other, by_hand):
    each = []
    for seed in range(first, first + count):
        one = series(seed, other=other, by_hand=by_hand, until=UNTIL)
        rows, known = told_of(one, "waits" if other else "grains")
        if len(rows):
            each.append((rows, known, -np.log(one.end_dose)))
    yield from said_of(each)


def said_of(each):
    """Yield the figures of series told."""
    at = np.array([rows[max((rows[:, 0] <= LOOK).sum() - 1, 0)] for rows, _, _ in each])
    near = _near(at[:, 1])
    told = _told(at)
    yield "end, by the looks before 85 % of it", END.format(
        near=near.sum(), count=len(at), p80=np.quantile(np.abs(np.expm1(at[:, 1])), 0.8),
        alone=_near(np.array([one for *_, one in each])).sum(),
        known=_near(np.array([one for _, one, _ in each])).sum(), held=_held(at).sum(),
        told=told.sum(), told_near=near[told].sum(),
    )  # fmt: skip
    starts = [rows[_told(rows)][0] for rows, *_ in each if _told(rows).any()]
    first = np.array(starts).reshape(-1, 4)
    yield "end, as soon as it is told", FIRST.format(
        told=len(first), count=len(each), before=(first[:, 0] < 1.0).sum(),
        near=_near(first[:, 1]).sum(),
    )  # fmt: skip
    every = np.concatenate([rows for rows, *_ in each])
    yield "range", HELD.format(held=_held(every).sum(), count=len(every))
    odds = trade.value("seeing", "ripe_odds_from")
    called = np.array([rows[rows[:, 3] >= odds][0, 0] for rows, *_ in each
                       if (rows[:, 3] >= odds).any()])  # fmt: skip
    yield "called ripe", RIPE.format(
        wrong=(called < LOOK).sum(), count=len(each), called=called.size,
        half=np.median(called) if called.size else np.nan,
    )  # fmt: skip


def _near(off):
    return np.abs(np.expm1(off)) <= NEAR


def _told(rows):
    """Return which looks are not too early to tell: well known, and not far ahead."""
    near = rows[:, 0] / np.exp(rows[:, 1]) >= trade.value("seeing", "ripening_told_from")
    return near & (rows[:, 2] <= trade.value("seeing", "ripening_known_from"))


def _held(rows):
    return np.abs(rows[:, 1]) <= 1.2816 * rows[:, 2]


def run(draws=20, first=3100):
    for name, other in (("", False), ("other generator: ", True)):
        for way, by_hand in (("stand", False), ("by hand", True)):
            for what, figure in figures(draws, first, other=other, by_hand=by_hand):
                yield f"{name}ripening, {way}: {what}", figure
