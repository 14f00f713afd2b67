"""Two plates that touch in a picture, told apart by the line along which they meet.

Two plates side by side are longer than a plate is, or their outline has steps. Where either is so,
a straight line is looked for that runs across the whole piece and leaves a plate on each side. A
plate of usual shape is never parted: a horizon, a strip of bare silver or a mat may run across it.
"""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats, Truth
from argentry.judge.outline.piece_corners import (
    bulk,
    corners_of,
    extremes,
    from_top_left,
    least_box,
    within,
)
from argentry.judge.outline.straight import frame_of, sampled, through

_LONGEST = 1.42  # of its shorter side: no usual plate is longer, nor one that leans a little
_USUAL = 1.3  # the same of a usual plate
_ODD = 0.06  # of its area: so far the outline of one plate may lie off four straight sides
_BETTER = 0.5  # of how far one outline lies off, what is left of it when it is parted
_LONG_PX = 240  # of the piece as it is searched
_LEAN = 0.145  # of a line from the sides of the piece [rad]
_STEP = 0.1  # of the logarithm of a light, over three of those pixels
_ALONG, _BEYOND = 0.65, 0.45  # of its length; the same less what the parts beside it have
_AWAY = 0.14  # of the side: nearer to the end of it lies no other plate
_APART_PX = 6  # from the best line to the next
_MOST = 6  # lines that are tried
_NECK = 8  # of a hundred: a thinner place at which two pieces hang together is none of a plate
_LARGE = 0.25  # of the largest


def parts_of(plain: Floats, own: Truth, whole: Floats | None) -> tuple[Truth, ...]:
    """Return the two plates that a piece of a picture is made of, the larger first, or the piece.

    Parameters
    ----------
    plain : ndarray, shape (height, width, 3)
        Logarithm of the picture.
    own : ndarray of bool, shape (height, width)
        The piece.
    whole : ndarray, shape (4, 2), or None
        Its corners if it were one plate; None where it is no plate. [px]
    """
    off = 1.0 if whole is None else _off(own, whole)
    if whole is not None and _long(whole) <= _LONGEST and off <= _ODD:
        return (own,)
    if whole is None and len(torn := _torn(own)) > 1:
        return torn
    box = from_top_left(least_box(bulk(own), extremes)) if whole is None else whole
    best: tuple[float, tuple[Truth, ...]] = np.inf, (own,)
    for line in _lines(plain, own, box):
        (x0, y0), (x1, y1) = line
        y, x = np.ogrid[: own.shape[0], : own.shape[1]]
        beyond = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0) > 0.0
        two = own & beyond, own & ~beyond
        found = [corners_of(one) for one in two]
        if found[0] is None or found[1] is None:
            continue
        shapes = [_long(one) for one in found if one is not None]
        left = sum(_off(one, at) * one.sum() for one, at in zip(two, found, strict=True)
                   if at is not None) / own.sum()  # fmt: skip
        longer = whole is None or _long(whole) > _LONGEST
        if (longer and max(shapes) <= _LONGEST) or left < _BETTER * off:
            cost = left + float((np.log(np.array(shapes) / _USUAL) ** 2).sum())
            if cost < best[0]:
                best = cost, two
    return tuple(sorted(best[1], key=lambda one: -int(one.sum())))


def _long(corners: Floats) -> float:
    """Return how much longer a plate is than it is wide. [1]."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    ratio = float((sides[0] + sides[2]) / (sides[1] + sides[3]))
    return max(ratio, 1.0 / ratio)


def _off(own: Truth, corners: Floats) -> float:
    """Return how much of a piece and four straight sides is not common to both, of the piece."""
    step = max(1, round(float(np.sqrt(own.sum())) / 100.0))
    few = own[::step, ::step]
    return float((few ^ within(own.shape, corners, step)).sum() / max(1, int(few.sum())))


def _torn(own: Truth) -> tuple[Truth, ...]:
    """Return the large parts of a piece that hang together by a thin place only."""
    from scipy import ndimage

    step = max(1, round(float(np.sqrt(own.sum())) / 100.0))
    few = own[::step, ::step]
    labels, count = ndimage.label(ndimage.binary_opening(few, iterations=_NECK))
    sizes = np.bincount(labels.ravel(), minlength=2)[1:]
    large = 1 + np.nonzero(sizes > _LARGE * sizes.max())[0] if count else np.array([], dtype=int)
    if large.size != 2:
        return (own,)
    far = ~np.isin(labels, large)
    near = ndimage.distance_transform_edt(far, return_distances=False, return_indices=True)
    nearest = labels[tuple(near)].repeat(step, axis=0).repeat(step, axis=1)
    nearest = nearest[: own.shape[0], : own.shape[1]]
    return tuple(own & (nearest == one) for one in large[np.argsort(-sizes[large - 1])])


def _lines(plain: Floats, own: Truth, box: Floats) -> list[Floats]:
    """Return straight lines across a piece, two places of each, the clearest first. [px]."""
    sides = np.hypot(*(np.roll(box, -1, axis=0) - box).T)
    wide, high = sides[0] + sides[2], sides[1] + sides[3]
    share = _LONG_PX / max(wide, high)
    rows, columns = max(20, round(high * share)), max(20, round(wide * share))
    step = max(1, int(0.5 / share))  # a large picture is softened slowly
    frame = frame_of(box / step, rows, columns)
    few = slice(None, None, step)
    both = np.concatenate([plain[few, few], own[few, few, None].astype(float)], axis=2)
    seen = sampled(both, frame, rows, columns)
    found = []
    for turned in (False, True):
        shown = seen.transpose(1, 0, 2) if turned else seen
        for clear, top, low in upright_lines(shown):
            ends = np.array([[top, 0.0], [low, len(shown) - 1.0]])
            ends = ends[:, ::-1] if turned else ends
            found.append((clear, step * np.stack(through(frame, *ends.T), axis=1)))
    return [line for _, line in sorted(found, key=lambda one: -one[0])[:_MOST]]


def upright_lines(shown: Floats) -> list[tuple[float, float, float]]:
    """Return lines from top to bottom: how clear each is, and where it begins and ends. [px].

    Parameters
    ----------
    shown : ndarray, shape (rows, columns, 4)
        Three logarithms, and above a half where it is of the piece.
    """
    from scipy import ndimage

    rows, columns = shown.shape[:2]
    steps = np.abs(shown[:, 3:, :3] - shown[:, :-3, :3]).max(axis=2)
    there = shown[:, 1:-2, 3] > 0.5
    sharp = (steps >= ndimage.maximum_filter1d(steps, 5, axis=1)) & (steps > _STEP) & there
    sharp = ndimage.maximum_filter1d(sharp.astype(float), 3, axis=1)
    row, column = np.arange(rows)[:, None], np.arange(steps.shape[1])[None]
    inner = (column[0] > _AWAY * columns) & (column[0] < (1.0 - _AWAY) * columns)
    found = []
    count = 2 * round(_LEAN * rows / 4) + 1  # no line is off by more than a pixel at its ends
    for lean in np.linspace(-_LEAN, _LEAN, count):
        at = np.rint(column + lean * (row - rows / 2)).astype(int)
        inside = (at >= 0) & (at < steps.shape[1])
        at = np.clip(at, 0, steps.shape[1] - 1)
        long = (there[row, at] & inside).sum(axis=0)
        share = (sharp[row, at] * inside * there[row, at]).sum(axis=0) / np.maximum(long, 1)
        wide, near = (ndimage.uniform_filter1d(share, n) * n for n in (25, 7))
        clear = share - (wide - near) / 18.0
        for one in np.nonzero((share > _ALONG) & (clear > _BEYOND) & inner & (long > 0.4 * rows))[
            0
        ]:
            slope = lean * rows / 2
            found.append((float(clear[one]), float(one + 1.5 - slope), float(one + 1.5 + slope)))
    kept: list[tuple[float, float, float]] = []
    for line in sorted(found, reverse=True):
        if all(abs(sum(line[1:]) - sum(other[1:])) > 2 * _APART_PX for other in kept):
            kept.append(line)
    return kept
