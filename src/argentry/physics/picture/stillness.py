"""How still a sitter must be: from the motion of a head to the blur on the plate.

A subject that wanders with a root mean square s about its mean blurs the picture as a bell curve of
standard deviation m s, m being the magnification. Its contrast at v line pairs per mm is
exp(-2 pi^2 v^2 (m s)^2), and its full width at half height 2.355 m s.

Range: sway is a random walk held by the body; the growth law beyond a minute is a placeholder
(see ``exposure.toml``), so times above the longest exposure are refused.

References
----------
.. [1] J. W. Goodman, Introduction to Fourier Optics: transfer function of a bell-shaped spread.
.. [2] J. J. Collins and C. J. De Luca, Open-loop and closed-loop control of posture, 1993.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.physics.picture.exposure import fact_of_word

FULL_WIDTH = 2.0 * float(np.sqrt(2.0 * np.log(2.0)))  # of a bell curve over its sigma: 2.3548


def poses() -> tuple[str, ...]:
    """Return the maker's words for poses, least still first."""
    return tuple(trade.toml("exposure")["pose"])


def longest_exposure_s() -> float:
    """Return the longest exposure that is attempted, in s."""
    return 60.0 * trade.value("exposure", "longest_exposure")


def head_motion_mm(pose: str, seconds: float) -> float:
    """Return the root mean square motion of a sitter's head over an exposure.

    Parameters
    ----------
    pose : str
        One of `poses`.
    seconds : float
        Length of the exposure, up to the longest that is attempted. [s]

    Returns
    -------
    float
        [mm]; within the reference minute the reference value, beyond it growing as
        (t/60 s)^0.25 [2]_.

    Raises
    ------
    BadInput
        If the pose is not known or the time out of range.
    """
    key = fact_of_word("exposure", "pose", pose)
    check_range("exposure time", seconds, 0.0, longest_exposure_s(), "s")
    reference = trade.value("exposure", "sway_reference")
    growth = trade.value("exposure", "sway_growth")
    longer = float(max(seconds / reference, 1.0) ** growth)
    return trade.value("exposure", key) * longer


def blur_rms_mm(motion_rms_mm: float, image_scale: float) -> float:
    """Return the standard deviation of the blur on the plate: m times the subject's.

    Parameters
    ----------
    motion_rms_mm : float
        At the subject. [mm]
    image_scale : float
        Magnification. [1]

    Returns
    -------
    float
        [mm]
    """
    return motion_rms_mm * image_scale


def blur_width_mm(motion_rms_mm: float, image_scale: float) -> float:
    """Return the full width at half height of the blur on the plate.

    Parameters
    ----------
    motion_rms_mm : float
        At the subject. [mm]
    image_scale : float
        Magnification. [1]

    Returns
    -------
    float
        [mm]

    Examples
    --------
    >>> round(blur_width_mm(0.68, 1 / 8), 3)
    0.2
    """
    return FULL_WIDTH * blur_rms_mm(motion_rms_mm, image_scale)


def finest_width_mm(criterion: str = "print") -> float:
    """Return the blur width that just is not seen.

    Parameters
    ----------
    criterion : str
        ``"print"``: one line pair of the usual print criterion; ``"eye"``: one minute of arc at
        reading distance.

    Returns
    -------
    float
        [mm]

    Examples
    --------
    >>> round(finest_width_mm("eye"), 4), finest_width_mm("print")
    (0.0727, 0.2)
    """
    if criterion == "print":
        return 1.0 / trade.value("exposure", "print_resolution")
    if criterion == "eye":
        angle = np.deg2rad(trade.value("exposure", "acuity") / 60.0)
        return float(trade.value("exposure", "viewing_distance") * np.tan(angle))
    raise BadInput(
        "criterion", "{criterion!r} is not known", "use print or eye", criterion=criterion
    )


def stillness_budget_mm(image_scale: float, width_mm: float | None = None) -> float:
    """Return the largest root mean square motion at the subject that keeps the blur unseen.

    Parameters
    ----------
    image_scale : float
        Magnification. [1]
    width_mm : float or None
        Blur width allowed on the plate; None means the print criterion. [mm]

    Returns
    -------
    float
        [mm]

    Raises
    ------
    BadInput
        If the magnification is not positive.

    Examples
    --------
    >>> round(stillness_budget_mm(1 / 8), 2)
    0.68
    """
    check_range("magnification", image_scale, 0.0, 20.0, "", open_low=True)
    allowed = finest_width_mm() if width_mm is None else width_mm
    return allowed / (FULL_WIDTH * image_scale)


def contrast(line_pairs_mm: ArrayLike, blur_sigma_mm: float) -> Floats:
    """Return the contrast left at a fineness on the plate: exp(-2 pi^2 v^2 sigma^2).

    Parameters
    ----------
    line_pairs_mm : array_like
        v, on the plate. [line pairs/mm]
    blur_sigma_mm : float
        Standard deviation of the blur. [mm]

    Returns
    -------
    Floats
        [1]

    References
    ----------
    Goodman [1]_.

    Examples
    --------
    >>> round(float(contrast(2.0, 1.0 / 8)), 2)
    0.29
    """
    fineness = np.asarray(line_pairs_mm, dtype=np.float64)
    return np.asarray(np.exp(-2.0 * np.pi**2 * fineness**2 * blur_sigma_mm**2))
