"""Whether advice has earned to be shown, and what the checks of this studio tell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import numpy as np

from argentry import trade
from argentry.learn.deciding.check_quality import learned_check
from argentry.learn.deciding.replay import advice_gains
from argentry.learn.deciding.stage_work import usual_work
from argentry.learn.stages.table import succeeded
from argentry.trade.decide import known_checks
from argentry.trade.steps import stage_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.learn.deciding.stage_work import Check, StageWork
    from argentry.learn.odds.odds import Fitted
    from argentry.records.plate import Making

    Answered = Mapping[str, Mapping[str, str]]

ANSWERS = ("right", "doubtful", "wrong")


def checks_here(makings: Sequence[Making], answered: Answered) -> dict[str, Check]:
    """Return what each check shows in this studio: the trade's word and what its answers caught.

    A plate that came out good was sound at that stage, whatever the check said. A fault counts when
    the maker or a defect put it down to the stage; the check's own answer is no proof of it.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates.
    answered : Mapping
        Id of a making to its stages and the answers of their checks.
    """
    out = {}
    for check in known_checks():
        sound, fault = [0, 0, 0], [0, 0, 0]
        for one in makings:
            answer = answered.get(one.id, {}).get(check.stage)
            if answer is None:
                continue
            seen = ANSWERS.index(answer)
            if succeeded(one):
                sound[seen] += 1
            elif _at_fault(one, check.stage, answer):
                fault[seen] += 1
        out[check.key] = learned_check(check, sound, fault)
    return out


def _at_fault(one: Making, stage: str, answer: str) -> bool:
    by_defect = any(stage_of().get(origin, origin) == stage for _, origin in one.defects)
    return by_defect or (answer != "wrong" and one.stages.get(stage) == "fault")


def advice_earned(fit: Fitted, area_cm2: float, shares: Mapping[str, float]) -> frozenset[str]:
    """Return the stages after which advice would have won on the plates there are.

    Parameters
    ----------
    fit : Fitted
        What the plates taught, with what it predicted of each before it was seen.
    area_cm2 : float
        Of a plate. [cm2]
    shares : Mapping[str, float]
        Share of each stage that comes out ok on a usual plate. [1]
    """
    key = (area_cm2, *shares.items())
    kept = _earned.setdefault(fit, {})
    if key not in kept:
        kept[key] = _replayed(fit, usual_work(area_cm2, dict(shares)))
    return kept[key]


# by the fit itself: it goes when the fit does
_earned: WeakKeyDictionary[Fitted, dict[tuple[Any, ...], frozenset[str]]] = WeakKeyDictionary()


def _replayed(fit: Fitted, stages: Sequence[StageWork]) -> frozenset[str]:
    seen = np.flatnonzero([came is not None for came in fit.came])
    at = seen[int(trade.value("decide", "replay_from")) :]
    if not at.size:
        return frozenset()
    good = np.array([float(bool(fit.came[i])) for i in at])
    gains = advice_gains(stages, fit.predicted[:, at], fit.spoilt[:, at], good)
    return frozenset(stage for stage, gain in gains.items() if gain > 0.0)
