"""What a photograph says of a step wedge on a plate: its curve, and the verdict on each step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats
from argentry.judge.grey_scale import LUMINANCE, NO_SCALE, Line, grey_scale, row_of_patches
from argentry.judge.wedge_curve import Curve, fitted_curve
from argentry.physics.coat import colour

NO_ENDS = "the wedge is not marked: say where the middles of its first and last step lie"
STEPS_CLIPPED = "the wedge is overexposed in the picture: take it again with one stop less light"
NO_RISE = "the steps do not differ: no picture has come up on them"
TOO_DARK = "its dark steps are darker than the darkest grey of the scale"
NO_DARK_STEP = "no step is dark enough: the wedge must begin below its speed point"
NO_BRIGHT_STEP = "no step is bright enough: the wedge must go on until the lights stop rising"
NO_TURN = "the wedge does not turn: no step is solarised"
OFF = "too uncertain"


@dataclass(frozen=True)
class WedgeLook:
    """How a wedge was photographed.

    Attributes
    ----------
    steps : int
        How many.
    increment : float
        Log exposure from one to the next. [1]
    first : float
        Log exposure of the one that had most light. [1]
    ends : (x1, y1, x2, y2) or None
        Middles of its first step and its last, the one with most light first. [px]
    grey : (x1, y1, x2, y2) or None
        Middles of the first and last patch of a grey scale. [px]
    densities : tuple of float
        Of its patches. [1]
    """

    steps: int
    increment: float
    first: float
    ends: Line | None
    grey: Line | None
    densities: tuple[float, ...]


@dataclass(frozen=True)
class Wedge:
    """What was seen of a wedge.

    Attributes
    ----------
    log_exposure, density, doubt : tuple of float
        Of each step in order of its light, the least first: density above the veil. [1]
    curve : Curve or None
        The curve.
    verdicts : tuple of str
        Of each step as a middle tone: under, right, over, solarised.
    right : (float, float) or None
        Log exposures between which a middle tone is right. [1]
    dark : bool
        True when the dark steps lie below the grey scale.
    why : str
        Why nothing is told; empty when something is.
    """

    log_exposure: tuple[float, ...] = ()
    density: tuple[float, ...] = ()
    doubt: tuple[float, ...] = ()
    curve: Curve | None = None
    verdicts: tuple[str, ...] = ()
    right: tuple[float, float] | None = None
    dark: bool = False
    why: str = ""


def see_wedge(picture: NDArray[np.uint8], look: WedgeLook) -> Wedge:
    """Return what a picture says of a step wedge.

    Parameters
    ----------
    picture : ndarray, shape (height, width, 3)
        8-bit sRGB, upright.
    look : WedgeLook
        What is known of it, places in pixels of this picture.
    """
    linear = colour.from_srgb_bytes(picture)
    if look.ends is None or look.grey is None:
        return Wedge(why=NO_SCALE if look.ends else NO_ENDS)
    luminance = linear @ LUMINANCE
    scale = grey_scale(luminance, look.grey, look.densities)
    patches = row_of_patches(luminance, look.ends, look.steps)
    if isinstance(scale, str) or isinstance(patches, str):
        return Wedge(why=scale if isinstance(scale, str) else str(patches))
    if any(one.clipped for one in patches):
        return Wedge(why=STEPS_CLIPPED)
    upward = patches[::-1]  # the least light first
    read = [scale.read(one.level) for one in upward]
    s: Floats = np.array([share for share, _ in read])
    own, below = (trade.value("seeing", key) for key in ("step_doubt", "below_scale_doubt"))
    doubt: Floats = np.hypot(
        np.array([one.doubt for one in upward]), [below if dark else own for _, dark in read]
    ).astype(float)
    x: Floats = look.first - look.increment * np.arange(look.steps, dtype=float)[::-1]
    if s.max() - s.min() < trade.value("seeing", "least_rise"):
        return Wedge(why=NO_RISE)
    curve = fitted_curve(x, s, doubt)
    return Wedge(
        tuple(x.tolist()), tuple((s - curve.veil.value).tolist()), tuple(doubt.tolist()),
        curve, verdicts(x, curve), right_between(curve), dark=any(dark for _, dark in read),
    )  # fmt: skip


def right_between(curve: Curve) -> tuple[float, float] | None:
    """Return the log exposures between which a middle tone is right by a plate's curve.

    They lie at two shares of the rise from veil to peak; None while the rise is not known.
    """
    if not known(curve.rise.sd, trade.value("seeing", "rise_sd_share") * curve.rise.value):
        return None
    top = int(np.argmax(curve.s))
    shares = np.maximum.accumulate(curve.s[: top + 1]) / curve.rise.value
    low, high = (
        float(np.interp(trade.value("seeing", f"right_{end}_share"), shares, curve.x[: top + 1]))
        for end in ("from", "to")
    )
    return low, high


def verdicts(x: Floats, curve: Curve) -> tuple[str, ...]:
    """Return the verdict on each exposure of a middle tone by the plate's curve.

    Past the peak of a curve that turns it is solarised; nothing is told while the rise is unknown.
    """
    right = right_between(curve)
    if right is None:
        return ()
    last = curve.peak.value if curve.turns else np.inf
    at = np.searchsorted([*right, last], x)
    return tuple(("under", "right", "over", "solarised")[one] for one in at)


def known(sd: float, most: float) -> bool:
    """Return whether a figure is known within `most`; NaN is not."""
    return bool(sd <= most)
