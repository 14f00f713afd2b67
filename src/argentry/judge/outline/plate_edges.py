"""Where the plate lies in a picture: four corners, or why it was not found."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.judge.outline.piece_corners import corners_of, from_top_left
from argentry.judge.outline.straight import frame_of, sampled, through
from argentry.judge.outline.touching import parts_of

NOT_FOUND = (
    "no plate is found in the picture: let it fill at least a quarter, all four edges in view"
)
NOT_THERE = (
    "no plate is found at the place that is marked: mark its middle, all four of its edges in view"
)
_BORDER, _LEAST = 0.03, 0.1
_REACH = 8.0  # how far a side is looked for about where it was found roughly [px]
_OUTER = 0.4  # of the greatest change across a side: farther out, so much is the side already
_OWN_RIM = 0.015  # of the picture: so near its rim a turned rectangle is the picture itself
_ANOTHER, _PIECES = 0.25, 5  # of the area of the one that is read; how many are tried


def plate_corners(linear: Floats, *, dark: bool = False) -> Floats | None:
    """Return the corners of the plate, clockwise from the top left, x before y. [px].

    The largest, never parted: bands of a scale meet along straight lines, as two plates do.

    Parameters
    ----------
    linear : ndarray, shape (height, width, 3)
        Linear picture.
    dark : bool
        True for a finished plate on a dark cloth: it may be hardly brighter than the cloth.
    """
    return next(iter(_plates(linear, dark=dark, at=None, parted=False)), None)


def plates_in(
    linear: Floats, *, dark: bool = False, at: tuple[float, float] | None = None
) -> tuple[Floats, ...]:
    """Return the corners of the plate that is read, and of all others in view. [px].

    What differs most from the picture's own border, in one piece that fills four straight sides.
    The largest piece is read, or none is; of a turned picture on a plain ground, what lies in it.
    Two plates that touch are told apart by `touching.parts_of`.

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
    return _plates(linear, dark=dark, at=at, parted=True)


def _plates(
    linear: Floats, *, dark: bool, at: tuple[float, float] | None, parted: bool
) -> tuple[Floats, ...]:
    """Return the corners of what looks like a plate, in a turned picture of what lies in it."""
    found = _found(linear, dark=dark, at=at, parted=parted)
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
        from_top_left(np.stack(through(frame, *one.T), axis=1))
        for one in _found(inner, dark=dark, at=place, parted=parted)
    )


def _found(
    linear: Floats, *, dark: bool, at: tuple[float, float] | None, parted: bool
) -> tuple[Floats, ...]:
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
    first, own = corners_of(pieces[read]), pieces[read]
    if parted:
        parts = parts_of(plain, own, first)
        if len(parts) > 1:  # a place that is marked lies on one of them
            own = next((one for one in parts if at is not None and one[y, x]), parts[0])
            pieces = [own if one is pieces[read] else one for one in pieces]
            pieces += [one for one in parts if one is not own]
            first = corners_of(own)
    if first is None or own.mean() < least:
        return ()
    large = _ANOTHER * own.sum()
    others = [
        corners
        for one in pieces
        if one.sum() > large
        and not (one & own).any()  # nor a frame about the plate
        and (corners := corners_of(one)) is not None
    ]
    if dark:
        gray = plain @ np.full(3, 1.0 / 3.0)
        first = _refined(gray, first)
    return (first, *others)


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
