"""What a reading of water means."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.baths.water import (
    HARDNESS,
    at_25c,
    drop_ring_nm,
    hardness_mg_l,
    residue_ug_cm2,
    silver_chloride_nm,
    solids_mg_l,
)


def test_temperature_and_solids():
    assert at_25c(500.0, 25.0) == pytest.approx(500.0)
    assert at_25c(500.0, 30.0) == pytest.approx(500.0 / 1.1)
    assert solids_mg_l(0.055) == 0.0
    assert solids_mg_l(0.0) == 0.0
    assert solids_mg_l(100.055) == pytest.approx(65.0)


@given(st.floats(0.0, 1000.0), st.floats(1.0, 500.0))
def test_residues_go_with_salt_and_film(solids, film):
    assert residue_ug_cm2(solids, film) == pytest.approx(solids * film * 1e-4)
    assert residue_ug_cm2(solids) == pytest.approx(solids * 50.0 * 1e-4)


@given(st.floats(0.1, 500.0), st.floats(1.0, 500.0))
def test_the_size_of_a_flat_drop_does_not_matter(solids, drop):
    # mg/L times 1.5 mm of height, in a tenth of the area, at 2 g/cm3
    assert drop_ring_nm(solids, drop) == pytest.approx(solids * 7.5, rel=1e-9)
    assert drop_ring_nm(solids) == pytest.approx(float(drop_ring_nm(solids, drop)))


def test_chloride_as_silver_chloride():
    # 50 mg/L over 50 um: 0.25 ug/cm2 of chloride, 143.32/35.45 as salt, 5.56 g/cm3
    assert silver_chloride_nm(50.0, 50.0) == pytest.approx(0.25 * 143.32 / 35.45 / 0.556, rel=1e-3)
    assert silver_chloride_nm(50.0) == pytest.approx(float(silver_chloride_nm(50.0, 50.0)))


@given(st.sampled_from(sorted(HARDNESS)), st.floats(0.0, 100.0))
def test_hardness_is_linear(unit, amount):
    assert hardness_mg_l(amount, unit) == pytest.approx(amount * HARDNESS[unit])


def test_units_of_hardness_stand_as_published():
    """Degrees as handbooks print them, in mg/L of CaCO3 (the figures are from memory)."""
    told = {unit: hardness_mg_l(1.0, unit) for unit in HARDNESS}
    published = {
        "mg/L": 1.0, "ppm": 1.0, "dH": 17.85, "fH": 10.0, "eH": 14.25, "gpg": 17.12,
        "mmol/L": 100.09,
    }  # fmt: skip
    assert told == pytest.approx(published, rel=1e-3)


@pytest.mark.parametrize(
    "call",
    [
        lambda: at_25c(-1.0, 20.0),
        lambda: at_25c(1.0, 90.0),
        lambda: solids_mg_l(np.nan),
        lambda: hardness_mg_l(10.0, "clark"),
        lambda: hardness_mg_l(-1.0, "dH"),
        lambda: residue_ug_cm2(-1.0),
        lambda: drop_ring_nm(1.0, 0.0),
    ],
)
def test_bad_input(call):
    with pytest.raises(BadInput):
        call()


@pytest.mark.parametrize(
    ("call", "low", "high"),
    [
        (lambda x: at_25c(100.0, x), 0.0, 60.0),
        (lambda x: at_25c(x, 25.0), 0.0, 2e5),
        (solids_mg_l, 0.0, 2e5),
        (residue_ug_cm2, 0.0, 1e5),
        (lambda x: residue_ug_cm2(1.0, x), 0.0, 1e4),
        (drop_ring_nm, 0.0, 1e5),
        (lambda x: drop_ring_nm(1.0, x), 0.1, 1e4),
        (lambda x: hardness_mg_l(x, "dH"), 0.0, 1e4),
    ],
)
def test_ranges_hold_to_their_ends(call, low, high):
    for end in (low, high):
        call(end)
    for beyond in (low - 1e-3 * (high - low), high * 1.001):
        with pytest.raises(BadInput, match="out of range"):
            call(beyond)
