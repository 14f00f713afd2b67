"""A short form of `python -m benchmarks bath_silver`: one year that nothing was chosen on."""

import random

from benchmarks.bath_silver import baths_of, told

from argentry.demo import chance


def test_the_range_holds_and_the_estimate_is_nearer_than_the_pictures_alone():
    before = chance.SEED
    baths, draws = baths_of(311), random.Random(311)
    assert before == chance.SEED
    found = [one for _ in range(12) for one in told(baths, draws)]
    near, held, alone = (sum(one) / len(found) for one in zip(*found, strict=True))
    assert 0.75 <= held <= 0.9
    assert near > alone + 0.02
