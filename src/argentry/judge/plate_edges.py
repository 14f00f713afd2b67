"""Where the plate lies in a picture: four corners, or why it was not found."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Truth

NOT_FOUND = (
    "no plate is found in the picture: let it fill at least a quarter, all four edges in view"
)
_BORDER, _FILLS, _NEAR, _LEAST = 0.03, 0.86, 0.05, 0.1
_REACH = 8.0  # how far a side is looked for about where it was found roughly [px]


def plate_corners(linear: Floats, *, dark: bool = False) -> Floats | None:
    """Return the corners of the plate, clockwise from the top left, x before y. [px].

    What differs most from the picture's own border, in one piece that fills four straight sides.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    dark : bool
        True for a finished plate on a dark cloth: it may be hardly brighter than the cloth.
    """
    from scipy import ndimage

    floor = 0.002 if dark else 0.01
    plain = ndimage.gaussian_filter(np.log(linear + floor), (1.5, 1.5, 0.0))
    edge = max(2, round(_BORDER * min(plain.shape[:2])))
    around = np.concatenate(
        [
            plain[:edge].reshape(-1, 3), plain[-edge:].reshape(-1, 3),
            plain[:, :edge].reshape(-1, 3), plain[:, -edge:].reshape(-1, 3),
        ]
    )  # fmt: skip
    # colour by colour: over an axis of three numpy is slow
    middle = np.median(around, axis=0)
    off = np.maximum.reduce([np.abs(plain[..., i] - middle[i]) for i in range(3)])
    if off.max() < _LEAST:
        return None
    if dark:
        own = np.abs(around - middle).max(axis=1)
        level = max(_LEAST, 3.0 * float(np.quantile(own, 0.9)))
    else:
        level = _parted(off)
    mask = ndimage.binary_opening(off > level, iterations=2)
    labels, count = ndimage.label(mask)
    if count == 0:
        return None
    sizes = np.bincount(labels.ravel())[1:]
    own = ndimage.binary_fill_holes(labels == 1 + int(np.argmax(sizes)))
    if own.mean() < trade.value("seeing", "plate_share"):
        return None
    corners = _sides(own)
    if corners is None or not _is_plate(own, corners):
        return None
    return _refined(plain @ np.full(3, 1.0 / 3.0), corners) if dark else corners


def _refined(plain: Floats, corners: Floats) -> Floats:
    """Return corners with each side moved to where the picture changes most across it.

    Parameters
    ----------
    plain : ndarray, shape (height, width)
        Smoothed logarithm of the picture.
    corners : ndarray, shape (4, 2)
        As found roughly. [px]
    """
    from scipy import ndimage

    over = np.arange(-_REACH, _REACH + 0.5, 0.5)
    lines = []
    for start, end in pairwise([*corners, corners[0]]):
        along = (end - start) / np.hypot(*(end - start))
        inward = np.array([-along[1], along[0]])
        points = []
        for first, last in ((0.1, 0.45), (0.55, 0.9)):
            shares = np.linspace(first, last, 60)
            on_line = start + shares[:, None, None] * (end - start) + over[None, :, None] * inward
            profile = ndimage.map_coordinates(plain, np.moveaxis(on_line, -1, 0)[::-1], order=1,
                                              mode="nearest")  # fmt: skip
            steepest = np.abs(np.gradient(np.median(profile, axis=0)))
            top = int(np.clip(np.argmax(steepest), 1, over.size - 2))
            before, peak, after = steepest[top - 1 : top + 2]
            bend = before - 2.0 * peak + after
            off = over[top] + (0.25 * (before - after) / bend if bend < 0 else 0.0)
            points.append(start + (first + last) / 2 * (end - start) + off * inward)
        lines.append((points[0], points[1] - points[0]))
    return np.array([
        at + way * np.linalg.solve(np.stack([way, -turn], axis=1), other - at)[0]
        for (at, way), (other, turn) in zip([lines[-1], *lines[:-1]], lines, strict=True)
    ])  # fmt: skip


def _parted(values: Floats) -> float:
    """Return the level that parts two kinds of values best (N. Otsu, 1979)."""
    counts, edges = np.histogram(values, 128)
    middle = (edges[1:] + edges[:-1]) / 2
    below = np.cumsum(counts)[:-1]
    above = below[-1] + counts[-1] - below
    sums = np.cumsum(counts * middle)
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = below * above * (sums[:-1] / below - (sums[-1] - sums[:-1]) / above) ** 2
    return float(middle[int(np.nanargmax(apart))])


def _sides(own: Truth) -> Floats | None:
    """Return the corners where lines through the four sides of a piece meet."""
    inner = own[1:-1, 1:-1] & own[:-2, 1:-1] & own[2:, 1:-1] & own[1:-1, :-2] & own[1:-1, 2:]
    rim = own.copy()
    rim[1:-1, 1:-1] &= ~inner
    rows, columns = np.nonzero(rim)
    points = np.stack([columns, rows], axis=1).astype(float)
    sums, differences = points.sum(axis=1), points[:, 0] - points[:, 1]
    rough = points[[sums.argmin(), differences.argmax(), sums.argmax(), differences.argmin()]]
    lines = []
    for start, end in pairwise([*rough, rough[0]]):
        along = end - start
        length = float(np.hypot(*along))
        if length < 20.0:
            return None
        share = (points - start) @ along / length**2
        away = np.abs((points - start) @ (np.array([-along[1], along[0]]) / length))
        near = points[(share > 0.08) & (share < 0.92) & (away < _NEAR * length)]
        line = _line(near)
        if line is None:
            return None
        lines.append(line)
    found = []
    for (at, way), (other, turn) in zip([lines[-1], *lines[:-1]], lines, strict=True):
        across = np.stack([way, -turn], axis=1)
        if abs(np.linalg.det(across)) < 0.3:
            return None
        found.append(at + way * np.linalg.solve(across, other - at)[0])
    return np.array(found)


def _line(points: Floats) -> tuple[Floats, Floats] | None:
    """Return a point and the direction of a line, points far off it left out step by step."""
    if len(points) < 10:
        return None
    for _ in range(4):
        middle = points.mean(axis=0)
        way = np.linalg.svd(points - middle, full_matrices=False)[2][0]
        off = np.abs((points - middle) @ np.array([-way[1], way[0]]))
        keep = off <= max(1.0, 2.0 * float(np.median(off)))
        points = points[keep]
        if len(points) < 10:
            return None
    return middle, way


def _is_plate(own: Truth, corners: Floats) -> bool:
    height, width = own.shape
    inside = (corners > -0.02 * max(own.shape)).all() and (
        corners < 1.02 * np.array([width, height])
    ).all()
    next_ = np.roll(corners, -1, axis=0)
    area = (corners[:, 0] * next_[:, 1] - next_[:, 0] * corners[:, 1]).sum() / 2
    sides = np.hypot(*(next_ - corners).T)
    ratio = (sides[0] + sides[2]) / (sides[1] + sides[3])
    touches = sum(bool(one.mean() > 0.5) for one in (own[0], own[-1], own[:, 0], own[:, -1]))
    return bool(
        inside and touches == 0 and own.sum() > _FILLS * area > 0 and 0.5 < ratio < 2.0
        and own.sum() < 1.15 * area
    )  # fmt: skip


def straightened(linear: Floats, corners: Floats, rows: int, columns: int) -> Floats:
    """Return the plate as it would be seen straight on.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    corners : ndarray, shape (4, 2)
        Clockwise from the top left. [px]
    rows, columns : int
        Of the result. [px]
    """
    return sampled(linear, frame_of(corners, rows, columns), rows, columns)


def frame_of(corners: Floats, rows: int, columns: int) -> Floats:
    """Return the perspective from a straightened plate's pixels to those of its picture.

    Parameters
    ----------
    corners : ndarray, shape (4, 2)
        Clockwise from the top left. [px]
    rows, columns : int
        Of the straightened plate. [px]
    """
    right, low = columns - 0.5, rows - 0.5
    own = np.array([[-0.5, -0.5], [right, -0.5], [right, low], [-0.5, low]])
    equations, wanted = [], []
    for (u, v), (x, y) in zip(own, corners, strict=True):
        equations += [[u, v, 1, 0, 0, 0, -u * x, -v * x], [0, 0, 0, u, v, 1, -u * y, -v * y]]
        wanted += [x, y]
    return np.append(np.linalg.solve(np.array(equations), np.array(wanted)), 1.0).reshape(3, 3)


def through(turn: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return where places go by a perspective."""
    along, down, far = np.tensordot(turn, np.stack([x, y, np.ones_like(x)]), 1)
    return along / far, down / far


def sampled(linear: Floats, frame: Floats, rows: int, columns: int) -> Floats:
    """Return what a picture shows in a frame, each pixel a mean over what it covers.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    frame : ndarray, shape (3, 3)
        From the frame's pixels to the picture's.
    rows, columns : int
        Of the frame. [px]
    """
    from scipy import ndimage

    y, x = np.mgrid[0.0:rows, 0.0:columns]
    across, down = through(frame, x, y)
    # the longest step from a pixel to its neighbour, at the ends of the frame
    ends = np.array([[0, 0, columns - 1, columns - 1], [0, rows - 1, 0, rows - 1]], dtype=float)
    here = np.stack(through(frame, *ends))
    steps = [np.hypot(*(np.stack(through(frame, ends[0] + u, ends[1] + v)) - here))
             for u, v in ((1.0, 0.0), (0.0, 1.0))]  # fmt: skip
    wide = 0.35 * float(np.mean(steps))
    soft = ndimage.gaussian_filter(linear, (wide, wide, 0.0))
    return np.stack(
        [ndimage.map_coordinates(soft[..., i], [down, across], order=1, mode="nearest")
         for i in range(linear.shape[2])], axis=-1,
    )  # fmt: skip
