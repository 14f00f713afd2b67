"""How the room changes the length of a step."""

import math

import pytest

from argentry.errors import BadInput
from argentry.physics.room.durations import drying_factor, temperature_factor


def test_at_its_reference_a_step_lasts_as_written():
    assert temperature_factor(60.0, 20.0, 20.0) == 1.0
    assert temperature_factor(0.0, 5.0, 20.0) == 1.0
    assert drying_factor(50.0, 50.0) == 1.0


def test_the_law_of_arrhenius_by_hand():
    # Atkins: doubling from 298.15 K to 308.15 K is an activation energy of 53 kJ/mol
    assert temperature_factor(52.9, 25.0, 35.0) == pytest.approx(2.0, abs=0.01)
    by_hand = math.exp(40_000 / 8.314462618 * (1 / 283.15 - 1 / 293.15))
    assert temperature_factor(40.0, 10.0, 20.0) == pytest.approx(by_hand)


def test_colder_is_slower_and_there_and_back_is_one():
    assert temperature_factor(40.0, 10.0, 20.0) > 1.0 > temperature_factor(40.0, 30.0, 20.0)
    back = temperature_factor(40.0, 10.0, 20.0) * temperature_factor(40.0, 20.0, 10.0)
    assert back == pytest.approx(1.0)


def test_drying_goes_with_the_distance_from_saturation():
    assert drying_factor(90.0, 50.0) == pytest.approx(5.0)
    assert drying_factor(0.0, 50.0) == pytest.approx(0.5)
    assert drying_factor(98.0, 0.0) == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: temperature_factor(-1.0, 20.0, 20.0), "activation energy"),
        (lambda: temperature_factor(201.0, 20.0, 20.0), "activation energy"),
        (lambda: temperature_factor(20.0, -0.1, 20.0), "temperature"),
        (lambda: temperature_factor(20.0, 20.0, 60.1), "reference temperature"),
        (lambda: drying_factor(98.1, 50.0), "relative humidity"),
        (lambda: drying_factor(50.0, -0.1), "reference humidity"),
    ],
)
def test_what_is_out_of_range_is_refused(call, what):
    with pytest.raises(BadInput, match=what):
        call()
