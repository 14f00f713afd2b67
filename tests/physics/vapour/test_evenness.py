"""Evenness of the coat and stillness of the air."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.vapour.evenness import convection_margin_k, evenness, relative_rate_per_k


def test_a_millimetre_of_tilt_is_five_percent_of_twenty():
    assert evenness(20.0, 1.0)["tilt"] == pytest.approx(0.05)
    assert evenness(20.0, 1.0, thickness_nm=45.0)["nm"] == pytest.approx(2.25, abs=0.01)


def test_a_kelvin_across_the_tray_is_nine_percent():
    assert relative_rate_per_k(20.0) == pytest.approx(0.090, abs=0.001)
    assert evenness(20.0, tray_difference_k=1.0)["tray"] == pytest.approx(0.090, abs=0.001)


def test_all_causes_together_add_up():
    every = {"tilt_mm": 1.0, "crystal_spacing_mm": 30.0, "cover_share": 0.5}
    told = evenness(20.0, thickness_nm=40.0, tray_difference_k=1.0, **every)
    assert min(told["ripple"], told["tilt"], told["tray"]) > 0.01
    assert told["relative"] == pytest.approx(told["ripple"] + told["tilt"] + told["tray"])
    assert told["nm"] == pytest.approx(40.0 * told["relative"])
    calm = evenness(20.0, thickness_nm=40.0, **every)
    assert told["relative"] - calm["relative"] == pytest.approx(told["tray"])


def test_gap_wider_than_the_spacing_hides_the_crystals():
    """Common practice and Laplace: a gap of one spacing leaves little, half of one leaves much."""
    hidden = evenness(20.0, 0.0, 20.0, cover_share=0.5)["ripple"]
    seen = evenness(20.0, 0.0, 40.0, cover_share=0.5)["ripple"]
    assert hidden < 0.03
    assert seen > 0.3


@settings(deadline=None)
@given(st.floats(3.0, 100.0), st.floats(0.5, 99.0), st.floats(0.02, 1.0))
def test_ripple_fades_with_gap(gap, spacing, cover):
    near = evenness(gap, 0.0, spacing, cover_share=cover)["ripple"]
    far = evenness(gap * 1.1, 0.0, spacing, cover_share=cover)["ripple"]
    assert 0 <= far <= near
    assert np.isfinite(near)


@pytest.mark.parametrize(
    "wrong",
    [
        {"gap_mm": 0.0},
        {"gap_mm": 20.0, "tilt_mm": 25.0},
        {"gap_mm": 20.0, "crystal_spacing_mm": float("nan")},
        {"gap_mm": 20.0, "thickness_nm": -1.0},
    ],
)
def test_evenness_refuses_nonsense(wrong):
    with pytest.raises(BadInput):
        evenness(**wrong)


@pytest.mark.parametrize(("gap", "thermal"), [(10, 16.6), (20, 2.1), (30, 0.61), (40, 0.26)])
def test_colder_plate_over_a_deeper_box_turns_the_air_over(gap, thermal):
    heavy_vapour_k = 0.6
    margin = float(convection_margin_k(gap, 20.0, 20.0))
    assert margin == pytest.approx(thermal + heavy_vapour_k, rel=0.03, abs=0.02)
    assert convection_margin_k(gap, 20.0, 20.0 - margin - 0.05) < 0 < margin


def test_a_warm_plate_keeps_the_air_still():
    assert convection_margin_k(40.0, 20.0, 27.0) > convection_margin_k(40.0, 20.0, 20.0)


def test_convection_refuses_what_is_no_gap():
    with pytest.raises(BadInput):
        convection_margin_k(0.0, 20.0, 20.0)


@pytest.mark.parametrize("cover", [1.0, 0.5])
@pytest.mark.parametrize("gap", [2.0, 5.0, 20.0])
def test_hills_and_bare_floor_ripple_as_laplace_says(gap, cover):
    """Flow from stripes fades by 1 / cosh(k L), hills by k L / sinh(k L), both ways from the mean.

    The first harmonic of stripes over a share c of the floor is 2 sin(pi c) / (pi c) of their mean.
    """
    height = 2.0 * np.pi * gap / 25.0
    bump = trade.value("fuming", "crystal_bump") * 25.0 / gap
    stripes = 2.0 * np.sin(np.pi * cover) / (np.pi * cover)
    told = evenness(gap, 0.0, 25.0, cover_share=cover)["ripple"]
    expected = 2.0 * (stripes / np.cosh(height) + bump * height / np.sinh(height))
    assert told == pytest.approx(expected, rel=1e-9)
