"""What the checks of this studio tell, by what their answers caught.

A plate that came out good was sound at the stage of a check, whatever the check said; of a lost one
it is known as far as its fault is laid to the stage: booked, told by its looks, or shared out where
nobody booked it. A plate given up because a check was answered *wrong* is no proof of either: if it
were left out, only the faults that a check missed would count against it. So it counts as a fault
as likely as the check, so far as it is known, makes it [1]_.

References
----------
.. [1] C. B. Begg and R. A. Greenes, Biometrics 39 (1983) 207 (tests whose result decides whether
   the truth is ever seen).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.deciding.check_quality import learned_check
from argentry.learn.deciding.stage_work import posterior
from argentry.trade.decide import known_checks
from argentry.trade.steps import stage_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.arrays import Floats
    from argentry.learn.deciding.stage_work import Check
    from argentry.learn.odds.odds import Fitted
    from argentry.records.plate import Making
    from argentry.trade.decide import KnownCheck

    Answered = Mapping[str, Mapping[str, str]]

ANSWERS = ("right", "doubtful", "wrong")
ROUNDS = 12


def checks_here(fit: Fitted, answered: Answered) -> dict[str, Check]:
    """Return what each check shows in this studio: the trade's word and what its answers caught.

    Parameters
    ----------
    fit : Fitted
        What is learned of the studio's plates: how each stage of each came out.
    answered : Mapping
        Id of a making to its stages and the answers of their checks.
    """
    return {check.key: _check(fit, answered, check) for check in known_checks()}


def _check(fit: Fitted, answered: Answered, check: KnownCheck) -> Check:
    counts, unproved = _counts(fit, answered, check.stage)
    found = learned_check(check, *counts)
    if unproved:
        usual = float(fit.usual[check.stage].mean())
        for _ in range(ROUNDS):
            sound = float(posterior(found, usual)[1][-1])
            shares = np.array([sound, 1.0 - sound])
            found = learned_check(check, *(counts + np.outer(shares * unproved, [0.0, 0.0, 1.0])))
    return found


def _counts(fit: Fitted, answered: Answered, stage: str) -> tuple[Floats, float]:
    """Return the answers where the stage was sound and where not, (2, 3); and those not proved."""
    counts, unproved = np.zeros((2, len(ANSWERS))), 0.0
    by_id = {one.id: one for one in fit.makings}
    table = fit.stages[stage].table
    for key, ok, weight in zip(table.ids, table.ok, table.weight, strict=True):
        answer = answered.get(key, {}).get(stage)
        if answer is None:
            continue
        if not ok and _own_word(by_id[key], stage, answer):
            unproved += float(weight)
        else:
            counts[int(not ok), ANSWERS.index(answer)] += float(weight)
    return counts, unproved


def _own_word(one: Making, stage: str, answer: str) -> bool:
    """Return whether nothing but the check itself says that the stage failed."""
    by_defect = any(stage_of().get(origin, origin) == stage for _, origin in one.defects)
    return answer == "wrong" and one.stages.get(stage) == "fault" and not by_defect
