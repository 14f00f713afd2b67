"""Two pictures of one plate laid over each other, to a fraction of a pixel.

What is compared is fine detail, brought to one contrast everywhere, so that neither exposure nor
light nor gilding counts; details that only one of them has are left out. [1]_

References
----------
.. [1] B. D. Lucas, T. Kanade, 1981, with a perspective in place of a shift; weights by J. Tukey.
"""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats
from argentry.judge.outline.straight import through

_COARSE_PX = 110  # longest side at which the way up is looked for
_LEVELS = (6.0, 3.0, 1.5)  # of detail, coarse to fine [px]
_TURNS = 12  # steps at each
_CORNER_DOUBT = 0.004  # of the longer side: how far the corners may lie wrong
_RIM = 0.04  # of the shorter side that is left out: bevel and cloth


def detail(luminance: Floats, size: float) -> Floats:
    """Return the detail of a size, brought to one contrast.

    Parameters
    ----------
    luminance : ndarray, shape (rows, columns)
        Linear.
    size : float
        Standard deviation of the smoothing that it outlives. [px]
    """
    from scipy import fft

    plain = np.log(np.maximum(luminance, 0.0) + 0.004)
    # the widest smoothing reaches over hundreds of pixels: among the waves of a picture mirrored at
    # its rim each costs the same
    fine = fft.idctn(fft.dctn(plain) * (_bell(plain, size) - _bell(plain, 4.0 * size)))
    power = fft.idctn(fft.dctn(fine**2) * _bell(plain, 8.0 * size))
    power = np.sqrt(np.maximum(power, 0.0))
    # where there is little of it, it is mostly noise and counts little
    return np.asarray(fine / (power + np.quantile(power, 0.7) + 1e-6))


def _bell(values: Floats, size: float) -> Floats:
    """Return what a Gaussian smoothing leaves of each wave of a picture mirrored at its rim."""
    down, across = (np.exp(-0.5 * (np.pi * size * np.arange(n) / n) ** 2) for n in values.shape)
    return np.outer(down, across)


def way_up(before: Floats, after: list[Floats]) -> int:
    """Return which of several luminances shows what the first one shows.

    Parameters
    ----------
    before : ndarray, shape (rows, columns)
        Linear luminance of the plate.
    after : list of ndarray
        The same of the other picture, turned each way; of any size.
    """
    from scipy import ndimage

    def small(values: Floats) -> Floats:
        share = np.array([rows, columns]) / values.shape
        soft = ndimage.gaussian_filter(values, 0.4 / share)
        y, x = np.mgrid[0:rows, 0:columns]
        at = [(y + 0.5) / share[0] - 0.5, (x + 0.5) / share[1] - 0.5]
        shown = ndimage.map_coordinates(soft, at, order=1, mode="nearest")
        edge = max(2, round(_RIM * min(rows, columns)))
        return detail(shown, 1.0)[edge:-edge, edge:-edge]

    rows, columns = (round(one * _COARSE_PX / max(before.shape)) for one in before.shape)
    own = small(before)
    best = []
    for one in after:
        # the highest of all small shifts
        power = np.fft.rfft2(own) * np.conj(np.fft.rfft2(small(one)))
        over = np.fft.irfft2(power, own.shape)
        near = [*range(-4, 5)]
        best.append(float(over[np.ix_(near, near)].max()))
    return int(np.argmax(best))


def _held(wide: float, high: float) -> Floats:
    """Return how the four corners of a frame hold the eight numbers of a small perspective."""
    rows = []
    for x, y in ((-wide, -high), (wide, -high), (wide, high), (-wide, high)):
        rows += [[x, y, 1, 0, 0, 0, -x * x, -x * y], [0, 0, 0, x, y, 1, -x * y, -y * y]]
    every = np.array(rows)
    return np.asarray(every.T @ every)


def registered(before: Floats, after: Floats) -> tuple[Floats, float]:
    """Return the perspective from the pixels of one plate to those of the other, and the likeness.

    Parameters
    ----------
    before, after : ndarray, shape (rows, columns)
        Linear luminance of the plate, straightened roughly to the same frame.
    """
    from scipy import ndimage

    rows, columns = before.shape
    half = max(rows, columns) / 2
    # in units of half the frame from its middle, where the eight numbers are of like size
    unit = np.array([
        [1 / half, 0.0, -(columns - 1) / 2 / half], [0.0, 1 / half, -(rows - 1) / 2 / half],
        [0.0, 0.0, 1.0],
    ])  # fmt: skip
    back = np.linalg.inv(unit)
    turn = np.eye(3)
    held = _held(columns / 2 / half, rows / 2 / half) / (2 * _CORNER_DOUBT) ** 2
    edge = max(1, round(_RIM * min(rows, columns)))
    alike = 0.0
    for size in _LEVELS:
        own, other = detail(before, size), detail(after, size)
        step = max(1, round(size / 1.5))
        y, x = (
            a[edge:-edge:step, edge:-edge:step].ravel() for a in np.mgrid[0.0:rows, 0.0:columns]
        )
        wanted = own[edge:-edge:step, edge:-edge:step].ravel()
        down, across = np.gradient(other)
        u, v = through(unit, x, y)
        for _ in range(_TURNS):
            p, q = through(turn, u, v)
            at = through(back, p, q)[::-1]
            shown, slope_x, slope_y = (
                ndimage.map_coordinates(one, at, order=1, mode="nearest")
                for one in (other, across, down)
            )
            off = wanted - shown
            gx, gy = slope_x * half, slope_y * half
            lean = -(gx * p + gy * q)
            slopes = np.stack([gx * u, gx * v, gx, gy * u, gy * v, gy, lean * u, lean * v])
            far = 4.685 * 1.4826 * float(np.median(np.abs(off))) + 1e-9
            weight = np.clip(1.0 - (off / far) ** 2, 0.0, None) ** 2
            normal = (slopes * weight) @ slopes.T
            # what the edges say of the corners, against detail of which some neighbours are one
            doubt = (far / 4.685) ** 2 * (4.0 * size / step) ** 2
            normal += doubt * held
            gone = (turn - np.eye(3)).ravel()[:8]
            moved = np.linalg.solve(normal, (slopes * weight) @ off - doubt * held @ gone)
            turn = turn + np.append(moved, 0.0).reshape(3, 3)
            if np.abs(moved).max() * half < 0.01:
                break
        p, q = through(turn, u, v)
        shown = ndimage.map_coordinates(other, through(back, p, q)[::-1], order=1, mode="nearest")
        alike = float(np.corrcoef(wanted, shown)[0, 1])
    return back @ turn @ unit, alike
