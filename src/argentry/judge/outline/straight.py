"""A plate as it would be seen straight on, and where its places lie in its picture."""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats


def straightened(linear: Floats, corners: Floats, rows: int, columns: int) -> Floats:
    """Return the plate as it would be seen straight on.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    corners : ndarray, shape (4, 2)
        Clockwise from the top left. [px]
    rows, columns : int
        Of the result. [px]
    """
    return sampled(linear, frame_of(corners, rows, columns), rows, columns)


def frame_of(corners: Floats, rows: int, columns: int) -> Floats:
    """Return the perspective from a straightened plate's pixels to those of its picture.

    Parameters
    ----------
    corners : ndarray, shape (4, 2)
        Clockwise from the top left. [px]
    rows, columns : int
        Of the straightened plate. [px]
    """
    right, low = columns - 0.5, rows - 0.5
    own = np.array([[-0.5, -0.5], [right, -0.5], [right, low], [-0.5, low]])
    equations, wanted = [], []
    for (u, v), (x, y) in zip(own, corners, strict=True):
        equations += [[u, v, 1, 0, 0, 0, -u * x, -v * x], [0, 0, 0, u, v, 1, -u * y, -v * y]]
        wanted += [x, y]
    return np.append(np.linalg.solve(np.array(equations), np.array(wanted)), 1.0).reshape(3, 3)


def through(turn: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return where places go by a perspective."""
    along, down, far = np.tensordot(turn, np.stack([x, y, np.ones_like(x)]), 1)
    return along / far, down / far


def sampled(linear: Floats, frame: Floats, rows: int, columns: int) -> Floats:
    """Return what a picture shows in a frame, each pixel a mean over what it covers.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    frame : ndarray, shape (3, 3)
        From the frame's pixels to the picture's.
    rows, columns : int
        Of the frame. [px]
    """
    from scipy import ndimage

    y, x = np.mgrid[0.0:rows, 0.0:columns]
    across, down = through(frame, x, y)
    # the longest step from a pixel to its neighbour, at the ends of the frame
    ends = np.array([[0, 0, columns - 1, columns - 1], [0, rows - 1, 0, rows - 1]], dtype=float)
    here = np.stack(through(frame, *ends))
    steps = [np.hypot(*(np.stack(through(frame, ends[0] + u, ends[1] + v)) - here))
             for u, v in ((1.0, 0.0), (0.0, 1.0))]  # fmt: skip
    wide = 0.35 * float(np.mean(steps))
    soft = ndimage.gaussian_filter(linear, (wide, wide, 0.0))
    return np.stack(
        [ndimage.map_coordinates(soft[..., i], [down, across], order=1, mode="nearest")
         for i in range(linear.shape[2])], axis=-1,
    )  # fmt: skip
