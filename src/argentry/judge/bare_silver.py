"""The bare strip beside a coat: what the same light, lens and curve make of plain silver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats

SIDES = ("left", "right", "top", "bottom")
NONE_FOUND = "no bare strip and no card in the picture"
NOT_BARE = "the {side} edge is not a strip of bare silver"
CLIPPED = "the bare strip is overexposed: take it again with one stop less light"
NO_COLOUR = "the picture is black and white: this is told by colour"
_ONE_COLOUR = 3  # of 255, by which the three colours of a grey may differ by rounding
_FIRST, _DEEPEST, _STEP, _BRIGHTER = 0.015, 0.28, 0.05, 1.2


@dataclass(frozen=True)
class Strip:
    """A strip of bare silver along one edge.

    Attributes
    ----------
    side : str
        One of `SIDES`.
    depth : float
        How far it reaches into the plate, as a share of the side. [1]
    rgb : ndarray, shape (3,)
        Its linear colour.
    """

    side: str
    depth: float
    rgb: Floats


def bare_strip(plate: Floats, side: str | None = None) -> Strip | str:
    """Return the bare strip of a plate, or why there is none that can be used.

    Parameters
    ----------
    plate : ndarray, shape (rows, columns, 3)
        The plate straightened, linear.
    side : str, optional
        Where it is; else the edge that has the clearest one.
    """
    found = [one for name in ([side] if side else SIDES) if (one := _strip(plate, name))]
    if not found:
        return NOT_BARE.format(side=side) if side else NONE_FOUND
    best, _ = max(found, key=lambda one: one[1])
    level = trade.value("seeing", "clipped_level")
    own = _from(plate, best.side)[: max(2, int(best.depth * len(_from(plate, best.side)) * 0.7))]
    clipped = float((own >= level).any(axis=2).mean())
    return CLIPPED if clipped > trade.value("seeing", "clipped_share") else best


def _from(plate: Floats, side: str) -> Floats:
    """Return the plate with that edge as its first rows."""
    turned = {"left": (1, 0, 2), "right": (1, 0, 2)}.get(side)
    out = plate if turned is None else plate.transpose(turned)
    return out[::-1] if side in ("right", "bottom") else out


def _strip(plate: Floats, side: str) -> tuple[Strip, float] | None:
    """Return the strip along one edge and how clearly it ends, or None without one."""
    out = _from(plate, side)
    rows, wide = len(out), out.shape[1]
    profile = np.median(out[:, round(0.12 * wide) : round(0.88 * wide)], axis=1)
    start = max(1, round(_FIRST * rows))
    reach = max(start + 2, round(trade.value("seeing", "strip_depth") * rows))
    rgb = np.median(profile[start:reach], axis=0)
    if (rgb <= 0.0).any():
        return None
    deep = round(_DEEPEST * rows)
    off = np.log(np.maximum(profile[start:deep], 1e-4) / rgb)
    off -= np.minimum(np.abs(off).min(axis=1, keepdims=True), 0.08) * np.sign(off)
    colour = off - off.mean(axis=1, keepdims=True)
    apart = np.maximum(np.abs(colour).max(axis=1), 0.5 * np.abs(off).max(axis=1))
    beyond = np.nonzero(apart > _STEP)[0]
    if not beyond.size or beyond[0] + start < reach:
        return None
    inner = np.median(profile[deep : 2 * deep], axis=0)
    if (inner > _BRIGHTER * rgb).any():  # no coat is brighter than its silver
        return None
    end = beyond[0]
    after = apart[end : end + max(3, round(0.06 * rows))]
    if after.min() <= 0.6 * _STEP:
        return None
    # the strip itself, its end left out
    own = np.median(profile[start : max(reach, start + round(0.8 * end))], axis=0)
    return Strip(side, (start + end) / rows, own), float(after.mean())


def has_colour(picture: NDArray[np.uint8]) -> bool:
    """Return False for a black and white picture, whose three colours are one.

    Parameters
    ----------
    picture : ndarray, shape (height, width, 3)
        8-bit sRGB.
    """
    few = picture[::4, ::4]
    return bool((few.max(axis=2) - few.min(axis=2) > _ONE_COLOUR).any())


def is_red(colours: Floats) -> bool:
    """Return True when linear colours, each a row, are those of red light alone."""
    red, green, blue = np.median(colours, axis=0)
    least = trade.value("seeing", "red_share")
    return bool(max(green, blue) < least * red)
