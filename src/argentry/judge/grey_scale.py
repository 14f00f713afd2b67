"""A grey scale in the picture: from what the camera wrote to the share of white that was there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.arrays import Floats

Line = tuple[float, float, float, float]

NO_SCALE = "no grey scale is marked in the picture, and without one no density can be read"
NOT_EVEN = (
    "the grey scale does not darken from patch to patch: mark the middles of its first and last "
    "patch"
)
SCALE_CLIPPED = "the grey scale is overexposed: take it again with one stop less light"
BEYOND = "a mark lies outside the picture"
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])  # of linear sRGB (IEC 61966-2-1)
_SAME = 1e-3  # of a logarithm


@dataclass(frozen=True)
class Patch:
    """One field of a row of fields.

    Attributes
    ----------
    level : float
        Its linear luminance as the camera wrote it. [1]
    doubt : float
        Standard error of its decadic logarithm, from how its quarters differ. [1]
    clipped : bool
        True when it is overexposed.
    """

    level: float
    doubt: float
    clipped: bool


def row_of_patches(luminance: Floats, line: Line, count: int) -> tuple[Patch, ...] | str:
    """Return the fields of an even row, or why they cannot be read.

    Parameters
    ----------
    luminance : ndarray, shape (height, width)
        Linear.
    line : (x1, y1, x2, y2)
        Middles of the first and the last field. [px]
    count : int
        Fields, both ends included.
    """
    start, end = np.array(line[:2]), np.array(line[2:])
    step = (end - start) / (count - 1)
    pitch = float(np.hypot(*step))
    half = trade.value("seeing", "patch_share") * pitch / 2
    side = max(4, 2 * round(half))
    over = (np.arange(side) + 0.5) / side * 2 * half - half
    along, across = step / pitch, np.array([-step[1], step[0]]) / pitch
    grid = over[:, None, None] * across + over[None, :, None] * along
    found = []
    for k in range(count):
        x, y = np.moveaxis(start + k * step + grid, -1, 0)
        column, row = np.rint(x).astype(int), np.rint(y).astype(int)
        if (column < 0).any() or (row < 0).any():
            return BEYOND
        if (column >= luminance.shape[1]).any() or (row >= luminance.shape[0]).any():
            return BEYOND
        found.append(_patch(luminance[row, column]))
    return tuple(found)


def _patch(values: Floats) -> Patch:
    """Return the middle of a field: dust and scratches on it do not count."""
    low, high = np.quantile(values, (0.1, 0.9))
    kept = (values >= low) & (values <= high)
    level = float(values[kept].mean())
    middle = len(values) // 2
    quarters = [
        values[rows, columns][kept[rows, columns]].mean() if kept[rows, columns].any() else level
        for rows in (slice(None, middle), slice(middle, None))
        for columns in (slice(None, middle), slice(middle, None))
    ]
    spread = np.std(np.log10(np.maximum(quarters, 1e-5)), ddof=1) / 2
    return Patch(level, float(spread), level >= trade.value("seeing", "clipped_level"))


@dataclass(frozen=True)
class GreyScale:
    """What the camera made of known greys.

    Attributes
    ----------
    levels : ndarray
        Decadic logarithm of linear luminance, ascending.
    shares : ndarray
        Decadic logarithm of the share of white that reflects so.
    """

    levels: Floats
    shares: Floats

    def read(self, level: float) -> tuple[float, bool]:
        """Return the logarithm of a share of white, and True when it lies below the darkest grey.

        Beyond the ends nothing is extrapolated: the end stands for it.
        """
        from scipy.interpolate import PchipInterpolator

        at = float(np.log10(max(level, 1e-6)))
        low, high = float(self.levels[0]), float(self.levels[-1])
        within = PchipInterpolator(self.levels, self.shares)(min(max(at, low), high))
        return float(within), at < low - _SAME

    def shares_of(self, luminance: Floats) -> Floats:
        """Return shares of white, above the lightest grey and below the darkest in proportion."""
        from scipy.interpolate import PchipInterpolator

        at = np.log10(np.maximum(luminance, 1e-6))
        within = np.clip(at, self.levels[0], self.levels[-1])
        out: Floats = 10.0 ** (PchipInterpolator(self.levels, self.shares)(within) + at - within)
        return out


def grey_scale(luminance: Floats, line: Line, densities: Sequence[float]) -> GreyScale | str:
    """Return the curve of the picture by its grey scale, or why there is none.

    Parameters
    ----------
    luminance : ndarray, shape (height, width)
        Linear.
    line : (x1, y1, x2, y2)
        Middles of the first patch and the last. [px]
    densities : sequence of float
        Of the patches in that order. [1]
    """
    patches = row_of_patches(luminance, line, len(densities))
    if isinstance(patches, str):
        return patches
    pairs = [
        (float(np.log10(max(one.level, 1e-6))), -density)
        for one, density in zip(patches, densities, strict=True)
        if not one.clipped
    ]
    if len(pairs) < max(3, 0.75 * len(densities)):
        return SCALE_CLIPPED
    levels, shares = np.array(sorted(pairs, key=lambda pair: pair[1])).T
    steps = np.diff(levels)
    if (steps < -trade.value("seeing", "grey_slack")).any() or levels[-1] - levels[0] < 0.2:
        return NOT_EVEN
    rising = np.maximum.accumulate(levels) + 1e-6 * np.arange(levels.size)
    return GreyScale(rising, shares)
