"""Pictures taken through the red filter: the tones of a plate in each, against its bare edge.

Each picture is lit a little more on one side or another, by one or two per cent. What the plate
shows is the same everywhere that it came up alike: against the mean of the later pictures, each
picture has one curve of tones and the fall of its own light. A fall that all pictures share looks
like the subject and stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats, Truth
from argentry.judge.bare_silver import CLIPPED, is_red
from argentry.judge.grey_scale import Line
from argentry.judge.outline.plate_edges import NOT_FOUND, plate_corners
from argentry.judge.outline.straight import frame_of, sampled, through
from argentry.judge.register import registered
from argentry.judge.ripening import LEAST_LEVEL
from argentry.physics.coat import colour

LONG_PX = 360  # of the plate as it is looked at
TONES = (0.0, 0.1, 0.3, 0.45, 0.55, 0.75, 0.9, 0.97, 0.99)  # where each tone begins, by its rank
MIDDLE = 3  # of those: the middle of the plate, unless a part is marked
_RIM, _FIELD = 0.07, 6  # share of the shorter side left out; px of a field
_BEND = 4  # degree of a picture's curve of tones
_FAR, _TURNS = 3.0, 3  # robust standard deviations: fields farther off are left out
NOT_DARK = "the bare edge is too dark to compare with: let it mirror the light as the plate does"
NOT_RED = "it was not taken through the red filter: other light veils the plate"
NO_ROOM = "the middle tone that is marked lies outside the plate"


@dataclass(frozen=True)
class RedLooks:
    """The tones of one plate in several pictures.

    Attributes
    ----------
    levels : ndarray, shape (looks, tones)
        As a share of the bare edge's level, the shadows first. [1]
    middle : int
        Which tone is the middle one.
    corners : ndarray, shape (4, 2)
        Of the plate in the last picture. [px]
    """

    levels: Floats
    middle: int
    corners: Floats


def red_looks(
    pictures: Sequence[NDArray[np.uint8]], bare: str, middle: Line | None = None
) -> RedLooks | tuple[int, str]:
    """Return the tones of a plate in pictures, or which picture cannot be used and why.

    Parameters
    ----------
    pictures : sequence of ndarray, shape (height, width, 3)
        8-bit sRGB, upright, in order of time.
    bare : str
        Edge with bare silver: left, right, top or bottom.
    middle : (x, y, width, height) or None
        A part that is to be a middle tone, in the last picture. [px]
    """
    seen = plate_fields(pictures, bare)
    if isinstance(seen, tuple):
        return seen
    marked = None if middle is None else seen.marked(middle)
    if marked is not None and not marked.any():
        return len(pictures) - 1, NO_ROOM
    tones, which = tones_of(seen.levels, marked)
    return RedLooks(tones, which, seen.corners)


@dataclass(frozen=True)
class PlateFields:
    """Small fields of one plate in several pictures.

    Attributes
    ----------
    levels : ndarray, shape (looks, rows, columns)
        As a share of the bare edge's level. [1]
    corners : ndarray, shape (4, 2)
        Of the plate in the last picture. [px]
    rows, columns : int
        Of the plate as it is looked at. [px]
    """

    levels: Floats
    corners: Floats
    rows: int
    columns: int

    def marked(self, part: Line) -> Truth:
        """Return which fields lie in a part of the last picture."""
        return _marked(part, self.corners, self.rows, self.columns)


def plate_fields(pictures: Sequence[NDArray[np.uint8]], bare: str) -> PlateFields | tuple[int, str]:
    """Return a plate's fields in pictures, or which picture cannot be used and why."""
    plates = []
    for place, picture in enumerate(pictures):
        linear = colour.from_srgb_bytes(picture)
        corners = plate_corners(linear, dark=True)
        if corners is None:
            return place, NOT_FOUND
        (left, top), (right, low) = corners.min(axis=0).astype(int), corners.max(axis=0).astype(int)
        if not is_red(linear[max(top, 0) : low : 4, max(left, 0) : right : 4].reshape(-1, 3)):
            return place, NOT_RED
        plates.append((linear[..., :1], corners))
    last, at = plates[-1]
    sides = np.hypot(*(np.roll(at, -1, axis=0) - at).T)
    share = LONG_PX / max(sides[0] + sides[2], sides[1] + sides[3]) * 2.0
    rows, columns = (int(one * share / 2.0) for one in (sides[1] + sides[3], sides[0] + sides[2]))
    own = sampled(last, frame_of(at, rows, columns), rows, columns)[..., 0]
    fields = []
    for place, (linear, corners) in enumerate(plates):
        shown = _laid(own, linear, corners, rows, columns) if linear is not last else own
        level = _bare(shown, bare)
        if level >= trade.value("seeing", "clipped_level"):
            return place, CLIPPED
        if level < 0.01:
            return place, NOT_DARK
        fields.append(_fields(shown / level))
    return PlateFields(np.array(fields), at, rows, columns)


def _laid(own: Floats, linear: Floats, corners: Floats, rows: int, columns: int) -> Floats:
    """Return a picture's plate laid over the last one's, by its detail where it has enough.

    While little has come up, detail is mostly grain and noise and leads up to 4 px astray, where
    the edges of the plate hold it within one.
    """
    from scipy import ndimage

    shown = sampled(linear, frame_of(corners, rows, columns), rows, columns)[..., 0]
    turn, alike = registered(own, shown)
    if alike < trade.value("seeing", "red_alike_from"):
        return shown
    y, x = np.mgrid[0.0:rows, 0.0:columns]
    at = through(turn, x, y)
    if np.abs(np.array(at) - [x, y]).max() > 0.05 * columns:
        return shown
    out: Floats = ndimage.map_coordinates(shown, at[::-1], order=1, mode="nearest")
    return out


def _bare(plate: Floats, side: str) -> float:
    """Return the level of the bare edge, its ends and outermost part left out."""
    out = plate.T if side in ("left", "right") else plate
    out = out[::-1] if side in ("right", "bottom") else out
    deep = max(3, round(trade.value("seeing", "strip_depth") * len(out)))
    first, wide = max(1, deep // 3), out.shape[1]
    return float(np.median(out[first:deep, round(0.12 * wide) : round(0.88 * wide)]))


def _fields(plate: Floats) -> Floats:
    """Return means of small fields, the rim left out."""
    edge = max(1, round(_RIM * min(plate.shape)))
    inner = plate[edge:-edge, edge:-edge]
    rows, columns = (one // _FIELD for one in inner.shape)
    cut = inner[: rows * _FIELD, : columns * _FIELD]
    return np.asarray(cut.reshape(rows, _FIELD, columns, _FIELD).mean(axis=(1, 3)))


def _marked(part: Line, corners: Floats, rows: int, columns: int) -> Truth:
    """Return which fields lie in a part of the last picture."""
    y, x = np.mgrid[0.0:rows, 0.0:columns]
    across, down = through(frame_of(corners, rows, columns), x, y)
    left, top, wide, high = part
    inside = (across >= left) & (across <= left + wide) & (down >= top) & (down <= top + high)
    return _fields(inside.astype(float)) > 0.5


def tones_of(fields: Floats, marked: Truth | None) -> tuple[Floats, int]:
    """Return the level of each tone in each picture, and which one is the middle.

    Parameters
    ----------
    fields : ndarray, shape (looks, rows, columns)
        As a share of the bare edge's level. [1]
    marked : ndarray, shape (rows, columns), or None
        Fields that are to be a middle tone.
    """
    levels = without_fall(np.maximum(fields, LEAST_LEVEL))
    rank = np.argsort(np.argsort(levels[-2:].mean(axis=0).ravel())) / levels[0].size
    kind = np.searchsorted(TONES, rank, side="right") - 1
    each = levels.reshape(len(levels), -1)
    tones = [each[:, kind == one].mean(axis=1) for one in range(len(TONES))]
    if marked is None:
        return np.array(tones).T, MIDDLE
    # its middle field: the mean of a part with lights in it rises sooner and more slowly
    own = np.median(each[:, marked.ravel()], axis=1)
    below = int(np.sum([one[-1] < own[-1] for one in tones]))
    tones.insert(below, own)
    return np.array(tones).T, below


def without_fall(pictures: Floats) -> Floats:
    """Return fields of pictures as if each were lit alike from side to side.

    Parameters
    ----------
    pictures : ndarray, shape (pictures, rows, columns)
        Levels above 0, in order of time.
    """
    count, rows, columns = pictures.shape
    if count == 1:  # a subject cannot be told from the light
        return pictures
    y, x = (one.ravel() for one in np.mgrid[-0.5 : 0.5 : rows * 1j, -0.5 : 0.5 : columns * 1j])
    logs = np.log(pictures.reshape(count, -1))
    later = logs[count // 2 :].mean(axis=0)
    tone = (later - later.mean()) / max(float(later.std()), 1e-9)
    given = np.stack([x, y, *(tone**power for power in range(_BEND + 1))], axis=1)
    fall = [given[:, :2] @ _robust(given, one)[:2] for one in logs]
    return np.asarray(np.exp(logs - fall).reshape(pictures.shape))


def _robust(given: Floats, wanted: Floats) -> Floats:
    """Return least squares without what lies far off."""
    keep = np.ones(wanted.size, bool)
    for _ in range(_TURNS):
        slope = np.linalg.lstsq(given[keep], wanted[keep], rcond=None)[0]
        off = np.abs(wanted - given @ slope)
        keep = off <= _FAR * 1.4826 * np.median(off) + 1e-12
    return np.asarray(slope)
