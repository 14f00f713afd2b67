"""Scratches: fine lines sharper than a picture, lighter or darker than both their sides.

A line is looked for in every direction against how much the same direction varies round about, so
that parallel lines of a buff do not count. Lines that cross are parted by their directions, and
pieces of one line that fades between them are joined. Fine straight lines of the subject look
alike.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats, Truth

Places = NDArray[np.intp]
Ends = tuple[tuple[float, float], tuple[float, float]]
Short = NDArray[np.float32]

_TURNS = 18  # directions looked along
_HALF = 12  # half of the length that is looked along [px]
_FINE, _WIDE = 1.1, 2.6  # of a line across, and of an edge [px]
_BLOCK = 48  # px in which the usual is told
_RIM = 0.04  # of the shorter side that is left out
_SIDE, _ALIKE = 5.0, 0.5  # px to its sides; of its height that they may differ by
_STRAIGHT = 0.12  # of its length that a line may be wide, bent as it may be
_CROSSED = 1  # steps of direction by which the places of one of two crossing lines may differ
_GAP = 1.5  # times its visible length that a line may fade over


@dataclass(frozen=True)
class Scratch:
    """One fine line.

    Attributes
    ----------
    start, end : (float, float)
        [px]
    tone : str
        light or dark.
    share : float
        Its length as a share of the plate's longer side. [1]
    """

    start: tuple[float, float]
    end: tuple[float, float]
    tone: str
    share: float


def weight_of(found: Sequence[Scratch]) -> float:
    """Return what scratches weigh together: their count, and more the longer the longest is. [1].

    A thin sliver between two shapes of the picture looks like a scratch but is short; a long one
    counts alone.

    Parameters
    ----------
    found : sequence of Scratch
        On one plate.
    """
    longest = max((one.share for one in found), default=0.0)
    return len(found) + longest / trade.value("seeing", "scratch_alone_share")


def scratches(luminance: Floats) -> tuple[Scratch, ...]:
    """Return the scratches on a plate, the longest first.

    Parameters
    ----------
    luminance : ndarray, shape (rows, columns)
        Of the plate straightened, linear.
    """
    from scipy import ndimage

    plain = np.log(np.maximum(luminance, 0.0) + 0.004)
    # single precision is enough for a score
    clear = np.zeros(plain.shape, dtype=np.float32)
    tone, way = np.zeros(plain.shape, dtype=np.int8), np.zeros(plain.shape, dtype=np.int8)
    for step, (line, edge) in enumerate(_along(plain.astype(np.float32))):
        size = np.abs(line)
        score = size / _usual(size)
        better = (score > clear) & (size >= np.abs(edge))
        np.copyto(clear, score, where=better)
        np.copyto(tone, np.where(line > 0.0, np.int8(1), np.int8(-1)), where=better)
        np.putmask(way, better, step)
    rim = max(_HALF, round(_RIM * min(plain.shape)))
    clear[:rim] = clear[-rim:] = 0.0
    clear[:, :rim] = clear[:, -rim:] = 0.0
    least = trade.value("seeing", "scratch_noise_times")
    side = max(plain.shape)
    long = trade.value("seeing", "scratch_least_share") * side
    soft, found = ndimage.gaussian_filter(plain, 0.7), []
    for sign, name in ((1, "light"), (-1, "dark")):
        weak = (clear > 0.6 * least) & (tone == sign)
        lines = []
        for ys, xs in _pieces(weak, clear, least):
            whole = _ends(soft, xs, ys, long)
            if whole is not None:
                lines.append(whole)
            elif len(xs) >= 2.0 * long:  # perhaps lines that cross
                lines += [
                    one for part in _by_direction(ys, xs, way[ys, xs])
                    if (one := _ends(soft, part[1], part[0], 2.0 * long)) is not None
                ]  # fmt: skip
        found += [Scratch(*ends, name, _length(ends) / side) for ends in _joined(lines)]
    return tuple(sorted(found, key=lambda one: -one.share))


def _pieces(weak: Truth, clear: Short, least: float) -> Iterator[tuple[Places, Places]]:
    """Yield the rows and columns of each piece that stands out clearly somewhere."""
    from scipy import ndimage

    labels, _ = ndimage.label(weak, np.ones((3, 3)))
    parts = ndimage.find_objects(labels)
    for label in np.unique(labels[weak & (clear >= least)]):
        part = parts[label - 1]
        ys, xs = np.nonzero(labels[part] == label)
        yield ys + part[0].start, xs + part[1].start


def _by_direction(ys: Places, xs: Places, way: NDArray[np.int8]) -> Iterator[tuple[Places, Places]]:
    """Yield the parts of a piece that run one way, each with a margin of direction."""
    from scipy import ndimage

    top, left = ys.min(), xs.min()
    for step in np.unique(way):
        turned = (way - step + _TURNS // 2) % _TURNS - _TURNS // 2
        own = np.abs(turned) <= _CROSSED
        there = np.zeros((np.ptp(ys) + 1, np.ptp(xs) + 1), dtype=bool)
        there[ys[own] - top, xs[own] - left] = True
        labels, count = ndimage.label(there, np.ones((3, 3)))
        for label in range(1, count + 1):
            rows, columns = np.nonzero(labels == label)
            yield rows + top, columns + left


def _joined(lines: list[Ends]) -> list[Ends]:
    """Return lines without those that only repeat or continue a longer one."""
    out: list[Ends] = []
    for one in sorted(lines, key=_length, reverse=True):
        for place, longer in enumerate(out):
            whole = _one_line(longer, one)
            if whole is not None:
                out[place] = whole
                break
        else:
            out.append(one)
    return out


def _one_line(longer: Ends, other: Ends) -> Ends | None:
    """Return the line on which both lie, or None where they lie on two."""
    start, end = np.array(longer)
    size = _length(longer)
    way = (end - start) / size
    points = np.array([start, end, *other])
    along, off = (points - start) @ way, (points - start) @ np.array([-way[1], way[0]])
    low, high = sorted(along[2:])
    gap = max(low - size, -high, 0.0)
    if np.abs(off).max() > max(4.0, _STRAIGHT * (size + gap) / 2) or gap > _GAP * size:
        return None
    ends = points[np.argmin(along)], points[np.argmax(along)]
    (x1, y1), (x2, y2) = (one.tolist() for one in ends)
    return (x1, y1), (x2, y2)


def _length(line: Ends) -> float:
    return float(np.hypot(*np.subtract(line[1], line[0])))


def _along(plain: Short) -> Iterator[tuple[Short, Short]]:
    """Yield how much a line and how much an edge lies along each direction at every place."""
    from scipy import fft

    high, wide = (fft.next_fast_len(side + _HALF) for side in plain.shape)
    waves = fft.fft2(plain, (high, wide))
    rows, columns = (slice(_HALF, _HALF + side) for side in plain.shape)
    for step in range(_TURNS):
        line, edge = _kernels(step * np.pi / _TURNS)
        both = (line + 1j * edge).astype(np.complex64)  # of a real picture one goes with the other
        own = fft.fft(fft.fft(both, wide, axis=1), high, axis=0)
        made = fft.ifft2(waves * own)[rows, columns]
        yield made.real, made.imag


def _kernels(turn: float) -> tuple[Floats, Floats]:
    """Return the shapes of a line and of an edge that run in a direction."""
    y, x = np.mgrid[-_HALF : _HALF + 1, -_HALF : _HALF + 1].astype(float)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    length = np.exp(-0.5 * (along / (_HALF / 2.2)) ** 2)
    fine, wide = across / _FINE, across / _WIDE
    line = length * (1.0 - fine**2) * np.exp(-0.5 * fine**2)
    edge = length * wide * np.exp(-0.5 * wide**2)
    one, other = (each - length * (each.sum() / length.sum()) for each in (line, edge))
    return one / np.abs(one).sum(), other / np.abs(other).sum()


def _usual(size: Short) -> Short:
    """Return how much a direction usually varies about each place."""
    from scipy import ndimage

    rows, columns = (max(1, side // _BLOCK) for side in size.shape)
    blocks = np.array([
        [_middle(part) for part in np.array_split(band, columns, axis=1)]
        for band in np.array_split(size, rows, axis=0)
    ])  # fmt: skip
    blocks = 1.4826 * ndimage.maximum_filter(blocks, 3) + 1e-5
    down, right = _between(size.shape[0], rows), _between(size.shape[1], columns)
    return np.asarray((down @ blocks).astype(np.float32) @ right.T.astype(np.float32))


def _middle(values: Short) -> np.float32:
    """Return the median; the upper one of two."""
    return np.float32(np.partition(values, values.size // 2, axis=None)[values.size // 2])


def _between(pixels: int, blocks: int) -> Floats:
    """Return the weights, shape (pixels, blocks), that draw a line between middles of blocks."""
    place = np.clip((np.arange(pixels) + 0.5) / pixels * blocks - 0.5, 0, blocks - 1)
    return np.asarray(np.maximum(0.0, 1.0 - np.abs(place[:, None] - np.arange(blocks))))


def _ends(plain: Floats, xs: Places, ys: Places, least: float) -> Ends | None:
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
