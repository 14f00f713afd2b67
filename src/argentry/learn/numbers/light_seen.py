"""What light a plate probably had, when its maker set the exposure by the light he saw.

The light of a plate is calculated, and known only to some stops. If a maker follows the
calculation, what it has wrong falls on top of the exposure, whatever was given (Berkson's kind of
error). If he looks at the light and gives what it asks for, the error lies in the figure itself:
an exposure that seems long was mostly long by the error, and the verdict agrees with what he
gave. Taken for the first kind, such plates make the latitude and the scatter from plate to plate
look wider than they are, the more the worse their light is known. Which kind it is, or how much
of each, is told by the exposures: a maker who sees the light strays from the calculation by its
doubt, one who follows the calculation does not. A new bottle moves what he means to give, so each
bottle has a middle of its own.

How much he saw is one unknown that all plates share: taken as each plate's own doubt it would even
out over many plates, and the latitude would seem better known than it is. So plates can be read
twice, as if he had seen rather less and rather more.

References
----------
.. [1] J. Berkson, Are there two regressions?, Journal of the American Statistical Association 45
   (1950) 164-180.
.. [2] R. J. Carroll, D. Ruppert, L. A. Stefanski and C. M. Crainiceanu, Measurement Error in
   Nonlinear Models, 2nd ed. 2006, ch. 3 (mixtures of both kinds) and 4 (regression calibration:
   the probable exposure in the place of the one measured).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from argentry.arrays import Floats
    from argentry.learn.numbers.exposure_belief import GradedExposure


SEEN = np.linspace(0.0, 1.0, 5)  # share of the light's doubt that the maker saw: each as likely
MEANT = 0.1 * 2.0 ** np.linspace(0.0, 5.0, 33)  # spread of what makers mean to give [stops]


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
    tried = _tried(plates)
    return tuple(plates) if tried is None else _read(plates, tried, tried.share)


def as_meant_twice(plates: Sequence[GradedExposure]) -> tuple[tuple[GradedExposure, ...], ...]:
    """Return `as_meant` with less and with more of the light seen, each as likely as the other.

    One standard deviation either side of the middle, so that the two together are as wide as what
    is known of it.

    Parameters
    ----------
    plates : sequence of GradedExposure
        As of `as_meant`.

    Returns
    -------
    tuple of (tuple of GradedExposure)
        Two readings; one where no light is in doubt.
    """
    tried = _tried(plates)
    if tried is None:
        return (tuple(plates),)
    seen = tried.share.sum(axis=1)
    middle = float(seen @ SEEN)
    sd = float(np.sqrt(seen @ (SEEN - middle) ** 2))
    of_each = tried.share / np.maximum(seen, 1e-300)[:, None]
    step = SEEN[1] - SEEN[0]
    readings = []
    for end in np.clip([middle - sd, middle + sd], SEEN[0], SEEN[-1]):
        beside = np.maximum(1.0 - np.abs(SEEN - end) / step, 0.0)  # the values on either side
        readings.append(_read(plates, tried, beside[:, None] * of_each))
    return tuple(readings)


@dataclass(frozen=True)
class _Tried:
    """Exposures under each share of the doubt that was seen, and each spread of what was meant.

    Attributes
    ----------
    at : list of int
        Places of the plates that are read.
    share : NDArray (seen, meant)
        Probability of each. [1]
    moved, left : NDArray (seen, meant, n)
        Each plate's likely shift, and the variance left. [stops, stops^2]
    """

    at: list[int]
    share: Floats
    moved: Floats
    left: Floats


def _tried(plates: Sequence[GradedExposure]) -> _Tried | None:
    at = [i for i, one in enumerate(plates) if len(one.stops) == 1 and one.light_sd > 0.0]
    if not at:
        return None
    given = np.array([plates[i].stops[0] for i in at])
    doubt = np.array([plates[i].light_sd for i in at]) ** 2
    kinds = sorted({(plates[i].opened, plates[i].group) for i in at})
    kind = np.array([kinds.index((plates[i].opened, plates[i].group)) for i in at])
    _, bottle = np.unique([opened for opened, _ in kinds], return_inverse=True)
    tried = [[_under(given, doubt, kind, bottle, seen, meant) for meant in MEANT] for seen in SEEN]
    score, moved, left = (np.array([[one[n] for one in row] for row in tried]) for n in range(3))
    share = np.exp(score - score.max())
    return _Tried(at, share / share.sum(), moved, left)


def _read(
    plates: Sequence[GradedExposure], tried: _Tried, share: Floats
) -> tuple[GradedExposure, ...]:
    """Return the exposures as so much of each reading lets expect."""
    mean = np.tensordot(share, tried.moved, 2)
    sd = np.sqrt(np.tensordot(share, tried.left + (tried.moved - mean) ** 2, 2))
    out = list(plates)
    for i, more, known in zip(tried.at, mean.tolist(), sd.tolist(), strict=True):
        out[i] = replace(plates[i], stops=(plates[i].stops[0] + more,), light_sd=known)
    return tuple(out)


def _under(
    given: Floats,
    doubt: Floats,
    kind: NDArray[np.intp],
    bottle: NDArray[np.intp],
    seen: float,
    meant: float,
) -> tuple[float, Floats, Floats]:
    """Return how likely the exposures are, and each one's likely shift and what is left unknown.

    With one bottle makers mean to give the same light in each kind of light, which may lie off the
    rest of them. `bottle` is that of each kind.
    """
    off = trade.value("decide", "group_offset_sd") ** 2
    wide = meant**2 + seen * doubt
    sure = np.bincount(kind, 1.0 / wide)
    middle = np.bincount(kind, given / wide) / sure
    between = 1.0 / sure + off
    of_bottle = np.bincount(bottle, 1.0 / between)
    common = (np.bincount(bottle, middle / between) / of_bottle)[bottle]
    score = -0.5 * (
        np.log(wide).sum()
        + ((given - middle[kind]) ** 2 / wide).sum()
        + np.log(sure * between).sum()
        + ((middle - common) ** 2 / between).sum()
        + np.log(of_bottle).sum()
    )
    centre = common + (middle - common) * off / between
    kept = meant**2 / wide
    return (
        float(score),
        (1.0 - kept) * (centre[kind] - given),
        kept * seen * doubt + (1.0 - seen) * doubt,
    )
