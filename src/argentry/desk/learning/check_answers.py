"""What the checks of this studio tell, by what their answers caught."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.learn.deciding.check_quality import learned_check
from argentry.learn.stages.table import succeeded
from argentry.trade.decide import known_checks
from argentry.trade.steps import stage_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.learn.deciding.stage_work import Check
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
