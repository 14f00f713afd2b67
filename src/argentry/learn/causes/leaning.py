"""Whether exposures were wrong to one side: judged too short far more often than too long.

How far exposures differ from plate to plate says which of them should fail, and nothing of a
studio whose exposures are all too short. What was seen on the plates does: where exposures are
right in the mean, luck makes as many too short as too long.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.guilty_stage import DRAWS
from argentry.learn.causes.suspects import OTHER
from argentry.trade.conditions import conditions

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from argentry.arrays import Floats
    from argentry.records.plate import Making
    from argentry.trade.causes import KnownCause


@dataclass(frozen=True)
class Leaning:
    """How far what was judged of exposures leans to one cause.

    Attributes
    ----------
    chance : Floats
        How likely exposures are wrong in the mean to the side of this cause: the answer, then
        draws of as many verdicts as these might have been. [1]
    excess : float
        Share of the faults judged so that would then not be there, were they right in the mean. [1]
    toward, away : int
        Plates judged so, and judged to the other side.
    """

    chance: Floats
    excess: float
    toward: int
    away: int


def leaning(
    causes: Sequence[KnownCause], makings: Sequence[Making], rng: np.random.Generator
) -> dict[str, Leaning]:
    """Return how far the verdicts on all plates lean to each cause that has an opposite one.

    Parameters
    ----------
    causes : sequence of KnownCause
        Of one stage.
    makings : sequence of Making
        All plates, with their verdicts.
    rng : Generator
        For the draws.

    Returns
    -------
    dict of str to Leaning
        By key of the cause; only of those that are the light received itself, with a cause of its
        other side against them, and none where no plate was judged to either. A plate with a fault
        booked at other stages alone is left out: it may look short of light for that.

    References
    ----------
    A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, sec. 2.4 and 7.4 (a share under a
    Beta distribution; Bayes factors).
    """
    stage = {cause.stage for cause in causes}
    light = {one.key for one in conditions() if one.law == "stops"}
    seen = [one.verdict for one in makings if one.verdict is not None and _of(stage, one)]
    found = {}
    for cause in causes:
        for other in causes:
            if not _opposite(cause, other, light):
                continue
            toward = sum(one in cause.verdicts for one in seen)
            away = sum(one in other.verdicts for one in seen)
            if not (off := toward + away):
                continue
            drawn = rng.binomial(off, rng.beta(toward + 1.0, away + 1.0, DRAWS))
            drawn = np.append(toward, drawn)
            found[cause.key] = Leaning(
                lean_chance(drawn, off - drawn),
                max(toward - away, 0) / (toward + 1.0),
                toward,
                away,
            )
    return found


def _opposite(cause: KnownCause, other: KnownCause, light: set[str]) -> bool:
    if not cause.verdicts or not other.verdicts or set(cause.verdicts) & set(other.verdicts):
        return False
    sides = [(name, OTHER.get(side)) for name, side in cause.through if name in light]
    return any(side in other.through for side in sides)


def _of(stage: set[str], making: Making) -> bool:
    """Return whether a verdict is of these stages: no other alone is booked as the one at fault."""
    faults = {one for one, came in making.stages.items() if came == "fault"}
    return not faults or bool(faults & stage)


def lean_chance(toward: NDArray[np.integer], away: NDArray[np.integer]) -> Floats:
    """Return how likely a side is favoured, by the plates judged to it and to the other; [1].

    Either each is as likely as the other, as far as `even_plates` say, or one of both is likelier,
    and then any share over a half is as likely as any other.
    """
    from scipy.special import betainc, betaln

    before = trade.value("causes", "lean_inclusion")
    half = trade.value("causes", "even_plates") / 2.0
    yes, no = toward + 1.0, away + 1.0
    over = np.clip(betainc(no, yes, 0.5), 1e-300, 1.0)  # of a share over a half
    under = np.clip(1.0 - over, 1e-300, 1.0)
    favoured, other = (betaln(yes, no) + np.log(2.0 * before * part) for part in (over, under))
    even = betaln(toward + half, away + half) - betaln(half, half) + np.log1p(-2.0 * before)
    return np.asarray(np.exp(favoured - np.logaddexp(np.logaddexp(favoured, other), even)))


def moved(
    shares: Floats,
    suspects: int,
    faults: Sequence[Making],
    apart: Sequence[tuple[KnownCause, Leaning | None]],
) -> Floats:
    """Return whom each set blames, once what leans to one side has its share of the rest.

    Parameters
    ----------
    shares : Floats
        (sets, faults, suspects + causes + 1) as of `blame`.
    suspects : int
        How many of the columns are conditions: what they explain stays theirs.
    faults : sequence of Making
        The faults.
    apart : sequence of (KnownCause, Leaning or None)
        The causes of the columns after them.

    Returns
    -------
    Floats
        The same shape.
    """
    out = shares.copy()
    for column, (cause, lean) in enumerate(apart, suspects):
        if lean is not None:
            judged = np.array([one.verdict in cause.verdicts for one in faults], dtype=bool)
            part = float(lean.chance[0]) * lean.excess
            taken = part * out[:, judged, suspects:].sum(axis=2)
            out[:, judged, suspects:] *= 1.0 - part
            out[:, judged, column] += taken
    return out
