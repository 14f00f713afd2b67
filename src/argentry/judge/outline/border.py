"""What encloses a plate: a frame, a mat, the white margin of a print. The plate is what lies in it.

A border has one tone on all four sides and ends at a sharp line. The lip of a holder leaves such a
line too, but a narrow one as dark as the plate's own shadows: it belongs to the plate.
"""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats, Truth
from argentry.judge.outline.piece_corners import corners_of
from argentry.judge.outline.straight import frame_of, sampled, through

_LONG_PX = 400  # of the plate as it is searched
_RING = 0.012, 0.022  # of the shorter side: where its tone is read, the bevel of a plate left out
_ONE_TONE, _EVEN = 0.15, 0.12  # of the logarithm: of each side from all, and within all
_APART = 0.25  # of the logarithm: what lies in it differs so much
_SHARP = 0.93  # of the area of what differs a little, what differs twice as much
_LEAST, _LIP = 0.025, 0.045  # of the shorter side: of a light border, and of one as dark as a lip
_CENTRED = 0.16  # of a side: so much wider one margin may be than the one across
_INNER = 0.25  # of the area, at least
_EDGE = 0.012  # of what lies in it
_NEST = 4  # borders about each other


def opening(linear: Floats, corners: Floats) -> tuple[Floats | None, bool]:
    """Return the corners of what lies within all borders, and whether there is a border.

    None where the opening of a border is not a rectangle.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    corners : ndarray, shape (4, 2)
        Of what looks like a plate, clockwise from the top left. [px]
    """
    found = corners
    for nested in range(_NEST):
        inner = _within_border(linear, found)
        if inner is None:
            return found, nested > 0
        if len(inner) == 0:
            return None, True
        found = inner
    return found, True


def _within_border(linear: Floats, corners: Floats) -> Floats | None:
    """Return the corners of what one border encloses; none of an odd opening, None without one."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    share = _LONG_PX / float(sides.max())
    step = max(1, int(0.7 / share))
    rows, columns = (max(40, round(float(one) * share)) for one in (sides[1], sides[0]))
    frame = frame_of(corners / step, rows, columns)
    shown = np.log(sampled(linear[::step, ::step], frame, rows, columns) + 0.002)
    body = _enclosed(shown)
    if body is None:
        return None
    inner = corners_of(body)
    if inner is None:
        return np.empty((0, 2))
    # the edge of the border and its shadow are left out
    inner = inner.mean(axis=0) + (1.0 - _EDGE) * (inner - inner.mean(axis=0))
    return np.stack(through(frame, *inner.T), axis=1) * step


def _enclosed(shown: Floats) -> Truth | None:
    """Return what a border of one tone encloses, or None without one.

    Parameters
    ----------
    shown : ndarray, shape (rows, columns, 3)
        Logarithm of what looks like a plate, straightened.
    """
    from scipy import ndimage

    rows, columns = shown.shape[:2]
    y, x = np.mgrid[0:rows, 0:columns]
    ways = np.stack([x, y, columns - 1 - x, rows - 1 - y]) / min(rows, columns)
    away = ways.min(axis=0)
    ring = (away >= _RING[0]) & (away <= _RING[1])
    tone = np.median(shown[ring], axis=0)
    off = np.abs(shown - tone).max(axis=2)
    each = np.array([np.median(shown[ring & (one == away)], axis=0) for one in ways])
    labels, count = ndimage.label(ndimage.binary_opening(off > _APART, iterations=2))
    uneven = np.abs(each - tone).max() > _ONE_TONE or np.quantile(off[ring], 0.8) > _EVEN
    if uneven or count == 0:
        return None
    body = ndimage.binary_fill_holes(labels == 1 + np.bincount(labels.ravel())[1:].argmax())
    strong = ndimage.binary_fill_holes(body & (off > 2 * _APART))
    margins = np.array([float(one[body].min()) for one in ways])
    darker = np.median(shown[body].mean(axis=1)) < tone.mean()
    across = np.abs(margins[:2] - margins[2:])
    whole = body.mean() >= _INNER and strong.sum() >= _SHARP * body.sum()
    wide = margins.min() >= (_LEAST if darker else _LIP)
    return body if whole and wide and across.max() <= _CENTRED else None
