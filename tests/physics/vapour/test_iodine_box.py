"""The box: what its floor, gap and air let through."""

import numpy as np
import pytest

from argentry.physics.vapour.iodine_box import hindrance_mm


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
