"""The starting dose of development light is what its own sources come to."""

import importlib.util
import sys
from math import hypot, log2, pi, prod
from pathlib import Path

import numpy as np
import pytest

from argentry import trade
from argentry.physics.picture.development import development_dose_j_m2, dose_range_j_m2

BUILDER = Path(__file__).resolve().parents[2] / "builders/dose_seed.py"


@pytest.fixture(scope="module")
def builder():
    spec = importlib.util.spec_from_file_location("dose_seed", BUILDER)
    module = sys.modules[spec.name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_data_hold_what_the_builder_derives(builder):
    assert builder.stated() == builder.expected()


def test_the_seed_lies_amid_its_sources_not_above_them(builder):
    """Before, the seed stood 0.70 stop above the mean of the four figures the notes come to."""
    light = 145.0  # W/m2, a frame facing a sun of 60 degrees
    lamp = builder.lamp_w_m2(200.0, 0.305, 3000.0, 4.0)
    told = [0.06 * one for one in (60 * light, 90 * light, 180 * lamp, 330 * lamp)]
    middle = prod(told) ** 0.25
    assert abs(log2(development_dose_j_m2() / 1000.0 / middle)) < 0.2


def test_a_note_counts_by_how_well_its_light_is_known(builder):
    sun, lamp = builder.notes()
    found = builder.seed()
    assert lamp.doubt_stops > 3.0 * sun.doubt_stops
    assert abs(log2(found.dose_kj_m2 / sun.dose_kj_m2)) < 0.25 * abs(
        log2(found.dose_kj_m2 / lamp.dose_kj_m2)
    )
    # no mean is known better than all of what it is made of, nor worse than its best part
    assert found.notes_stops < sun.doubt_stops < found.sigma_stops


def by_drawing(builder, dose_stops=0.0):
    """Gain of the next lamp by weighed draws: (mean, standard deviation, of 400 000). [stops]"""
    rng = np.random.default_rng(293203)
    before, dose = builder.lamps(), builder.seed().dose_kj_m2 * 2.0**dose_stops
    common = before.middle_stops + before.common_stops * rng.standard_normal(400_000)
    weight = np.ones(common.size)
    for one in builder.lamp_notes():
        away = one.gain_stops(dose) - common
        weight *= np.exp(-0.5 * (away / one.doubt_stops(before.each_stops)) ** 2)
    mean = np.average(common, weights=weight)
    return mean, hypot(np.average((common - mean) ** 2, weights=weight) ** 0.5, before.each_stops)


def test_lamps_are_known_as_the_notes_leave_them(builder):
    """Against draws weighed by the notes: Bayes' rule without the normal's formulas."""
    gain, sigma, share = builder.lamp_seed()
    mean, sd = by_drawing(builder)
    assert (log2(gain), sigma) == (pytest.approx(mean, abs=0.01), pytest.approx(sd, abs=0.01))
    # plates that need a stop more say so much more of the lamps, whatever was known of the dose
    assert share == pytest.approx(by_drawing(builder, 1.0)[0] - mean, abs=0.01)
    before = builder.lamps()
    assert before.each_stops < sigma < hypot(before.common_stops, before.each_stops)


def test_the_lamp_on_the_page_of_the_sun_note_counts_too(builder):
    """It was left out: 60 to 90 min in the sun or under 500 W, at a distance that is not told."""
    foot, page = builder.lamp_notes()
    assert page.minutes == builder.notes()[0].minutes
    # two feet at the farthest; near by, a fan holds a plate at 40 C in a room of 20 C: 2500 W/m2
    assert page.metres == pytest.approx(((0.85 * 500.0 / (pi * 2500.0)) ** 0.5, 0.61), abs=0.001)
    each, dose = builder.lamps().each_stops, builder.seed().dose_kj_m2
    assert page.doubt_stops(each) > 1.5 * foot.doubt_stops(each)
    seen = [one.gain_stops(dose) for one in (foot, page)]
    assert seen[0] < log2(builder.lamp_seed()[0]) < seen[1]
    # both notes lie within what is believed of lamps: neither tells of another kind of light
    middle = builder.lamps().middle_stops
    for one, gain in zip((foot, page), seen, strict=True):
        away = hypot(one.doubt_stops(each), builder.lamps().common_stops)
        assert abs(gain - middle) < 1.2816 * away


def test_a_lamp_is_doubted_as_far_as_measured_floodlights_differ(builder):
    """It was a judged stop; four in five of these files' figures should lie in the range."""
    known = builder.lamps()
    whole = hypot(known.common_stops, known.each_stops)
    assert whole == pytest.approx(0.86, abs=0.01)
    assert known.each_stops < 0.5 * whole
    figures = [log2(one / (1000.0 / pi)) for way in builder.FLOODS for one in way]
    within = [abs(one - known.middle_stops) < 1.2816 * whole for one in figures]
    assert sum(within) >= 4


def test_one_range_for_the_dose_and_the_typical_lengths(builder):
    fact = trade.facts("development")["dose"]
    low, middle, high = (dose_range_j_m2(development_dose_j_m2()) / 1000.0).tolist()
    assert (fact.low, fact.high) == pytest.approx((low, high), rel=0.05)
    assert middle == fact.value
    step = next(one for one in trade.toml("steps")["step"] if one["key"] == "develop")
    least, most = builder.notes()[0].light
    assert step["low_minutes"] == pytest.approx(low / 0.06 / most, abs=3.0)
    assert step["high_minutes"] == pytest.approx(high / 0.06 / least, abs=6.0)


def test_no_lamps_minutes_are_read_as_minutes_of_sun(builder):
    """330 min are a lamp's: in the sun of the notes they would be ten times the lamp's dose."""
    strongest = builder.sunlight_w_m2(60.0, "sun")
    assert trade.facts("development")["dose"].high < 0.06 * 330.0 * strongest / 2.0
