"""The four corners of a piece of a picture that may be a plate."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from argentry.arrays import Floats, Truth

_FILLS = 0.86
_NEAR = 0.1, 0.05  # of a side: how near to it its points lie, roughly and then
_COARSE = 100.0  # pixels to a side at which four corners are looked for first
_ENDS = 3.0  # to each side of an edge it is seen whether a piece ends there [px]
_CLINGS = 8  # of those: what is thinner than twice this is not the bulk of a plate


def corners_of(own: Truth) -> Floats | None:
    """Return the corners of a piece that may be a plate."""
    found = []
    # fingers over half a side hide it from the first, a wart holds the second off
    for body, ends in ((bulk(own), ends_of), (bulk(own, 0), extremes)):
        corners = _sides(own, from_top_left(least_box(body, ends)))
        if corners is not None and (share := _plate_share(own, corners)) > 0.0:
            found.append((share, corners))
    return max(found, key=lambda one: one[0])[1] if found else None


def _sides(own: Truth, rough: Floats) -> Floats | None:
    """Return the corners where lines through the four sides of a piece meet, from rough ones."""
    inner = own[1:-1, 1:-1] & own[:-2, 1:-1] & own[2:, 1:-1] & own[1:-1, :-2] & own[1:-1, 2:]
    rim = own.copy()
    rim[1:-1, 1:-1] &= ~inner
    rows, columns = np.nonzero(rim)
    points = np.stack([columns, rows], axis=1).astype(float)
    corners: Floats | None = rough
    for near in _NEAR:
        corners = None if corners is None else _through_sides(points, corners, near)
    return corners


def _through_sides(points: Floats, rough: Floats, near: float) -> Floats | None:
    """Return the corners where lines through points near to four rough sides meet.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Of a piece's rim. [px]
    rough : ndarray, shape (4, 2)
        Corners as known so far. [px]
    near : float
        How far from a side points count, as a share of its length. [1]
    """
    lines = []
    for start, end in pairwise([*rough, rough[0]]):
        along = end - start
        length = float(np.hypot(*along))
        if length < 20.0:
            return None
        share = (points - start) @ along / length**2
        away = np.abs((points - start) @ (np.array([-along[1], along[0]]) / length))
        line = _line(points[(share > 0.08) & (share < 0.92) & (away < near * length)])
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


def bulk(own: Truth, clings: int = _CLINGS) -> Floats:
    """Return places of a piece without what sticks out of it or clings to it, thinly spread."""
    from scipy import ndimage

    step = max(1, round(float(np.sqrt(own.sum())) / _COARSE))
    coarse = np.pad(own[::step, ::step], 1)
    body = ndimage.binary_opening(coarse, iterations=clings) if clings else coarse
    rows, columns = np.nonzero(body if body.any() else coarse)
    return np.asarray((np.stack([columns, rows], axis=1) - 1.0) * step)


def least_box(points: Floats, ends: Callable[[Floats], tuple[float, float]]) -> Floats:
    """Return the corners of a rectangle turned as the least one about a body of points is.

    Its sides lie at the ends of where the points lie across each.
    """
    from scipy import spatial

    hull = points[spatial.ConvexHull(points).vertices]
    ways = np.roll(hull, -1, axis=0) - hull
    ways = ways / np.hypot(*ways.T)[:, None]
    along, away = hull @ ways.T, hull @ np.stack([-ways[:, 1], ways[:, 0]])
    best = int((np.ptp(along, axis=0) * np.ptp(away, axis=0)).argmin())
    way = ways[best]
    (left, right), (top, low) = (ends(points @ one) for one in (way, np.array([-way[1], way[0]])))
    own = np.array([[left, top], [right, top], [right, low], [left, low]])
    return np.asarray(own @ np.array([way, [-way[1], way[0]]]))


def extremes(values: Floats) -> tuple[float, float]:
    """Return the least value and the greatest."""
    return float(values.min()), float(values.max())


def ends_of(values: Floats) -> tuple[float, float]:
    """Return between which values there are at least half as many as there are in the middle."""
    counts, edges = np.histogram(values, int(_COARSE / 2))
    many = np.nonzero(counts >= 0.5 * np.quantile(counts, 0.75))[0]
    return float(edges[many[0]]), float(edges[many[-1] + 1])


def from_top_left(corners: Floats) -> Floats:
    """Return corners that go clockwise from the one at which the side nearest to level begins."""
    ways = np.roll(corners, -1, axis=0) - corners
    level = ways[:, 0] / np.maximum(np.hypot(*ways.T), 1e-9)
    return np.roll(corners, -int(level.argmax()), axis=0)


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


def _plate_share(own: Truth, corners: Floats) -> float:
    """Return along how much of its sides a piece ends; 0 where it is no plate."""
    height, width = own.shape
    inside = (corners > -0.02 * max(own.shape)).all() and (
        corners < 1.02 * np.array([width, height])
    ).all()
    ways = np.roll(corners, -1, axis=0) - corners
    sides = np.hypot(*ways.T)
    ratio = (sides[0] + sides[2]) / (sides[1] + sides[3])
    touches = sum(bool(one.mean() > 0.5) for one in (own[0], own[-1], own[:, 0], own[:, -1]))
    if not inside or touches or not 0.5 < ratio < 2.0:
        return 0.0
    step = max(1, round(float(np.sqrt(own.sum())) / _COARSE))
    few, shape = own[::step, ::step], within(own.shape, corners, step)
    both = (shape & few).sum()
    fits = both > _FILLS * shape.sum() > 0 and both > _FILLS * few.sum()
    return _held(own, corners) if fits else 0.0


def within(shape: tuple[int, ...], corners: Floats, step: int = 1) -> Truth:
    """Return which places of a picture lie within four corners that go clockwise.

    Parameters
    ----------
    shape : tuple of int
        Of the picture. [px]
    corners : ndarray, shape (4, 2)
        Clockwise. [px]
    step : int
        Only each so many-th row and column is looked at.
    """
    y, x = np.mgrid[0 : shape[0] : step, 0 : shape[1] : step]
    inside = np.ones(y.shape, dtype=bool)
    ways = np.roll(corners, -1, axis=0) - corners
    for (left, top), (along, down) in zip(corners, ways, strict=True):
        inside &= along * (y - top) - down * (x - left) >= 0.0
    return inside


def _held(own: Truth, corners: Floats) -> float:
    """Return along how much of its sides a piece ends. [1]."""
    ways = np.roll(corners, -1, axis=0) - corners
    inward = np.stack([-ways[:, 1], ways[:, 0]], axis=1) / np.hypot(*ways.T)[:, None]
    on = corners[:, None] + np.linspace(0.02, 0.98, 97)[None, :, None] * ways[:, None]
    high, wide = own.shape
    there = []
    for off in (_ENDS, -_ENDS):
        x, y = np.moveaxis((on + off * inward[:, None]).round().astype(int), -1, 0)
        inside = (x >= 0) & (y >= 0) & (x < wide) & (y < high)
        there.append(own[np.clip(y, 0, high - 1), np.clip(x, 0, wide - 1)] & inside)
    return float((there[0] & ~there[1]).mean())
