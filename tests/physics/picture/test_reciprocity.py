"""How long the lens stays open, by light and by the law of reciprocity."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.picture.reciprocity import (
    exposure_end_table,
    exposure_seconds,
    lens_closes,
    reciprocity,
)


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: reciprocity(exponent=9.0), "reciprocity exponent"),
        (lambda: reciprocity(reference_s=0.0), "speed is stated"),
    ],
)
def test_a_law_that_cannot_be_is_refused(call, what):
    with pytest.raises(BadInput, match=what):
        call()


@given(st.floats(1.0, 500.0), st.floats(10.0, 40000.0), st.floats(0.0, 600.0))
def test_steady_light_lasts_dose_over_light(light, wanted, start):
    series = np.full(400, light)
    seconds = float(exposure_seconds(series, 60.0, wanted, start_s=start))
    if np.isnan(seconds):
        assert wanted / light > 400 * 60 - start - 1e-6
    else:
        assert seconds == pytest.approx(wanted / light)


def test_the_sun_moving_lengthens_a_late_exposure():
    falling = np.linspace(50.0, 0.0, 240)
    early, late = (exposure_seconds(falling, 60.0, 6000.0, start_s=s) for s in (0.0, 1e4))
    assert late > 2 * early


@pytest.mark.parametrize("exponent", [0.85, 0.95, 1.05])
def test_an_exponent_changes_nothing_at_its_reference_time_and_bends_the_rest(exponent):
    reference = trade.value("exposure", "reciprocity_reference")
    light = np.full(600, 10.0)
    doses = 10.0 * np.array([reference, 16 * reference])
    law = reciprocity(exponent)
    at, beyond = exposure_seconds(light, 60.0, doses, law=law)
    assert at == pytest.approx(reference, rel=1e-4)
    assert beyond == pytest.approx(reference * 16 ** (1 / exponent), rel=1e-4)


@given(st.floats(0.8, 1.1), st.floats(0.0, 80.0), st.floats(1.0, 60.0))
def test_an_exposure_ends_when_its_effect_is_reached_under_any_light(exponent, start, minutes):
    # the effect, summed in fine steps as its definition says: light x (t/t0)^(p - 1)
    light = 20.0 + 15.0 * np.sin(np.arange(240) / 30.0)
    total = np.concatenate(([0.0], np.cumsum(light) * 60.0))
    law, edges = reciprocity(exponent), np.arange(241)

    def effect(end):
        had = np.interp(end, edges, total) - np.interp(start, edges, total)
        return had * (60.0 * (end - start) / law.reference_s) ** (exponent - 1.0)

    dose = effect(start + minutes)
    found = exposure_seconds(light, 60.0, dose, start_s=60.0 * start, law=law)
    assert found == pytest.approx(60.0 * minutes, rel=1e-3)
    table = exposure_end_table(total, dose, 60.0, law)
    here = exposure_seconds(light, 60.0, dose, start_s=60.0 * round(start), law=law)
    assert 60.0 * (table[round(start)] - round(start)) == pytest.approx(here, rel=1e-4)


def test_a_law_of_equal_products_asks_the_light_once_and_others_until_nothing_moves():
    asked = []

    def reach(doses):
        asked.append(doses)
        return doses / 10.0

    lens_closes(reach, np.array([50.0]), 0.0, 100.0, 60.0, reciprocity(1.0))
    assert len(asked) == 1
    asked.clear()
    end = lens_closes(reach, np.array([50.0]), 0.0, 100.0, 60.0, reciprocity(0.95, 300.0))
    assert end == pytest.approx([5.0], abs=1e-4)  # stated at 5 min: nothing is changed there
    assert len(asked) == 2


def test_a_table_of_many_doses_holds_each_as_it_is_alone():
    total = np.concatenate(([0.0], np.cumsum(np.linspace(40.0, 5.0, 60)) * 60.0))
    law, doses = reciprocity(0.9), np.array([2000.0, 9000.0, 60_000.0])
    both = exposure_end_table(total, doses, 60.0, law)
    for row, dose in zip(both, doses, strict=True):
        alone = exposure_end_table(total, float(dose), 60.0, law)
        np.testing.assert_allclose(row, alone, atol=2e-4)  # of a minute: all move until none does
    two = exposure_end_table(np.stack([total, 2.0 * total]), doses[0], 60.0, law)
    np.testing.assert_allclose(two[0], both[0], atol=2e-4)
    assert two.shape == (2, 61)
