"""Which stage spoilt each plate whose fault nobody booked, by all that speaks of it.

Three things speak besides the conditions. How often each stage spoils plates in this studio; the
looks that are written down, which name stages and are right about them with a chance that is
learned, else say nothing; and how far the plate was taken: a maker who writes readings of the
exposure on nearly every good plate and none on a lost one gave it up before. It is given up at its
guilty stage or at a later one, at each with the same chance h, else taken to the end:

    P(last stage k | guilty g) = h (1 - h)^(k - g),  k < end;   (1 - h)^(end - g),  k = end

and each stage up to k has its readings as often as good plates have. All three are learned from the
same plates by expectation and maximisation, each beginning with the trade's word as a few plates.

References
----------
.. [1] A. P. Dempster, N. M. Laird and D. B. Rubin, J. R. Stat. Soc. B 39 (1977) 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.appearance import LOOKS_STRENGTH
from argentry.learn.stages.fault_share import succeeded
from argentry.records.plate import STAGES
from argentry.trade.conditions import conditions, stage_priors

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats
    from argentry.records.plate import Making

ROUNDS = 30
GIVEN_UP = (1.0, 2.0)  # Beta of h before any plate: one plate given up of three chances; judged
_END = len(STAGES) - 1
_GUILTY, _LAST = np.indices((len(STAGES), len(STAGES)))


@dataclass(frozen=True)
class Spoilt:
    """What is known of some spoilt plates, each (plates, stages).

    Attributes
    ----------
    open_ : Floats
        1 for each stage that may have spoilt the plate.
    named : Floats
        1 for each of them that its looks name; for all of them where the looks name none.
    by_condition : Floats
        Share of its fault that conditions of the stage explain.
    written : Floats
        Chance of what is written of the plate if it was last at that stage.
    """

    open_: Floats
    named: Floats
    by_condition: Floats
    written: Floats


def shared_guilt(spoilt: Spoilt, known: Floats) -> Floats:
    """Return how likely each stage spoilt each plate, (plates, stages).

    Parameters
    ----------
    spoilt : Spoilt
        The plates.
    known : Floats
        (stages,) other plates that each stage is known to have spoilt. [plates]
    """
    usual = np.array([1.0 - stage_priors()[stage].ok_middle for stage in STAGES])
    start = usual / usual.sum() * trade.value("causes", "stage_rate_plates") + known
    follow = trade.value("causes", "looks_follow")
    open_, named, by_condition = spoilt.open_, spoilt.named, spoilt.by_condition * spoilt.open_
    left = 1.0 - spoilt.by_condition.sum(axis=1, keepdims=True)
    says = named.sum(axis=1) < open_.sum(axis=1)
    rate, given_up, right = start, GIVEN_UP[0] / sum(GIVEN_UP), follow
    share = open_ / open_.sum(axis=1, keepdims=True)
    for _ in range(ROUNDS):
        whole = (open_ @ rate)[:, None]
        chance = left * open_ * rate / whole
        by_looks = right * named * whole / (named @ rate)[:, None]
        looks = np.where(says[:, None], by_looks + 1.0 - right, 1.0)
        path = ((chance + by_condition) * looks)[:, :, None] * _paths(given_up, spoilt.written)
        path /= path.sum(axis=(1, 2), keepdims=True)
        share = path.sum(axis=2)
        rate = start + (share * chance / np.maximum(chance + by_condition, 1e-12)).sum(axis=0)
        given_up = _given_up(path)
        caught = float((share * by_looks / looks)[says].sum())
        right = (LOOKS_STRENGTH * follow + caught) / (LOOKS_STRENGTH + float(says.sum()))
    return np.asarray(share)


def _paths(given_up: float, written: Floats) -> Floats:
    """Return the chance of what is written, (plates, guilty, last)."""
    chance = np.where(_LAST >= _GUILTY, (1.0 - given_up) ** np.maximum(_LAST - _GUILTY, 0), 0.0)
    return np.asarray(np.where(_LAST < _END, given_up, 1.0) * chance * written[:, None, :])


def _given_up(share: Floats) -> float:
    """Return h from how likely each guilty and last stage of plates is, (plates, guilty, last)."""
    whole = share.sum(axis=0)
    up = float((whole * (_LAST < _END)).sum())
    on = float((whole * np.maximum(_LAST - _GUILTY, 0)).sum())
    return (GIVEN_UP[0] + up) / (sum(GIVEN_UP) + up + on)


def written(plates: Sequence[Making], makings: Sequence[Making]) -> Floats:
    """Return the chance of what is written of plates if each stage was their last.

    Parameters
    ----------
    plates : sequence of Making
        The plates that are asked about.
    makings : sequence of Making
        The studio's plates; the good ones among them went through every stage.

    Returns
    -------
    Floats
        (plates, stages).
    """
    good = _has([one for one in makings if succeeded(one)])
    often = (good.sum(axis=0) + 0.5) / (len(good) + 1.0)  # Jeffreys's Beta
    has = _has(plates)
    reached = np.where(has > 0.0, often, 1.0 - often)
    beyond = np.where(has > 0.0, 1e-3, 1.0)  # a reading in the wrong column
    rows = [
        reached[:, : k + 1].prod(axis=1) * beyond[:, k + 1 :].prod(axis=1)
        for k in range(len(STAGES))
    ]
    return np.stack(rows, axis=1)


def _has(plates: Sequence[Making]) -> Floats:
    """Return whether something is written of each stage alone, (plates, stages) of 0 and 1."""
    by = {s: {c for one in conditions() if one.stage == s for c in one.columns} for s in STAGES}
    own = {s: by[s] - {c for other in STAGES if other != s for c in by[other]} for s in STAGES}
    rows = [
        [float(s in one.stages or not own[s].isdisjoint(one.conditions)) for s in STAGES]
        for one in plates
    ]
    return np.array(rows).reshape(-1, len(STAGES))
