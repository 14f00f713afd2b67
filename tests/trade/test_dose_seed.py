"""The starting dose of development light is what its own sources come to."""

import importlib.util
import sys
from math import hypot, log2, pi, prod
from pathlib import Path

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


def test_one_lamp_of_many_moves_their_middle_by_a_part_of_what_it_shows(builder):
    gain, sigma, share = builder.lamp_seed()
    sun, lamp = builder.notes()
    before = builder.lamps()
    matt = builder.lamp_w_m2(200.0, 0.305, 3000.0, 4.0)
    dose = builder.seed().dose_kj_m2
    seen = log2(dose / (0.06 * (180.0 * 330.0) ** 0.5 * matt))
    assert log2(gain) - before.middle_stops == pytest.approx(share * (seen - before.middle_stops))
    assert 0.2 < share < 0.6
    # one plate in five hours and one in three: no lamp is known better than from one to the next
    assert before.each_stops < sigma < hypot(before.common_stops, before.each_stops)
    assert seen < hypot(sun.doubt_stops, lamp.scatter_stops, builder.FOOT_STOPS, 1.0)


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
