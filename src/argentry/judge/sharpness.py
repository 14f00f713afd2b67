"""How sharp the picture on a plate is: the widths of its sharpest edges, against the copy's own.

An edge that is a step drawn soft by a bell of width s has slopes at two scales whose ratio gives s
and nothing else. [1]_ Detail of the plate itself (spots, scratches, grain) is sharper than a step
can be and is left out. The plate's own outline went through the copy's lens alone, and tells how
soft the copy is.

References
----------
.. [1] S. Zhuo, T. Sim, Pattern Recognition 44 (2011) 1852: blur from the ratio of two gradients.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry.arrays import Floats

MARGIN = 16  # pixels around the plate that the outline needs
_FINE, _WIDE = 1.2, 2.4  # px
_STANDS_OUT = 10.0  # times the slope of what is quiet
_SHARPEST = 0.1  # share of the edges of a direction that are taken for steps
_TURNS, _LEAST = 6, 60  # directions told apart, edges that each needs
_INNER = 0.06  # of the shorter side: so far in lies the picture
_DIRECTIONS, _FLOOR = 4, 0.5  # of which something must be known; px
_OUTLINE = 4.0  # px to either side of the plate's own edge


@dataclass(frozen=True)
class Sharpness:
    """How sharp edges are.

    Attributes
    ----------
    widths : tuple of float or None
        Of the sharpest edges by direction of their slope, from 0 in steps of 30 degrees
        anticlockwise, standard deviation of a bell; None where there are too few. [px]
    copy : float or None
        The same of the plate's own outline; None without a clear one. [px]
    """

    widths: tuple[float | None, ...]
    copy: float | None

    @property
    def own(self) -> float | None:
        """Softness of the picture without that of the copy, in its soft directions. [px].

        The softest of all does not count: it may hold nothing but soft outlines of the subject.
        """
        told = [one for one in self.widths if one is not None]
        if len(told) < _DIRECTIONS or self.copy is None:
            return None
        return float(np.sqrt(max(sorted(told)[-2] ** 2 - self.copy**2, 0.0)))

    @property
    def uneven(self) -> float:
        """Softness of the soft directions against the sharp ones, copy taken out. [1]."""
        told = [one for one in self.widths if one is not None]
        if len(told) < _DIRECTIONS or self.copy is None:
            return 1.0
        told.sort()
        least, most = (
            np.sqrt(max(one**2 - self.copy**2, _FLOOR**2)) for one in (told[1], told[-2])
        )
        return float(most / least)


def sharpness(luminance: Floats) -> Sharpness:
    """Return how sharp the picture on a plate is.

    Parameters
    ----------
    luminance : ndarray, shape (rows, columns)
        Linear, of the plate straightened with `MARGIN` pixels of its surroundings on each side.
    """
    from scipy import ndimage

    plain = np.sqrt(np.maximum(luminance, 0.0))
    rows, columns = plain.shape
    fine, wide = (
        [ndimage.gaussian_filter(plain, size, order) for order in ((0, 1), (1, 0))]
        for size in (_FINE, _WIDE)
    )
    steep, soft = np.hypot(*fine), np.hypot(*wide)
    across, down = (one / np.maximum(soft, 1e-9) for one in wide)
    y, x = np.mgrid[0:rows, 0:columns]
    # a little more or less than its neighbours up and down the slope
    before, after = (
        ndimage.map_coordinates(soft, [y + sign * down, x + sign * across], order=1)
        for sign in (-1.0, 1.0)
    )
    away = np.minimum.reduce([y, x, rows - 1 - y, columns - 1 - x]) - MARGIN
    inner = away >= _INNER * (min(rows, columns) - 2 * MARGIN)
    top = (soft > before) & (soft >= after)
    for slope in (steep, soft):
        top &= slope > _STANDS_OUT * float(np.quantile(slope[inner], 0.3))
    share = ndimage.maximum_filter(steep, 3)[top] / soft[top]
    width = np.sqrt(
        np.clip((_WIDE**2 - (share * _FINE) ** 2) / np.maximum(share**2 - 1.0, 1e-3), 0.0, 400.0)
    )
    step = share < 1.05 * _WIDE / _FINE
    turn = (np.degrees(np.arctan2(-down[top], across[top])) % 180.0 // (180.0 / _TURNS)).astype(int)
    told = [_sharpest(width[step & inner[top] & (turn == kind)], _LEAST) for kind in range(_TURNS)]
    outline = step & (np.abs(away[top] + 0.5) <= _OUTLINE)
    return Sharpness(tuple(told), _sharpest(width[outline], 4 * _LEAST))


def _sharpest(widths: Floats, least: int) -> float | None:
    return float(np.quantile(widths, _SHARPEST)) if widths.size >= least else None
