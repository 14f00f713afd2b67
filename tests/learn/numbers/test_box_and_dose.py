"""The box factor and the development dose that coats and ends teach."""

import datetime as dt
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest

from argentry import trade
from argentry.learn.numbers.box_and_dose import (
    box_factor,
    development_dose,
    doses_in_turn,
    veil_ratio,
)
from argentry.learn.numbers.box_doubt import elsewhere, same_instruments_log_sd
from argentry.physics.coat.film_growth import slowing
from argentry.physics.vapour.fuming import seconds_to_thickness

DAY = dt.date(2026, 5, 2)


def test_box_factor_is_the_normal_law_of_logarithms():
    """Closed form: precisions add (Gelman and others, section 2.5), then what coats share."""
    prior = trade.value("decide", "box_factor_log_sd")
    error, shared = (trade.value("decide", k) for k in ("coat_time_log_sd", "box_shared_log_sd"))
    got = box_factor([140.0], [100.0], [DAY], "big box")
    precision = 1 / prior**2 + 1 / error**2
    mean, sd = np.log(1.4) / error**2 / precision, precision**-0.5
    z = NormalDist().inv_cdf(0.9)
    assert same_instruments_log_sd(got) == pytest.approx(sd, rel=1e-3)
    sd = np.hypot(sd, shared)
    assert got.value == pytest.approx(np.exp(mean), rel=1e-4)
    assert got.high == pytest.approx(np.exp(mean + z * sd), rel=1e-3)
    assert got.low == pytest.approx(np.exp(mean - z * sd), rel=1e-3)
    assert (got.plates, got.day, got.of, got.unit) == (1, DAY, "big box", "1")


def test_box_factor_without_coats_is_what_is_believed():
    got = box_factor([], [])
    assert got.value == pytest.approx(1.0)
    assert got.mostly_prior
    assert (got.low, got.high) == (got.believed_low, got.believed_high)


def test_scattered_coats_teach_less_than_even_ones():
    even = box_factor([130.0] * 6, [100.0] * 6)
    wild = box_factor([60.0, 280.0, 90.0, 190.0, 75.0, 225.0], [100.0] * 6)
    assert same_instruments_log_sd(wild) > 2.0 * same_instruments_log_sd(even)
    assert not even.mostly_prior


def test_no_number_of_coats_lowers_what_they_share():
    shared = trade.value("decide", "box_shared_log_sd")
    few, many = (box_factor([130.0] * n, [100.0] * n) for n in (20, 2000))
    sd = [np.log(one.high / one.low) / (2.0 * NormalDist().inv_cdf(0.9)) for one in (few, many)]
    assert sd[1] < sd[0]
    assert sd[1] == pytest.approx(shared, rel=0.03)


def test_a_dose_is_of_the_light_that_its_plates_had_and_elsewhere_known_less_well():
    """What is wrong with all light alike cancels under the same light, but not in another studio's.

    Variances add: what many plates leave open, and the trade's fact.
    """
    dose = development_dose([700.0] * 200, ["ripe"] * 200)
    assert np.log(dose.high / dose.low) / 2.5631 < 0.03
    low, high = elsewhere(dose)
    own = (np.log(dose.high / dose.value), np.log(dose.value / dose.low))
    shared = 1.28155 * trade.value("decide", "dose_shared_log_sd")
    assert np.log(high / dose.value) == pytest.approx(np.hypot(own[0], shared), rel=1e-4)
    assert np.log(dose.value / low) == pytest.approx(np.hypot(own[1], shared), rel=1e-4)
    none = development_dose([], [])
    assert elsewhere(none) == (none.low, none.high)
    coats = box_factor([130.0] * 20, [100.0] * 20)
    assert elsewhere(coats) == (coats.low, coats.high), "a thermometer's error is in it already"


def test_what_coats_share_is_half_of_what_thermometer_and_eye_make_of_the_seconds():
    at = {"gap_mm": 20.0, "pressure_pa": 101325.0, "cover_share": 0.8}
    cold, warm = (
        seconds_to_thickness(25.0, box_temperature_c=c, **at)
        * np.exp(slowing(c, None, None)[0]) for c in (19.5, 20.5)
    )  # fmt: skip
    kelvin = np.log(cold / warm) * trade.value("fuming", "temperature_sd")
    more = 25.0 + trade.value("film", "thickness_doubt_cycle_1_nm")
    thin, thick = (seconds_to_thickness(nm, box_temperature_c=20.0, **at) for nm in (25.0, more))
    both = np.hypot(kelvin, np.log(thick / thin))
    assert trade.value("decide", "box_shared_log_sd") == pytest.approx(both / 2**0.5, rel=0.05)


def test_a_maker_who_keeps_thermometer_and_eye_knows_the_seconds_better_than_the_factor():
    made = [box_factor([130.0] * n, [100.0] * n) for n in (0, 1, 40)]
    whole = [np.log(one.high / one.low) / (2.0 * NormalDist().inv_cdf(0.9)) for one in made]
    kept = [same_instruments_log_sd(one) for one in made]
    assert kept[0] == pytest.approx(whole[0])
    assert kept[2] < 0.05 < whole[2]
    assert kept[0] > kept[1] > kept[2] > 0.0


def test_dose_from_ends_of_three_kinds():
    ripe = development_dose([600.0] * 6, ["ripe"] * 6, [DAY] * 6)
    assert ripe.value == pytest.approx(600.0, rel=0.05)
    start = trade.value("development", "dose")
    early = development_dose([start], ["unripe"])
    late = development_dose([start], ["too long"])
    assert early.value > start > late.value
    held = development_dose([500.0, 900.0], ["unripe", "too long"])
    assert 500.0 < held.value < 900.0
    own = development_dose([], [], believed_kj_m2=400.0)
    assert own.value == pytest.approx(400.0)
    assert own.mostly_prior


def test_a_dose_told_by_pictures_counts_with_its_doubt():
    """Closed form: precisions add (Gelman and others, section 2.5), each with its own variance.

    But for the scatter itself, which is not known either, and how far off an end is forgiven.
    """
    start, each = trade.value("development", "dose"), trade.value("decide", "end_point_log_sd")
    prior = trade.value("development", "dose_sigma") * np.log(2.0)
    doses = [1.3 * start, 1.6 * start]
    got = development_dose(doses, ["ripe"] * 2, log_sds=[0.0, 0.4])
    worth = np.array([1 / each**2, 1 / (each**2 + 0.4**2)])
    mean = worth @ np.log([1.3, 1.6]) / (worth.sum() + 1 / prior**2)
    assert got.value == pytest.approx(start * np.exp(mean), rel=4e-3)
    assert got.plates == 2
    exact = development_dose(doses, ["ripe"] * 2)
    assert development_dose(doses, ["ripe"] * 2, log_sds=[0.0, 0.0]) == exact
    vague = development_dose(doses[1:], ["ripe"], log_sds=[50.0])
    assert vague.value == pytest.approx(start, rel=1e-3)


def called(seed, plates, early=0.4, late=0.6, eye=0.35):
    """Return doses over the true one and their ends, as an eye calls them. [stops]."""
    rng = np.random.default_rng([20261130, seed])
    off = rng.normal(0.0, eye, plates)
    doses = 500.0 * 2.0 ** (rng.normal(0.0, 0.25, plates) + off)
    return doses, np.select([off < -early, off > late], ["unripe", "too long"], "ripe")


def test_ends_that_are_forgiven_do_not_shift_the_dose():
    """Heckman 1979: ripe ends are a selected sample; read as exact they lie .04 too high."""
    for early, late in ((0.4, 0.6), (0.8, 0.35)):
        found, ripe = [], []
        for seed in range(8):
            doses, ends = called(seed, 150, early, late)
            middle = np.log(doses).mean()  # of all ends: chance has moved it alike
            found.append(np.log(development_dose(doses, list(ends)).value) - middle)
            ripe.append(np.log(doses[ends == "ripe"]).mean() - middle)
        assert abs(np.mean(ripe)) > 0.025
        assert abs(np.mean(found)) < 0.012, (early, late)


def test_a_few_plates_far_off_hardly_move_the_dose():
    """Student's law and not the normal one: of four in a hundred with twice the light."""
    rng = np.random.default_rng(20261130)
    off = rng.normal(0.0, 0.18, 100)
    plain = development_dose(500.0 * np.exp(off), ["ripe"] * 100).value
    off[:4] = 0.7
    late = np.log(development_dose(500.0 * np.exp(off), ["ripe"] * 100).value / plain)
    assert 0.0 < late < 0.7 * off[:4].sum() / 100


def test_a_dose_held_to_by_the_clock_is_left_when_plate_after_plate_comes_out_unripe():
    """However many: ends so close together are a clock's and not an eye's."""
    at = trade.value("development", "dose")
    counts = (0, 1, 2, 5, 20, 100)
    low = [development_dose([at] * n, ["unripe"] * n) for n in counts]
    assert all(a.value < b.value for a, b in pairwise(low))
    assert low[3].value > 1.5 * at
    assert all(one.low > 1.25 * at for one in low[3:])
    late = [development_dose([at] * n, ["too long"] * n) for n in counts]
    assert all(a.value > b.value for a, b in pairwise(late))
    assert late[3].value < at / 1.5


def test_the_dose_before_each_plate_is_that_of_those_before_it():
    doses, ends = called(3, 25)
    known = list(doses_in_turn(doses.tolist(), ends.tolist()))
    assert len(known) == 25
    for at in (0, 1, 7, 24):
        whole = development_dose(doses[:at], list(ends[:at]))
        assert known[at].plates == at
        spread = np.log(whole.high / whole.low)
        assert np.log(known[at].value / whole.value) == pytest.approx(0.0, abs=0.06 * spread)


def veil_of(doses, ends):
    return veil_ratio(doses, ends, development_dose(doses, ends))


def test_the_veil_without_plates_is_what_is_believed():
    got = veil_of([], [])
    assert got.value == pytest.approx(trade.value("development", "veil_ratio"), rel=1e-3)
    assert (got.plates, got.mostly_prior, got.believed) == (0, True, 2.5)


def test_the_veil_comes_sooner_where_plates_a_little_late_are_veiled_and_later_where_none_is():
    ripe = [400.0, 440.0, 480.0, 520.0, 560.0] * 4
    soon = veil_of([*ripe, *[700.0] * 6], ["ripe"] * 20 + ["too long"] * 6)
    late = veil_of([*ripe, *[1000.0] * 6], ["ripe"] * 26)
    assert 1.2 < soon.low < soon.value < 1.7 < soon.high < 2.2
    assert late.low > 1.8
    assert late.value > 2.5 > soon.value
    believed = veil_of([], [])
    assert soon.high / soon.low < 0.6 * believed.high / believed.low
    few = veil_of([*ripe, 480.0], ["ripe"] * 20 + ["too long"])
    assert few.value > 2.0, "one fogged plate of twenty may be other light"
    assert veil_of([480.0] * 9, ["too long"] * 9).low > 1.0, "no plate veils before it is ripe"


def test_the_veils_range_holds_in_studios_of_another_kind():
    """Heavy tails, makers who watch more or less, other fog: four in five by its own promise."""
    rng, held, off = np.random.default_rng(1855), [], []
    for _ in range(80):
        true = max(2.5 * np.exp(0.45 * rng.normal()), 1.1)
        ripe = 500.0 * np.exp(rng.uniform(0.15, 0.35) * rng.standard_t(5, 40))
        veil = ripe * true * np.exp(rng.uniform(0.1, 0.45) * rng.standard_t(5, 40))
        out = ripe * np.exp(rng.normal(0.0, rng.choice([0.15, 0.25, 0.4]), 40))
        fogged = (out > veil) | (rng.random(40) < 0.05)
        ends = np.where(fogged, "too long", np.where(out < 0.7 * ripe, "unripe", "ripe"))
        got = veil_of(out, list(ends))
        held.append(got.low <= true <= got.high)
        off.append((abs(np.log(got.value / true)), abs(np.log(2.5 / true))))
    assert 0.68 <= np.mean(held) <= 0.9
    learned, believed = np.mean(off, axis=0)
    assert learned < 0.85 * believed


def test_a_hundred_coats_hardly_tell_damp_from_luck():
    """docs/decisions: precisions add (Gelman and others, 2.5); rooms differ by 12 points."""
    believed = trade.value("fuming", "damp_slowing_spread")
    coats, damp = 100, 0.12
    seen = trade.value("decide", "coat_time_log_sd") / (damp * coats**0.5)
    left = (believed**-2 + seen**-2) ** -0.5
    assert left == pytest.approx(0.11, abs=0.005)
    assert believed * damp == pytest.approx(0.018)
    assert left * damp == pytest.approx(0.013, abs=0.0005)


def test_a_number_rests_on_belief_until_its_plates_say_more():
    told = {n: development_dose([480.0] * n, ["ripe"] * n).mostly_prior for n in (0, 1, 60)}
    assert (told[0], told[60]) == (True, False)
    coats = {n: box_factor([70.0] * n, [60.0] * n).mostly_prior for n in (0, 40)}
    assert coats == {0: True, 40: False}
