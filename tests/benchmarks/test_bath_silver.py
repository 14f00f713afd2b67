"""A short form of `python -m benchmarks bath_silver`: one year that nothing was chosen on."""

import random

from benchmarks.bath_silver import OBSERVERS, baths_of, observed, told

from argentry.demo import chance


def test_the_range_holds_and_the_estimate_is_nearer_than_the_pictures_alone():
    before = chance.SEED
    baths, draws = baths_of(311), random.Random(311)
    assert before == chance.SEED
    found = [one for _ in range(12) for one in told(baths, draws)]
    near, held, alone = (sum(one) / len(found) for one in zip(*found, strict=True))
    assert 0.75 <= held <= 0.9
    assert near > alone + 0.02


def test_what_an_observer_who_knows_everything_is_certain_of():
    # drawn: two plates of which one was timed and none looked at, about 5.3 and 20 % of the coat
    bath = [(25.0, 90.0, True), (20.0, 90.0, False)]
    draws = random.Random(5)
    off = [draws.gauss(0.0, 0.053 * 25.0) + draws.gauss(0.0, 0.2 * 20.0) for _ in range(20_000)]
    drawn = sum(abs(one) <= 0.05 * 45.0 for one in off) / len(off)
    assert abs(observed(bath, 2.2, 0.0, draws) - drawn) < 0.015
    chances = [observed(bath, nm, 1.0, draws) for _, nm, looked in OBSERVERS if looked == 1.0]
    assert chances == sorted(chances)
    assert chances[-1] > 0.999
