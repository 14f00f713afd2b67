"""Evenness of the coat and stillness of the air."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.evenness import convection_margin_k, evenness, relative_rate_per_k
from argentry.physics.iodine_box import hindrance_mm


def test_a_millimetre_of_tilt_is_five_percent_of_twenty():
    assert evenness(20.0, 1.0)["tilt"] == pytest.approx(0.05)
    assert evenness(20.0, 1.0, thickness_nm=45.0)["nm"] == pytest.approx(2.25, abs=0.01)


def test_a_kelvin_across_the_tray_is_nine_percent():
    assert relative_rate_per_k(20.0) == pytest.approx(0.090, abs=0.001)
    assert evenness(20.0, tray_difference_k=1.0)["tray"] == pytest.approx(0.090, abs=0.001)


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


def flux_tube(cover, cells=48, height=2.5):
    """Return the extra length of one crystal's cell, by finite volumes, in cell radii.

    A round cell of radius 1: a disc that holds c = 1 on a floor that holds nothing, the plate at
    c = 0 above. Gauss-Seidel would do; a sparse solver is quicker.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import spsolve

    rows, h = int(cells * height), 1.0 / cells
    r = (np.arange(cells) + 0.5) * h
    number = np.arange(rows * cells).reshape(rows, cells)
    ring = np.broadcast_to(2 * np.pi * r * h, (rows, cells))
    upward = ring[:-1] / h
    outward = np.broadcast_to(2 * np.pi * (np.arange(1, cells) * h), (rows, cells - 1))
    pairs = [(number[:-1], number[1:], upward), (number[:, :-1], number[:, 1:], outward)]
    own = np.zeros(rows * cells)
    i, j, v = [], [], []
    for a, b, g in ([part.ravel() for part in pair] for pair in pairs):
        np.add.at(own, a, g)
        np.add.at(own, b, g)
        i += [a, b]
        j += [b, a]
        v += [-g, -g]
    wall = 2 * ring[0] / h
    disc = number[0][r < np.sqrt(cover)]
    own[number[-1]] += wall
    own[disc] += wall[disc]
    source = np.zeros(rows * cells)
    source[disc] = wall[disc]
    i.append(number.ravel())
    j.append(number.ravel())
    v.append(own)
    matrix = coo_matrix((np.concatenate(v), (np.concatenate(i), np.concatenate(j)))).tocsr()
    flow = float((wall * spsolve(matrix, source)[number[-1]]).sum())
    return np.pi / flow - height


@pytest.mark.parametrize("cover", [0.5, 0.3, 0.1])
def test_bare_floor_hinders_as_the_field_between_crystals_does(cover):
    """The closed form for a partly covered floor against the field solved on a grid."""
    spacing_mm = np.sqrt(np.pi)  # one square cell has the area of a round one of radius 1 mm
    closed = float(hindrance_mm(np.asarray(cover), np.asarray(spacing_mm)))
    assert closed == pytest.approx(flux_tube(cover), rel=0.2)
