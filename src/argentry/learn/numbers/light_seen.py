"""What light a plate probably had, when its maker set the exposure by the light he saw.

The light of a plate is calculated, and known only to some stops. If a maker follows the
calculation, what it has wrong falls on top of the exposure, whatever was given (Berkson's kind of
error). If he looks at the light and gives what it asks for, the error lies in the figure itself:
an exposure that seems long was mostly long by the error, and the verdict agrees with what he
gave. Taken for the first kind, such plates make the latitude and the scatter from plate to plate
look wider than they are, the more the worse their light is known. Which kind it is, or how much
of each, is told by the exposures: a maker who sees the light strays from the calculation by its
doubt, one who follows the calculation does not.

References
----------
.. [1] J. Berkson, Are there two regressions?, Journal of the American Statistical Association 45
   (1950) 164-180.
.. [2] R. J. Carroll, D. Ruppert, L. A. Stefanski and C. M. Crainiceanu, Measurement Error in
   Nonlinear Models, 2nd ed. 2006, ch. 3 (mixtures of both kinds) and 4 (regression calibration:
   the probable exposure in the place of the one measured).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from argentry.arrays import Floats
    from argentry.learn.numbers.exposure_belief import GradedExposure


SEEN = np.linspace(0.0, 1.0, 5)  # share of the light's doubt that the maker saw: each as likely
MEANT = 0.1 * 2.0 ** np.linspace(0.0, 5.0, 9)  # spread of what makers mean to give [stops]


def as_meant(plates: Sequence[GradedExposure]) -> tuple[GradedExposure, ...]:
    """Return exposures with the light that they probably had, and what is not known of that.

    Parameters
    ----------
    plates : sequence of GradedExposure
        Of one studio. A plate of strips stays as it is, as its strips were meant to differ.

    Returns
    -------
    tuple of GradedExposure
        In the same order.
    """
    at = [i for i, one in enumerate(plates) if len(one.stops) == 1 and one.light_sd > 0.0]
    if not at:
        return tuple(plates)
    given = np.array([plates[i].stops[0] for i in at])
    doubt = np.array([plates[i].light_sd for i in at]) ** 2
    _, kind = np.unique([plates[i].group for i in at], return_inverse=True)
    kinds = [(seen, meant) for seen in SEEN for meant in MEANT]
    tried = [_under(given, doubt, kind, seen, meant) for seen, meant in kinds]
    score = np.array([one[0] for one in tried])
    share = np.exp(score - score.max())
    share /= share.sum()
    moved = np.array([one[1] for one in tried])
    left = np.array([one[2] for one in tried])
    mean = share @ moved
    sd = np.sqrt(share @ (left + (moved - mean) ** 2))
    out = list(plates)
    for i, stops, known in zip(at, given + mean, sd, strict=True):
        out[i] = replace(plates[i], stops=(float(stops),), light_sd=float(known))
    return tuple(out)


def _under(
    given: Floats, doubt: Floats, kind: NDArray[np.intp], seen: float, meant: float
) -> tuple[float, Floats, Floats]:
    """Return how likely the exposures are, and each one's likely shift and what is left unknown.

    Makers mean to give the same light in each kind of light, which may lie off the rest of them.
    """
    off = trade.value("decide", "group_offset_sd") ** 2
    wide = meant**2 + seen * doubt
    sure = np.bincount(kind, 1.0 / wide)
    middle = np.bincount(kind, given / wide) / sure
    between = 1.0 / sure + off
    common = (middle / between).sum() / (1.0 / between).sum()
    score = -0.5 * (
        np.log(wide).sum()
        + ((given - middle[kind]) ** 2 / wide).sum()
        + np.log(sure * between).sum()
        + ((middle - common) ** 2 / between).sum()
        + np.log((1.0 / between).sum())
    )
    centre = common + (middle - common) * off / between
    kept = meant**2 / wide
    return (
        float(score),
        (1.0 - kept) * (centre[kind] - given),
        kept * seen * doubt + (1.0 - seen) * doubt,
    )
