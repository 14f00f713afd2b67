"""Parallel lines that a buff left: their direction and how clearly they stand out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_BLOCK = 48  # px
_QUIET = 0.4  # share of the blocks that count: those with least picture in them


@dataclass(frozen=True)
class BuffLines:
    """Parallel lines.

    Attributes
    ----------
    direction_deg : float
        Anticlockwise from the horizontal, 0 to 180. [deg]
    strength : float
        Coherence of the finest slopes over the quietest blocks: 0 none, 1 nothing but lines. [1]
    """

    direction_deg: float
    strength: float


def buff_lines(luminance: Floats) -> BuffLines:
    """Return the parallel lines of a plate, from where its picture is smoothest.

    Parameters
    ----------
    luminance : ndarray, shape (rows, columns)
        Of the plate straightened, linear.
    """
    from scipy import ndimage

    plain = np.log(np.maximum(luminance, 1e-4))
    edge = max(_BLOCK // 2, int(0.06 * min(plain.shape)))
    # slopes by Gaussians are alike in every direction; differences of neighbours are not
    down, across = (
        (ndimage.gaussian_filter(plain, 1.0, order) - ndimage.gaussian_filter(plain, 4.0, order))[
            edge:-edge, edge:-edge
        ]
        for order in ((1, 0), (0, 1))
    )
    rows, columns = down.shape[0] // _BLOCK, down.shape[1] // _BLOCK

    def blocks(values: Floats) -> Floats:
        cut = values[: rows * _BLOCK, : columns * _BLOCK]
        return np.asarray(cut.reshape(rows, _BLOCK, columns, _BLOCK).mean(axis=(1, 3)).ravel())

    xx, yy, xy = blocks(across * across), blocks(down * down), blocks(across * down)
    busy = xx + yy
    quiet = busy <= np.quantile(busy, _QUIET)
    # each block counts alike, whatever its contrast
    total = busy[quiet]
    cosine, sine = (
        float(np.median(one[quiet] / total)) for one in (xx - yy, 2.0 * xy)
    )  # of twice the angle of the slopes; rows count downwards
    angle = np.degrees(np.arctan2(-sine, cosine)) / 2.0 + 90.0
    return BuffLines(float(angle % 180.0), float(np.hypot(cosine, sine)))
