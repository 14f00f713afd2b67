"""`need`: of batches that are said to give enough good plates with 90 %, how many do."""

from __future__ import annotations

from copy import copy, deepcopy
from datetime import timedelta

import numpy as np

from benchmarks.families import doors
from benchmarks.families.draw import Shop, spoilt
from benchmarks.families.scores import Mean

SIZES = (30, 60, 120, 250)
GOOD, FUTURES = 6, 300


def of_studio(family, seed, plates):
    shop = Shop(family, seed)
    made = [shop.make() for _ in range(plates)]  # the shop as it stands when it asks
    _, book = doors.notebook(family, seed, plates)
    first = made[-1].work.day + timedelta(days=1)
    told = doors.need(book, GOOD, first, first + timedelta(days=200))
    return {
        "said": told.certainty,
        "start": told.start,
        "true": true_chance(shop, told.start, GOOD, seed),
    }


def true_chance(shop, start, good, seed, futures=FUTURES):
    """Return how often so many plates give enough good ones, over futures of this studio."""
    enough = 0
    for number in range(futures):
        rng = np.random.default_rng([11, seed, number])
        hands, turn = copy(shop.hands), deepcopy(shop.world.turn)
        hands.rng = rng
        came = 0
        for left in range(start, 0, -1):
            if came >= good or came + left < good:
                break
            work = hands.next()
            turn(rng, work)
            came += not spoilt(rng, shop.world, work)
        enough += came >= good
    return enough / futures


def rows(results):
    said, true, poor, most = Mean(), Mean(), Mean(), Mean()
    for one in results:
        said.add(one["said"])
        true.add(one["true"])
        poor.add(one["true"] < 0.7)
        most.add(one["start"])
    return [
        ("need: says", "", said.shown()),
        ("need: true", "87-95 %", true.shown()),
        ("need: studios where it is true in under 70 %", "at most 5 %", poor.shown()),
        (f"need: plates begun for {GOOD} good ones", "", most.shown("{:.1f}")),
    ]
