"""Silver in baths by pictures of coats, on invented years that nothing was chosen on.

Coats are those of the demo's story told by other chances; baths are a week old when they are
renewed. Pictures are wrong and say how wrong they are as in `stock_year`; the book and the desk are
left out, so that many years can be played.
"""

from __future__ import annotations

import math
import random
from typing import TYPE_CHECKING

from argentry.demo import chance
from argentry.needs.materials.bath_silver import Look, dissolved, usual_coat
from argentry.trade.recipes import silver_mg
from benchmarks.stock_world import AREA, CLAIM, PICTURE_NM
from benchmarks.stock_year import demo_days

if TYPE_CHECKING:
    from collections.abc import Iterator

Coats = list[tuple[float, float]]  # of the plates of a bath: thickness and area [nm, cm2]
YEARS, TIMES = range(301, 309), 25
AIM_NM, LOOKED_AT, WINDOW = 25.0, 0.9, 8


def baths_of(year: int) -> list[Coats]:
    """Return the coats that went into each fixing bath of an invented year."""
    usual, chance.SEED = chance.SEED, f"other year {year}"
    try:
        days = demo_days()
    finally:
        chance.SEED = usual
    baths: list[Coats] = []
    begun = None
    for day in sorted(days):
        fixed = [one for one in days[day] if "finish" in one["stages_reached"]]
        if fixed and (begun is None or (day - begun).days >= 7):
            baths.append([])
            begun = day
        if fixed:
            baths[-1] += [
                (float(one["hidden"].get("coat_nm") or 24.0), AREA[one["size"]]) for one in fixed
            ]
    return baths


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


def _shares(found: list[tuple[bool, bool, bool]]) -> str:
    return ", ".join(f"{100.0 * sum(one) / len(found):.0f} %" for one in zip(*found, strict=True))
