"""Scratches: fine lines sharper than a picture, lighter or darker than both their sides.

A line is looked for in every direction against how much the same direction varies round about, so
that parallel lines of a buff do not count. Fine straight lines of the subject look alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Short = NDArray[np.float32]

_TURNS = 18  # directions looked along
_HALF = 12  # half of the length that is looked along [px]
_FINE, _WIDE = 1.1, 2.6  # of a line across, and of an edge [px]
_BLOCK = 48  # px in which the usual is told
_RIM = 0.04  # of the shorter side that is left out
_SIDE, _ALIKE = 5.0, 0.5  # px to its sides; of its height that they may differ by
_STRAIGHT = 0.12  # of its length that a line may be wide, bent as it may be


@dataclass(frozen=True)
class Scratch:
    """One fine line.

    Attributes
    ----------
    start, end : (float, float)
        [px]
    tone : str
        light or dark.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    tone: str


def scratches(luminance: Floats) -> tuple[Scratch, ...]:
    """Return the scratches on a plate, the longest first.

    Parameters
    ----------
    luminance : ndarray, shape (rows, columns)
        Of the plate straightened, linear.
    """
    from scipy import ndimage

    plain = np.log(np.maximum(luminance, 0.0) + 0.004)
    short = plain.astype(np.float32)  # enough for a score, and a sixth of a plate's time less
    clear, tone = np.zeros(plain.shape), np.zeros(plain.shape, dtype=np.int8)
    for turn in np.arange(_TURNS) * np.pi / _TURNS:
        line, edge = _along(short, turn)
        score = np.abs(line) / _usual(line)
        score[np.abs(line) < np.abs(edge)] = 0.0
        better = score > clear
        clear[better], tone[better] = score[better], np.sign(line[better])
    rim = max(_HALF, round(_RIM * min(plain.shape)))
    clear[:rim] = clear[-rim:] = 0.0
    clear[:, :rim] = clear[:, -rim:] = 0.0
    least = trade.value("seeing", "scratch_noise_times")
    long = trade.value("seeing", "scratch_least_share") * max(plain.shape)
    soft, found = ndimage.gaussian_filter(plain, 0.7), []
    for sign, name in ((1, "light"), (-1, "dark")):
        weak = (clear > 0.6 * least) & (tone == sign)
        labels, count = ndimage.label(weak, np.ones((3, 3)))
        strong = ndimage.maximum(clear, labels, np.arange(1, count + 1))
        for part, most, label in zip(
            ndimage.find_objects(labels), np.atleast_1d(strong), range(1, count + 1), strict=True
        ):
            if most < least:
                continue
            ys, xs = np.nonzero(labels[part] == label)
            ends = _ends(soft, xs + part[1].start, ys + part[0].start, long)
            if ends is not None:
                found.append(Scratch(*ends, name))
    return tuple(sorted(found, key=lambda one: -float(np.hypot(*np.subtract(one.end, one.start)))))


def _along(plain: Short, turn: float) -> tuple[Short, Short]:
    """Return how much a line and how much an edge lies along a direction at every place."""
    from scipy import signal

    y, x = np.mgrid[-_HALF : _HALF + 1, -_HALF : _HALF + 1].astype(float)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    length = np.exp(-0.5 * (along / (_HALF / 2.2)) ** 2)
    fine, wide = across / _FINE, across / _WIDE
    line = length * (1.0 - fine**2) * np.exp(-0.5 * fine**2)
    edge = length * wide * np.exp(-0.5 * wide**2)
    made = []
    for kernel in (line, edge):
        even = kernel - length * (kernel.sum() / length.sum())
        each = (even / np.abs(even).sum()).astype(plain.dtype)
        made.append(signal.oaconvolve(plain, each, mode="same"))
    return made[0], made[1]


def _usual(line: Short) -> Floats:
    """Return how much a direction usually varies about each place."""
    from scipy import ndimage

    rows, columns = (max(1, side // _BLOCK) for side in line.shape)
    size = np.abs(line)
    blocks = np.array([
        [np.median(part) for part in np.array_split(band, columns, axis=1)]
        for band in np.array_split(size, rows, axis=0)
    ])  # fmt: skip
    blocks = ndimage.maximum_filter(blocks, 3)
    y = np.clip((np.arange(line.shape[0]) + 0.5) / line.shape[0] * rows - 0.5, 0, rows - 1)
    x = np.clip((np.arange(line.shape[1]) + 0.5) / line.shape[1] * columns - 0.5, 0, columns - 1)
    grid = np.meshgrid(y, x, indexing="ij")
    return np.asarray(1.4826 * ndimage.map_coordinates(blocks, grid, order=1) + 1e-5)


def _ends(
    plain: Floats, xs: NDArray[np.intp], ys: NDArray[np.intp], least: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return the ends of a long narrow piece between sides that are alike; None of any other."""
    from scipy import ndimage

    points = np.stack([xs, ys], axis=1).astype(float)
    middle = points.mean(axis=0)
    if len(points) < least:
        return None
    way = np.linalg.svd(points - middle, full_matrices=False)[2][0]
    along, off = (points - middle) @ way, (points - middle) @ np.array([-way[1], way[0]])
    low, high = float(along.min()), float(along.max())
    if high - low < least or np.ptp(off) > max(4.0, _STRAIGHT * (high - low)):
        return None
    across = _SIDE * np.array([-way[1], way[0]])
    one, other, own = (
        ndimage.map_coordinates(plain, (points + step).T[::-1], order=1, mode="nearest")
        for step in (across, -across, 0.0 * across)
    )
    # a gap between two shapes of the picture lies between different tones
    if np.median(np.abs(one - other)) > _ALIKE * np.median(np.abs(own - (one + other) / 2)):
        return None
    start, end = middle + low * way, middle + high * way
    return (float(start[0]), float(start[1])), (float(end[0]), float(end[1]))
