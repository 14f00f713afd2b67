"""What the checks of this studio tell, by what their answers caught.

A plate that came out good was sound at the stage of a check, whatever the check said; of a lost one
it is known as far as its fault is laid to the stage: booked, told by its looks, or shared out where
nobody booked it. A plate given up because a check was answered *wrong* is no proof of either, nor
is a stage that was done once more: if they were left out, only the faults that a check missed would
count against it. So each counts as a fault as likely as the check, so far as it is known, makes it
by its answer [1]_.

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
    from argentry.desk.numbers.run_so_far import PlateSoFar
    from argentry.learn.deciding.stage_work import Check
    from argentry.learn.odds.odds import Fitted
    from argentry.records.plate import Making
    from argentry.trade.decide import KnownCheck

    Seen = Mapping[str, PlateSoFar]

ANSWERS = ("right", "doubtful", "wrong")
ROUNDS = 12


def checks_here(fit: Fitted, seen: Seen) -> dict[str, Check]:
    """Return what each check shows in this studio: the trade's word and what its answers caught.

    Parameters
    ----------
    fit : Fitted
        What is learned of the studio's plates: how each stage of each came out.
    seen : Mapping[str, PlateSoFar]
        Id of a making to what the bench saw of it, with the answers of its checks.
    """
    return {check.key: _check(fit, seen, check) for check in known_checks()}


def _check(fit: Fitted, seen: Seen, check: KnownCheck) -> Check:
    counts, unproved = _counts(fit, seen, check.stage)
    found = learned_check(check, *counts)
    if unproved.any():
        usual = float(fit.usual[check.stage].mean())
        for _ in range(ROUNDS):
            sound = np.array([float(after) for after in posterior(found, usual)[1]])
            shares = np.stack([sound, 1.0 - sound])
            found = learned_check(check, *(counts + shares * unproved))
    return found


def _counts(fit: Fitted, seen: Seen, stage: str) -> tuple[Floats, Floats]:
    """Return the answers where the stage was sound and where not, (2, 3); not proved, (3,)."""
    counts, unproved = np.zeros((2, len(ANSWERS))), np.zeros(len(ANSWERS))
    by_id = {one.id: one for one in fit.makings}
    table = fit.stages[stage].table
    for key, ok, weight in zip(table.ids, table.ok, table.weight, strict=True):
        answer = seen[key].answers.get(stage) if key in seen else None
        if answer is None:
            continue
        if not ok and _own_word(by_id[key], stage, answer):
            unproved[ANSWERS.index(answer)] += float(weight)
        else:
            counts[int(not ok), ANSWERS.index(answer)] += float(weight)
    for key in by_id.keys() & seen.keys():
        for answer in seen[key].taken_back.get(stage, ()):
            unproved[ANSWERS.index(answer)] += 1.0
    return counts, unproved


def _own_word(one: Making, stage: str, answer: str) -> bool:
    """Return whether nothing but the check itself says that the stage failed."""
    by_defect = any(stage_of().get(origin, origin) == stage for _, origin in one.defects)
    return answer == "wrong" and one.stages.get(stage) == "fault" and not by_defect
