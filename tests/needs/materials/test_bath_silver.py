"""Silver in a bath with its range, against a dense solution and against coats that are known."""

import math
import random

import numpy as np
import pytest

from argentry.needs.materials.bath_silver import (
    Dissolved,
    Look,
    dissolved,
    together,
    usual_coat,
)
from argentry.physics.stops import Z80
from argentry.trade.facts import value
from argentry.trade.recipes import silver_mg

QUARTER = 89.1


def studio(seed, baths=40, bias_sd=0.0):
    """Draw baths of coats that wander, and what pictures say of them; uneven noise, not normal."""
    chance = random.Random(seed)
    bias, mean = chance.gauss(0.0, bias_sd), 25.0
    for _ in range(baths):
        mean += chance.uniform(-3.5, 3.5)
        mean = min(max(mean, 14.0), 36.0)
        coats = [mean * math.exp(chance.gauss(0.0, 0.1)) for _ in range(chance.randint(1, 6))]
        looks = []
        for nm in coats:
            sd = 1.7 * math.exp(chance.gauss(0.0, 0.2))
            if chance.random() < 0.85:
                off = chance.choice((-1.0, 1.0)) * chance.expovariate(math.sqrt(2.0) / 1.7)
                looks.append(
                    Look(QUARTER, max(nm + off + bias, 1.0), Z80 * math.hypot(sd, bias_sd))
                )
        yield coats, looks


def held(seeds, bias_sd):
    inside = []
    for seed in seeds:
        shown = []
        for coats, looks in studio(seed, bias_sd=bias_sd):
            shown.append(looks)
            usual = usual_coat(25.0, shown[-8:], layer_known=not bias_sd)
            found = dissolved(usual, len(coats) * QUARTER, len(coats), looks).range_80()
            inside.append(found.low <= silver_mg(1.0, QUARTER) * sum(coats) <= found.high)
    return sum(inside) / len(inside)


def test_the_range_holds_about_four_in_five_of_baths_of_another_kind():
    assert 0.74 <= held(range(40, 60), 0.0) <= 0.88
    # a lossy layer that is not known makes all pictures of a studio wrong alike
    assert 0.72 <= held(range(100, 160), 2.0) <= 0.9


def test_agrees_with_the_dense_solution_of_the_same_normal_model():
    # numpy.linalg: the covariance of every coat and picture written out and conditioned at once
    baths = [[24.0, 21.0], [], [27.5], [30.0, 28.0, 26.0]]
    half = 2.5
    looks = [[Look(QUARTER, nm, half) for nm in bath] for bath in baths]
    usual = usual_coat(25.0, looks, layer_known=True)
    noise, spread = (half / Z80) ** 2, usual.spread_nm**2
    drift = (value("baths", "coat_drift_share") * 25.0) ** 2
    before = (value("seeing", "clock_sd_share") * 25.0) ** 2
    of = [n for n, bath in enumerate(baths) for _ in bath] + [3]  # one more, not looked at
    level = before + drift * (np.minimum.outer(of, of) + 1.0)
    coats = level + spread * np.eye(len(of))
    pictures = coats[:-1, :-1] + noise * np.eye(len(of) - 1)
    last = np.array([n == 3 for n in of], dtype=float)
    gain = np.linalg.solve(pictures, coats[:-1] @ last)
    mean = last.sum() * 25.0 + gain @ (np.array([nm for bath in baths for nm in bath]) - 25.0)
    sd = math.sqrt(last @ coats @ last - gain @ (coats[:-1] @ last))
    found = dissolved(usual, 4 * QUARTER, 4, looks[-1])
    each = silver_mg(1.0, QUARTER)
    assert found.mg == pytest.approx(each * mean, rel=1e-9)
    assert math.hypot(found.own_mg, found.alike_mg[0]) == pytest.approx(each * sd, rel=1e-9)


def test_before_any_picture_the_usual_coat_and_a_wide_range():
    usual = usual_coat(25.0, [[]], layer_known=False)
    found = dissolved(usual, 10 * QUARTER, 10)
    assert found.mg == pytest.approx(silver_mg(25.0, 10 * QUARTER))
    ends = found.range_80()
    assert ends.high / ends.middle == pytest.approx(1.0 + Z80 * 0.248, abs=0.01)
    assert usual.by_pictures == 0.0
    assert usual.spread_nm == pytest.approx(0.15 * 25.0)
    # 0.22 of 25 nm before any bath, 0.1 of it from one bath to the next
    assert usual.sd_nm == pytest.approx(25.0 * math.hypot(0.22, 0.1))


def test_pictures_of_one_studio_are_wrong_alike_while_its_layer_is_not_known():
    bath = [Look(QUARTER, 25.0, 2.5)] * 40
    share = {}
    assert usual_coat(25.0, [bath]) == usual_coat(25.0, [bath], layer_known=False)
    for known in (True, False):
        found = dissolved(usual_coat(25.0, [bath], layer_known=known), 40 * QUARTER, 40, bath)
        share[known] = math.hypot(found.own_mg, *found.alike_mg[:2]) / found.mg
    assert share[True] < 0.02
    # pictures that agree better than their noise has it show coats that are even
    assert usual_coat(25.0, [bath], layer_known=True).spread_nm == 0.0
    # forty plates do not help against it: 0.6 of the variance of 1.95 nm, over 25 nm
    assert share[False] == pytest.approx(math.sqrt(0.6) * 2.5 / Z80 / 25.0, rel=0.05)


def test_a_coat_goes_in_once_however_often_it_is_put_in():
    usual = usual_coat(25.0, [[]], layer_known=True)
    once = dissolved(usual, QUARTER, 1, [Look(QUARTER, 20.0, 2.5)])
    twice = dissolved(usual, 2 * QUARTER, 2, [Look(2 * QUARTER, 20.0, 2.5, 2)])
    assert twice == once
    # what the hand took back is not in it
    less = dissolved(usual, 0.5 * QUARTER, 1, [Look(QUARTER, 20.0, 2.5)])
    assert less.mg == pytest.approx(0.5 * once.mg)
    assert dissolved(usual, 0.0, 0).range_80().high == 0.0


def test_a_picture_that_told_no_range_counts_as_pictures_do():
    usual = usual_coat(25.0, [[]], layer_known=True)
    told = dissolved(usual, QUARTER, 1, [Look(QUARTER, 20.0, Z80 * value("seeing", "picture_sd"))])
    assert dissolved(usual, QUARTER, 1, [Look(QUARTER, 20.0)]) == told


def test_what_is_wrong_alike_adds_up_over_baths():
    one = Dissolved(2.0, 0.3, (0.4, 0.0, 0.0, 0.0))
    both = together([one, one])
    assert (both.mg, both.alike_mg[0]) == (4.0, 0.8)
    assert both.own_mg == pytest.approx(0.3 * math.sqrt(2.0))
    assert together([]).range_80().high == 0.0
    assert one.times(0.5) == Dissolved(1.0, 0.15, (0.2, 0.0, 0.0, 0.0))
    assert one.range_80(0.1).high == pytest.approx(2.0 + Z80 * math.sqrt(0.09 + 0.16 + 0.04))


def test_rinses_carry_silver_out():
    # ten plates of 89.1 cm2 carry 6 uL/cm2 each out of 250 mL: 2.1 %, of what is on average half
    whole = Dissolved(10.0)
    left = whole.left_by_rinses(10 * QUARTER, 250.0)
    assert left.mg == pytest.approx(10.0 * (1.0 - 0.5 * 891.0 * 0.006 / 250.0))
    # 3 to 12 uL/cm2 are its 80 % range
    half = 10.0 * 0.5 * 891.0 * 0.0045 / 250.0
    assert left.range_80().high - left.mg == pytest.approx(half)
    assert whole.left_by_rinses(1e9, 1.0).mg == 0.0
