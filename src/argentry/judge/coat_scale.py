"""The studio's own scale: bands of known coats on one plate, by one phone under one lamp.

The bands bend the model of film, camera and lamp to what that pair shows: between two bands by
both, beyond the first and the last as there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.judge.bare_silver import CLIPPED, bare_strip
from argentry.judge.coat_map import GRID_NM
from argentry.judge.plate_edges import NOT_FOUND, plate_corners, straightened
from argentry.physics.coat import colour

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.judge.grey_scale import Line
    from argentry.judge.plate_edges import Floats

HIGH, WIDE = 288, 384  # px of the plate straightened
OUTSIDE = "band {number} does not lie in the picture"
_AROUND = 0.2  # of the way from band to band that is read about a middle, to each side
_LEAST = 1e-3


def band_colours(
    picture: NDArray[np.uint8], ends: Line, count: int, bare: str | None
) -> tuple[Floats, Floats] | str:
    """Return the colours of bands beside bare silver and the plate's corners, or why not.

    Parameters
    ----------
    picture : ndarray, shape (height, width, 3)
        8-bit sRGB, upright.
    ends : (x1, y1, x2, y2)
        Middles of the first band and the last. [px]
    count : int
        How many bands there are, alike wide. [1]
    bare : str or None
        The plate's edge with bare silver; None: to be found.

    Returns
    -------
    (ndarray of shape (count, 3), ndarray of shape (4, 2)) or str
        Red, green and blue over those of bare silver [1], and the corners [px].
    """
    linear = colour.from_srgb_bytes(picture)
    corners = plate_corners(linear)
    if corners is None:
        return NOT_FOUND
    strip = bare_strip(straightened(linear, corners, HIGH, WIDE), bare)
    if isinstance(strip, str):
        return strip
    xs, ys = (np.linspace(ends[axis], ends[axis + 2], count) for axis in (0, 1))
    around = max(2, int(_AROUND * np.hypot(xs[1] - xs[0], ys[1] - ys[0])))
    found = []
    places = np.stack([xs, ys], axis=1).round().astype(int).tolist()
    for number, (x, y) in enumerate(places, 1):
        part = linear[max(0, y - around) : y + around + 1, max(0, x - around) : x + around + 1]
        if not part.size:
            return OUTSIDE.format(number=number)
        own = np.median(part.reshape(-1, 3), axis=0)
        if (own >= trade.value("seeing", "clipped_level")).any():
            return CLIPPED
        found.append(own / strip.rgb)
    return np.array(found), corners


def bent(look: Floats, bands: Floats) -> Floats:
    """Return the colours of coats on `GRID_NM` as a scale has them.

    Parameters
    ----------
    look : ndarray, shape (251, 3)
        By the model: red, green and blue over those of bare silver. [1]
    bands : ndarray, shape (n, 4)
        Thickness, rising [nm], and the same three of each band.
    """
    nm, seen = bands[:, 0], np.log(np.maximum(bands[:, 1:], _LEAST))
    model = np.log(np.maximum(look, _LEAST))
    off = [
        np.interp(GRID_NM, nm, seen[:, k] - np.interp(nm, GRID_NM, model[:, k])) for k in range(3)
    ]
    return np.asarray(np.exp(model + np.stack(off, axis=1)))
