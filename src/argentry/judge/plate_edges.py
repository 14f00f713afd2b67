"""Where the plate lies in a picture: four corners, or why it was not found."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Truth

NOT_FOUND = (
    "no plate is found in the picture: let it fill at least a quarter, all four edges in view"
)
NOT_THERE = (
    "no plate is found at the place that is marked: mark its middle, all four of its edges in view"
)
_BORDER, _FILLS, _LEAST = 0.03, 0.86, 0.1
_NEAR = 0.1, 0.05  # of a side: how near to it its points lie, roughly and then
_REACH = 8.0  # how far a side is looked for about where it was found roughly [px]
_OUTER = 0.4  # of the greatest change across a side: farther out, so much is the side already
_COARSE = 100.0  # pixels to a side at which four corners are looked for first
_ENDS = 3.0  # to each side of an edge it is seen whether a piece ends there [px]
_CLINGS = 8  # of those: what is thinner than twice this is not the bulk of a plate
_OWN_RIM = 0.015  # of the picture: so near its rim a turned rectangle is the picture itself
_ANOTHER, _PIECES = 0.25, 5  # of the area of the one that is read; how many are tried


def plate_corners(linear: Floats, *, dark: bool = False) -> Floats | None:
    """Return the corners of the plate, clockwise from the top left, x before y. [px].

    The first of `plates_in`.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    dark : bool
        True for a finished plate on a dark cloth: it may be hardly brighter than the cloth.
    """
    return next(iter(plates_in(linear, dark=dark)), None)


def plates_in(
    linear: Floats, *, dark: bool = False, at: tuple[float, float] | None = None
) -> tuple[Floats, ...]:
    """Return the corners of the plate that is read, and of all others in view. [px].

    What differs most from the picture's own border, in one piece that fills four straight sides.
    The largest piece is read, or none is; of a turned picture on a plain ground, what lies in it.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    dark : bool
        True for a finished plate on a dark cloth: it may be hardly brighter than the cloth.
    at : (x, y), optional
        A place on the plate that is read. [px]

    Returns
    -------
    tuple of ndarray, shape (4, 2)
        Each clockwise from the top left, x before y; empty where no plate is found.
    """
    found = _found(linear, dark=dark, at=at)
    if not found or not _is_own_rim(found[0], linear.shape[:2]):
        return found
    sides = np.hypot(*(np.roll(found[0], -1, axis=0) - found[0]).T)
    rows, columns = round(float(min(sides[1], sides[3]))), round(float(min(sides[0], sides[2])))
    frame = frame_of(found[0], rows, columns)
    inner = sampled(linear, frame, rows, columns)
    place = None
    if at is not None:
        x, y = through(np.asarray(np.linalg.inv(frame)), *np.array([at], dtype=float).T)
        place = float(x[0]), float(y[0])
    return tuple(
        _from_top_left(np.stack(through(frame, *one.T), axis=1))
        for one in _found(inner, dark=dark, at=place)
    )


def _found(linear: Floats, *, dark: bool, at: tuple[float, float] | None) -> tuple[Floats, ...]:
    """Return the corners of what looks like a plate, the one that is read before all others."""
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
        return ()
    if dark:
        own = np.abs(around - middle).max(axis=1)
        level = max(_LEAST, 3.0 * float(np.quantile(own, 0.9)))
    else:
        level = _parted(off)
    labels, count = ndimage.label(ndimage.binary_opening(off > level, iterations=2))
    if count == 0:
        return ()
    sizes = np.bincount(labels.ravel())[1:]
    order = np.argsort(-sizes, kind="stable")[:_PIECES]
    if at is None:  # holes of a large picture are filled slowly: a plate has few
        order = order[sizes[order] > _ANOTHER / 2 * sizes[order[0]]]
    pieces = [ndimage.binary_fill_holes(labels == 1 + one) for one in order]
    least, read = trade.value("seeing", "plate_share"), 0
    if at is not None:
        x, y = (round(one) for one in at)
        inside = [0 <= y < one.shape[0] and 0 <= x < one.shape[1] and one[y, x] for one in pieces]
        if not any(inside):
            return ()
        read = inside.index(True)
    first = _corners_of(pieces[read])
    if first is None or pieces[read].mean() < least:
        return ()
    large = _ANOTHER * pieces[read].sum()
    others = [
        corners
        for one in pieces
        if one.sum() > large
        and not (one & pieces[read]).any()  # nor a frame about the plate
        and (corners := _corners_of(one)) is not None
    ]
    if dark:
        gray = plain @ np.full(3, 1.0 / 3.0)
        first = _refined(gray, first)
    return (first, *others)


def _corners_of(own: Truth) -> Floats | None:
    """Return the corners of a piece that may be a plate."""
    found = []
    # fingers over half a side hide it from the first, a wart holds the second off
    for body, ends in ((_bulk(own), _ends), (_bulk(own, 0), _extremes)):
        corners = _sides(own, _from_top_left(_least_box(body, ends)))
        if corners is not None and (share := _plate_share(own, corners)) > 0.0:
            found.append((share, corners))
    return max(found, key=lambda one: one[0])[1] if found else None


def _is_own_rim(corners: Floats, shape: tuple[int, ...]) -> bool:
    """Return True for a rectangle that reaches all four sides of its picture."""
    size = np.array(shape[::-1], dtype=float)
    near = _OWN_RIM * size
    return bool((corners.min(axis=0) < near).all() and (corners.max(axis=0) > size - near).all())


def _refined(plain: Floats, corners: Floats) -> Floats:
    """Return corners with each side moved to where the picture changes much across it.

    The outermost such place: within it may lie the edge of what the holder's lip covered.

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
            top = _outermost(steepest)
            before, peak, after = steepest[top - 1 : top + 2]
            bend = before - 2.0 * peak + after
            off = over[top] + (0.25 * (before - after) / bend if bend < 0 else 0.0)
            points.append(start + (first + last) / 2 * (end - start) + off * inward)
        lines.append((points[0], points[1] - points[0]))
    return np.array([
        at + way * np.linalg.solve(np.stack([way, -turn], axis=1), other - at)[0]
        for (at, way), (other, turn) in zip([lines[-1], *lines[:-1]], lines, strict=True)
    ])  # fmt: skip


def _outermost(change: Floats) -> int:
    """Return the first top of a change across a side that is much of its greatest one."""
    inner = change[1:-1]
    top = (inner >= change[:-2]) & (inner >= change[2:]) & (inner >= _OUTER * inner.max())
    return 1 + int(np.argmax(top)) if top.any() else int(np.clip(change.argmax(), 1, inner.size))


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


def _bulk(own: Truth, clings: int = _CLINGS) -> Floats:
    """Return places of a piece without what sticks out of it or clings to it, thinly spread."""
    from scipy import ndimage

    step = max(1, round(float(np.sqrt(own.sum())) / _COARSE))
    coarse = np.pad(own[::step, ::step], 1)
    body = ndimage.binary_opening(coarse, iterations=clings) if clings else coarse
    rows, columns = np.nonzero(body if body.any() else coarse)
    return np.asarray((np.stack([columns, rows], axis=1) - 1.0) * step)


def _least_box(points: Floats, ends: Callable[[Floats], tuple[float, float]]) -> Floats:
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


def _extremes(values: Floats) -> tuple[float, float]:
    """Return the least value and the greatest."""
    return float(values.min()), float(values.max())


def _ends(values: Floats) -> tuple[float, float]:
    """Return between which values there are at least half as many as there are in the middle."""
    counts, edges = np.histogram(values, int(_COARSE / 2))
    many = np.nonzero(counts >= 0.5 * np.quantile(counts, 0.75))[0]
    return float(edges[many[0]]), float(edges[many[-1] + 1])


def _from_top_left(corners: Floats) -> Floats:
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
    few = own[::step, ::step]
    y, x = np.mgrid[0:height:step, 0:width:step]
    within = np.ones(few.shape, dtype=bool)
    for (left, top), (along, down) in zip(corners, ways, strict=True):
        within &= along * (y - top) - down * (x - left) >= 0.0
    both = (within & few).sum()
    fits = both > _FILLS * within.sum() > 0 and both > _FILLS * few.sum()
    return _held(own, corners) if fits else 0.0


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
