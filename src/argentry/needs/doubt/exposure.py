"""What is not known of an exposure: plate, lens, coat, long times, and the light.

A plate speed that the studio's own plates have shown was found through its usual lens, at its usual
place: what is wrong with those is in it already and is not counted again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.needs.doubt.compose import NOISE, compose
from argentry.physics.picture.reciprocity import Reciprocity
from argentry.physics.stops import Z80
from argentry.records.answers.doubt import Doubt, DoubtPart
from argentry.sky.light_doubt import when_metered

SPEED, LENS, COAT = "plate speed", "lens in the violet", "coat thickness"
RECIPROCITY = "long or short exposure"
BY_METER, BY_STEP_TEST = "a meter reading at the subject", "a step test"


def exposure_doubt(
    plate: Sequence[DoubtPart],
    light: tuple[DoubtPart, ...],
    *,
    scatter: float,
    metered: bool = False,
) -> Doubt:
    """Return all that is not known of an exposure.

    Parameters
    ----------
    plate : sequence of DoubtPart
        Of plate and camera, from `plate_doubts`.
    light : tuple of DoubtPart
        From `argentry.sky.light_doubt`, with what the weather adds.
    scatter : float
        How far the studio's exposures in such light strayed, see `compose`. [1]
    metered : bool
        True when a meter was read already.
    """
    ways = [(BY_STEP_TEST, (*(p for p in plate if p.cause not in (SPEED, LENS, COAT)), *light))]
    if not metered:
        ways.append((BY_METER, (*plate, *when_metered(light))))
    return compose((*plate, *light), ways, scatter)


def light_doubts(light: tuple[DoubtPart, ...]) -> Doubt:
    """Return what is not known of the light alone, and what a meter would leave of it."""
    return compose(light, [(BY_METER, when_metered(light))])


def plate_doubts(
    sigma_stops: float,
    noise_stops: float,
    coat_stops: float,
    glass: tuple[float, float] | None,
    *,
    own: bool,
    held: tuple[float, float] | None = None,
) -> tuple[DoubtPart, ...]:
    """Return what is not known of a plate and its lens before any light is counted.

    Makers note what light a plate took through their own lenses, of glasses that nobody told, and
    on coats that nobody measured: the spread between makers holds the lenses' and the coats'
    spread, which is taken out of the speed here and stands for lens and coat alone.

    Parameters
    ----------
    sigma_stops : float
        Whole spread of the plate speed. [stops]
    noise_stops : float
        What of it is one plate against the next of the same day. [stops]
    coat_stops : float
        What is not known of the coat's speed, from `coat_sigma_stops`. [stops]
    glass : (float, float) or None
        Range of the lens's transmission, taken to hold four in five; None when measured. [1]
    own : bool
        True when the speed is the studio's own, through this lens and on this coat.
    held : (float, float) or None
        Range of the lenses whose spread is in `sigma_stops`, as `glass`, with that of coats; None:
        it is of one lens and one kind of coat.
    """
    each = min(noise_stops, sigma_stops)
    between = 0.0 if held is None else _glass_stops(held) ** 2 + coat_stops**2
    parts = [
        DoubtPart(SPEED, sqrt(max(sigma_stops**2 - each**2 - between, 0.0))),
        DoubtPart(NOISE, each, shared=False),
    ]
    if not own:
        parts.append(DoubtPart(COAT, coat_stops))
        if glass is not None:
            parts.append(DoubtPart(LENS, _glass_stops(glass)))
    return tuple(parts)


def _glass_stops(transmission: tuple[float, float] | None) -> float:
    """Return a range of transmissions as a standard deviation. [stops]."""
    if transmission is None:
        return 0.0
    return float(np.log2(transmission[1] / transmission[0])) / (2.0 * Z80)


def reciprocity_part(law: Reciprocity, open_s: float) -> DoubtPart:
    """Return what an exponent that nobody measured leaves open of a long or short exposure.

    Parameters
    ----------
    law : Reciprocity
        Its time is the one at which the speed is stated: there the exponent does not matter.
    open_s : float
        How long the exposure is. [s]
    """
    sigma = trade.value("exposure", "reciprocity_sigma")
    return DoubtPart(RECIPROCITY, sigma * abs(float(np.log2(open_s / law.reference_s))))


def coat_sigma_stops(speed: Callable[[ArrayLike], Floats], coat_nm: float) -> float:
    """Return what the eye's doubt of a coat's colour does to its speed. [stops].

    Parameters
    ----------
    speed : callable
        Of coats, by their thickness in nm. [1]
    coat_nm : float
        [nm]
    """
    off = trade.value("film", "thickness_doubt_cycle_1_nm")
    thinner = max(coat_nm - off, trade.value("exposure", "thinnest_useful_coat"))
    here, *near = speed([coat_nm, thinner, coat_nm + off])
    return float(np.sqrt(np.mean(np.log2(near / here) ** 2)))
