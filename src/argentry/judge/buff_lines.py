"""Parallel lines that a buff left: their direction and how clearly they stand out.

A picture that moved draws its fine details as short streaks, all one way, which look like lines of
a buff at every place. But those of a buff run on: what lies far along a line is still like it.
Nor are the blocks in which a JPEG is packed, or grain, like themselves anywhere along a line.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.arrays import Floats

_BLOCK = 48  # px
_QUIET = 0.4  # share of the blocks that count: those with least picture in them
_NEAR, _FAR = 8.0, 30.0  # px along a line: farther than a picture moves between two looks at it
_TURNS = np.arange(-6.0, 6.5, 1.0)  # about the direction of the slopes, which picture bends [deg]
_LEAST = 0.03  # coherence below which no line is followed


@dataclass(frozen=True)
class BuffLines:
    """Parallel lines.

    Attributes
    ----------
    direction_deg : float
        Anticlockwise from the horizontal, 0 to 180. [deg]
    strength : float
        Coherence of the finest slopes over the quietest blocks: 0 none, or lines that do not run
        on; 1 nothing but lines. [1]
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
    down, across, fine = (
        (ndimage.gaussian_filter(plain, 1.0, order) - ndimage.gaussian_filter(plain, 4.0, order))[
            edge:-edge, edge:-edge
        ]
        for order in ((1, 0), (0, 1), (0, 0))
    )
    rows, columns = down.shape[0] // _BLOCK, down.shape[1] // _BLOCK

    def blocks(values: Floats) -> Floats:
        cut = values[: rows * _BLOCK, : columns * _BLOCK]
        return np.asarray(cut.reshape(rows, _BLOCK, columns, _BLOCK).mean(axis=(1, 3)).ravel())

    xx, yy, xy = blocks(across * across), blocks(down * down), blocks(across * down)
    busy = xx + yy
    quiet = busy <= np.quantile(busy, _QUIET)
    # each block counts alike, whatever its contrast
    total = np.maximum(busy[quiet], 1e-12)  # a flat block has no slopes
    cosine, sine = (
        float(np.median(one[quiet] / total)) for one in (xx - yy, 2.0 * xy)
    )  # of twice the angle of the slopes; rows count downwards
    angle = np.degrees(np.arctan2(-sine, cosine)) / 2.0 + 90.0
    strength = float(np.hypot(cosine, sine))
    if strength < _LEAST:
        return BuffLines(float(angle % 180.0), strength)
    there = np.kron(quiet.reshape(rows, columns), np.ones((_BLOCK, _BLOCK)))
    fine = fine[: rows * _BLOCK, : columns * _BLOCK] * there
    near, far = (_likeness(fine, angle, lag) for lag in (_NEAR, _FAR))
    most = max(far.values())
    close = max(near.values())
    if min(most, close) < trade.value("seeing", "buff_alike_from") or (
        most <= trade.value("seeing", "buff_runs_on_from") * close
    ):
        return BuffLines(float(angle % 180.0), 0.0)
    worth = np.maximum(np.array(list(far.values())) - 0.7 * most, 0.0)
    return BuffLines(float(np.average(list(far), weights=worth) % 180.0), strength)


def _likeness(fine: Floats, angle: float, lag: float) -> dict[float, float]:
    """Return how like itself fine detail is, so far along each direction about one. [deg: 1]."""
    turns = np.radians(angle + _TURNS)
    steps = {(round(lag * np.cos(one)), -round(lag * np.sin(one))) for one in turns}
    found = {}
    for across, down in steps:
        own = np.degrees(np.arctan2(-down, across))
        found[float(angle + (own - angle + 90.0) % 180.0 - 90.0)] = _alike(fine, across, down)
    return found


def _alike(fine: Floats, across: int, down: int) -> float:
    """Return how like itself a plate's fine detail is after a step in pixels. [1]."""
    rows, columns = fine.shape
    here = fine[max(down, 0) : rows + min(down, 0), max(across, 0) : columns + min(across, 0)]
    there = fine[max(-down, 0) : rows + min(-down, 0), max(-across, 0) : columns + min(-across, 0)]
    both = (here != 0.0) & (there != 0.0)  # of what is not quiet nothing counts
    own, other = here[both], there[both]
    whole = float(np.sqrt((own @ own) * (other @ other)))
    return float(own @ other) / whole if whole > 0.0 else 0.0
