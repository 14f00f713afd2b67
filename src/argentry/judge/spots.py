"""Small round spots on a smooth ground, bright and dark."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.judge.grey_scale import Line

_SIGMAS = (1.0, 1.5, 2.25, 3.4, 5.0, 7.5, 11.0)
_MOST = 2000


@dataclass(frozen=True)
class Spot:
    """One spot.

    Attributes
    ----------
    x, y : float
        Its middle. [px]
    diameter : float
        [px]
    tone : str
        light or dark.
    contrast : float
        Natural logarithm of its luminance against the ground. [1]
    """

    x: float
    y: float
    diameter: float
    tone: str
    contrast: float


def spots(luminance: Floats, part: Line) -> tuple[Spot, ...] | None:
    """Return the spots on a smooth part of a picture; None where that is not in it, or too small.

    Differences of Gaussians at several sizes, against the noise of the ground itself.

    Parameters
    ----------
    luminance : ndarray, shape (height, width)
        Linear.
    part : (x, y, width, height)
        The part. [px]
    """
    from scipy import ndimage

    left, top, wide, high = (round(one) for one in part)
    left, top = max(0, left), max(0, top)
    ground = np.log(np.maximum(luminance[top : top + high, left : left + wide], 1e-4))
    if min(ground.shape) < 16:
        return None
    blurred = [ndimage.gaussian_filter(ground, sigma, mode="reflect") for sigma in _SIGMAS]
    found: list[Spot] = []
    taken = np.zeros(ground.shape, dtype=bool)
    least, times = (trade.value("seeing", f"spot_{key}") for key in ("contrast", "noise_times"))
    layers = np.stack([fine - wide_ for fine, wide_ in pairwise(blurred)])
    noise = np.array([1.4826 * np.median(np.abs(one - np.median(one))) for one in layers])
    score = np.abs(layers) / np.maximum(noise, 1e-6)[:, None, None]
    best = score.max(axis=0)
    size = layers[np.abs(layers).argmax(axis=0), *np.indices(ground.shape)]
    peaks = (best == ndimage.maximum_filter(best, 5)) & (best > times)
    rows, columns = np.nonzero(peaks)
    for at in np.argsort(-best[rows, columns])[:_MOST]:
        row, column = int(rows[at]), int(columns[at])
        if taken[row, column]:
            continue
        bright = bool(size[row, column] > 0)
        spot = _measured(ground, row, column, bright=bright, least=least)
        if spot is None:
            continue
        radius = spot.diameter / 2
        y, x = np.ogrid[: ground.shape[0], : ground.shape[1]]
        near = np.hypot(y - row, x - column) <= radius + 3
        taken |= near
        found.append(Spot(spot.x + left, spot.y + top, spot.diameter, spot.tone, spot.contrast))
    return tuple(found)


def _measured(ground: Floats, row: int, column: int, *, bright: bool, least: float) -> Spot | None:
    """Return a spot with its half-contrast diameter; None when it is too faint or not round."""
    from scipy import ndimage

    reach = 40
    y0, x0 = max(0, row - reach), max(0, column - reach)
    own = ground[y0 : row + reach + 1, x0 : column + reach + 1]
    level = float(np.median(own))
    soft = ndimage.gaussian_filter(own, 0.6) - level
    soft = soft if bright else -soft
    peak = float(soft[row - y0, column - x0])
    if peak < least:
        return None
    labels, _ = ndimage.label(soft > peak / 2)
    mine = labels == labels[row - y0, column - x0]
    area = int(mine.sum())
    ys, xs = np.nonzero(mine)
    long = max(np.ptp(ys), np.ptp(xs)) + 1
    if area < 4 or long > 2.2 * np.sqrt(area):  # a line or an edge, and no spot
        return None
    return Spot(
        float(xs.mean()) + x0, float(ys.mean()) + y0, float(np.sqrt(4 * area / np.pi)),
        "light" if bright else "dark", peak,
    )  # fmt: skip
