"""A straight edge of the subject that the maker marked: how soft it was drawn across itself.

Where a step of light was blurred, the profile across it is the step's own blur: a box where it
moved, as wide as the move seen across the edge, and the shadow of a disc where the focus was off,
alike across every edge. [1]_ The curve of the plate lies between that light and what is seen, so
the profile is fitted through it; the copy's own softness comes after it.

References
----------
.. [1] The line spread of a uniform disc and of a uniform move, any text on optical transfer; the
   profile along a slanted edge as in ISO 12233.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from argentry.arrays import Floats
    from argentry.judge.grey_scale import Line


TOO_SHORT = "it is too short in the picture: mark at least {least:.0f} pixels of it"
OUTSIDE = "a part of what lies beside it is outside the plate"
WEAK = "it is too weak: the tones on its two sides differ by {step:.2f} of white, {least:g} needed"
BENT = "it is not straight, or something crosses it"
BUSY = "something else lies beside it: {percent:.0f} % of the step is not explained by an edge"
LEAST_PX = 24.0
STEP_PX = 0.5  # from sample to sample across the edge
_REACH = (14.0, 60.0)  # how far to each side is looked [px]
_BLOCKS, _TURNS = 6, 4  # parts of an edge that must lie on one line; times it is laid again
_SLICES = 8  # boxes that a disc is made of


@dataclass(frozen=True)
class Profile:
    """What lies across an edge, the mean along it.

    Attributes
    ----------
    across : ndarray
        Places across the edge, from its middle, in steps of `STEP_PX`. [px]
    share : ndarray
        Share of white there. [1]
    normal_deg : float
        Direction across the edge, anticlockwise from the horizontal, 0 to 180. [deg]
    """

    across: Floats
    share: Floats
    normal_deg: float


def edge_profile(share: Floats, line: Line) -> Profile | str:
    """Return the profile across a marked edge, laid straight, or why it cannot be read.

    Parameters
    ----------
    share : ndarray, shape (height, width)
        Share of white.
    line : (x1, y1, x2, y2)
        Two places on the edge; a few pixels beside it do no harm. [px]
    """
    start, end = np.array(line[:2]), np.array(line[2:])
    length = float(np.hypot(*(end - start)))
    if length < LEAST_PX:
        return TOO_SHORT.format(least=LEAST_PX)
    reach = min(max(0.4 * length, _REACH[0]), _REACH[1])
    over = np.arange(-reach, reach + STEP_PX / 2, STEP_PX)
    places = (np.arange(_BLOCKS) + 0.5) / _BLOCKS
    for _ in range(_TURNS):
        rows = _across(share, start, end, over)
        if rows is None:
            return OUTSIDE
        mean, shifts = rows.mean(axis=0), _shifts(rows, over)
        slope, at = _line_through(places, shifts)
        way = (end - start) / np.hypot(*(end - start))
        inward = np.array([-way[1], way[0]])
        start, end = start + at * inward, end + (at + slope) * inward
    off = np.sort(np.abs(shifts - at - slope * places))
    if off[-2] > max(0.7, 0.08 * _width_of(mean, over)):
        return BENT
    x, y = end - start
    return Profile(over, mean, float((np.degrees(np.arctan2(-y, x)) + 90.0) % 180.0))


def _across(share: Floats, start: Floats, end: Floats, over: Floats) -> Floats | None:
    """Return the profiles across a line, one a pixel along it; None beyond the picture."""
    from scipy import ndimage

    length = float(np.hypot(*(end - start)))
    way = (end - start) / length
    along = start + (np.arange(int(length)) + 0.5)[:, None] * way
    x, y = np.moveaxis(along[:, None] + over[:, None] * np.array([-way[1], way[0]]), -1, 0)
    high, wide = share.shape
    if x.min() < 0 or y.min() < 0 or x.max() > wide - 1 or y.max() > high - 1:
        return None
    out: Floats = ndimage.map_coordinates(share, [y, x], order=1)
    return out


def _shifts(rows: Floats, over: Floats) -> Floats:
    """Return how far the edge lies from the middle in each part of its length. [px]."""
    from scipy import ndimage

    parts = [part.mean(axis=0) for part in np.array_split(rows, _BLOCKS)]
    slopes = np.array([ndimage.gaussian_filter1d(part, 3.0, order=1) for part in parts])
    whole = slopes.mean(axis=0)
    near = np.exp(-((over / (0.5 * over[-1])) ** 2))
    top = int(np.argmax(np.abs(whole) * near))
    slopes = np.maximum(slopes * np.sign(whole[top]), 0.0)
    # the mean place of the slope, in a window that follows it
    found = np.full(_BLOCKS, over[top])
    for _ in range(6):
        weight = slopes * np.exp(-(((over - found[:, None]) / (0.35 * over[-1])) ** 2))
        found = (weight * over).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-12)
    return found


def _line_through(places: Floats, values: Floats) -> tuple[float, float]:
    """Return slope and start of a line through points of which one or two may be far off."""
    first, second = np.triu_indices(places.size, 1)
    slope = float(np.median((values[second] - values[first]) / (places[second] - places[first])))
    return slope, float(np.median(values - slope * places))


def _width_of(profile: Floats, over: Floats) -> float:
    """Return how wide the middle six tenths of a step are, drawn as if all of it rose. [px]."""
    low, high = sorted((profile[:4].mean(), profile[-4:].mean()))
    inside = (profile > low + 0.2 * (high - low)) & (profile < high - 0.2 * (high - low))
    return float(inside.sum() * (over[1] - over[0]) / 0.6)


def risen(across: Floats, width: float, soft: float, *, disc: bool) -> Floats:
    """Return the share of a step that has risen across it, from 0 to 1.

    Parameters
    ----------
    across : ndarray
        Places. [px]
    width : float
        Of the move across the edge, or diameter of the disc. [px]
    soft : float
        Standard deviation of a bell that softens it as well. [px]
    disc : bool
        True for a focus that is off.
    """
    widths, weights = np.array([width]), np.ones(1)
    if disc:  # its shadow is a pile of boxes, the wide ones low
        wide, weights = _boxes_of_a_disc()
        widths = width * wide
    half = np.maximum(widths, 1e-3)[:, None] / 2.0
    boxes = (_summed(across + half, soft) - _summed(across - half, soft)) / (2.0 * half)
    return np.asarray(weights @ boxes)


@cache  # a fit asks two thousand times
def _boxes_of_a_disc() -> tuple[Floats, Floats]:
    """Return the widths of the boxes that are its shadow, and how much each counts."""
    at, weights = np.polynomial.legendre.leggauss(_SLICES)
    wide = np.sqrt(1.0 - ((at + 1.0) / 2.0) ** 2)
    return wide, weights * wide / (weights * wide).sum()


def _summed(at: Floats, soft: float) -> Floats:
    """Return what a bell's step adds up to, from far off to each place."""
    from scipy.special import ndtr

    u = at / soft
    return np.asarray(at * ndtr(u) + soft * np.exp(-(u**2) / 2.0) / np.sqrt(2.0 * np.pi))
