"""Silver in baths by pictures of coats, on invented years that nothing was chosen on.

Coats are those of the demo's story told by other chances; baths are a week old when they are
renewed. Pictures are wrong and say how wrong they are as in `stock_year`; the book and the desk are
left out, so that many years can be played.

Beside it, what nobody can better: an observer who knows the story's own law of the iodine box and
all its constants, and has each plate's seconds and warmth where they were written down, and the
pictures. The desk knows neither law nor constants.
"""

from __future__ import annotations

import math
import random
from statistics import fmean
from typing import TYPE_CHECKING

from argentry.demo import chance
from argentry.needs.materials.bath_silver import Look, dissolved, usual_coat
from argentry.trade.recipes import silver_mg
from benchmarks.stock_world import AREA, CLAIM, PICTURE_NM
from benchmarks.stock_year import demo_days

if TYPE_CHECKING:
    from collections.abc import Iterator

Coats = list[tuple[float, float]]  # of the plates of a bath: thickness and area [nm, cm2]
Fixed = list[tuple[float, float, bool]]  # the same, and whether seconds and warmth were written
YEARS, TIMES = range(301, 309), 25
AIM_NM, LOOKED_AT, WINDOW = 25.0, 0.9, 8


LAW, FREE = 0.053, 0.2  # coats about what the law gives, and about their mean, of the thickness
SCALE_NM = 1.2  # by a scale of coats of one's own: `benchmarks.seeing.scale`, 90 % within 2.0 nm
OBSERVERS = (
    ("an observer who knows the law of the box, as many pictures", PICTURE_NM, LOOKED_AT),
    ("the same, each plate looked at", PICTURE_NM, 1.0),
    ("the same, by a scale of coats of one's own", SCALE_NM, 1.0),
    ("pictures without any error", 1e-6, 1.0),
)


def fixed_in(year: int) -> list[Fixed]:
    """Return the plates that went into each fixing bath of an invented year."""
    usual, chance.SEED = chance.SEED, f"other year {year}"
    try:
        days = demo_days()
    finally:
        chance.SEED = usual
    baths: list[Fixed] = []
    begun = None
    for day in sorted(days):
        fixed = [one for one in days[day] if "finish" in one["stages_reached"]]
        if fixed and (begun is None or (day - begun).days >= 7):
            baths.append([])
            begun = day
        if fixed:
            baths[-1] += [
                (float(one["hidden"].get("coat_nm") or 24.0), AREA[one["size"]], one["timed"])
                for one in fixed
            ]
    return baths


def baths_of(year: int) -> list[Coats]:
    """Return the same without what was written down."""
    return [[(nm, area) for nm, area, _ in bath] for bath in fixed_in(year)]


def observed(bath: Fixed, picture_nm: float, looked_at: float, draws: random.Random) -> float:
    """Return the chance that an observer is within 5 % of what is in a bath, one draw of looks."""
    known = 0.0
    for nm, area, timed in bath:
        precise = ((LAW if timed else FREE) * nm) ** -2.0
        precise += picture_nm**-2.0 if draws.random() < looked_at else 0.0
        known += area**2 / precise
    true = sum(nm * area for nm, area, _ in bath)
    return math.erf(0.05 * true / math.sqrt(2.0 * known))


def told(baths: list[Coats], draws: random.Random) -> Iterator[tuple[bool, bool, bool]]:
    """Yield of each bath: told within 5 %, within the range, and within 5 % by pictures alone."""
    shown: list[list[Look]] = []
    for coats in baths:
        looks, alone = [], 0.0
        for nm, area in coats:
            seen = AIM_NM
            if draws.random() < LOOKED_AT:
                seen = max(nm + draws.gauss(0.0, PICTURE_NM), 1.0)
                half = 1.28 * PICTURE_NM * math.exp(draws.gauss(0.0, CLAIM))
                looks.append(Look(area, seen, half))
            alone += area * seen
        shown.append(looks)
        usual = usual_coat(AIM_NM, shown[-WINDOW:], layer_known=True)
        area = sum(one for _, one in coats)
        found = dissolved(usual, area, len(coats), looks).range_80()
        true = sum(nm * one for nm, one in coats)
        mg = silver_mg(1.0, true)
        near = abs(found.middle / mg - 1.0) <= 0.05
        yield near, found.low <= mg <= found.high, abs(alone / true - 1.0) <= 0.05


def run() -> Iterator[tuple[str, str]]:
    """Play each year some times."""
    every: list[tuple[bool, bool, bool]] = []
    for year in YEARS:
        baths, draws = baths_of(year), random.Random(year)
        found = [one for _ in range(TIMES) for one in told(baths, draws)]
        every += found
        yield f"year {year}: {len(baths)} baths; within 5 %, in range, by pictures", _shares(found)
    yield "all years: within 5 %, in range, by pictures alone", _shares(every)
    fixed = [(year, bath) for year in YEARS for bath in fixed_in(year)]
    for words, picture_nm, looked_at in OBSERVERS:
        chances = [
            observed(bath, picture_nm, looked_at, random.Random(f"{n} {year}"))
            for year, bath in fixed
            for n in range(TIMES)
        ]
        yield words, f"{100.0 * fmean(chances):.0f} %"


def _shares(found: list[tuple[bool, bool, bool]]) -> str:
    return ", ".join(f"{100.0 * sum(one) / len(found):.0f} %" for one in zip(*found, strict=True))
