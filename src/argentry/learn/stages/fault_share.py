"""To which stage a plate's fault counts, and for how much where nobody put it down to one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors
from argentry.trade.defects import defects, stage_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.records.plate import Outcome

__all__ = ["stage_rows", "succeeded"]

GOOD = ("good", "fine")
# levels of a stage, lowest and highest it may have come to
_OK = (2, 2)
_FAULT = {"lost": (0, 0), "study": (1, 1)}

Row = tuple[str, int, int, float]  # stage, lowest level, highest level, weight


def succeeded(outcome: Outcome) -> bool | None:
    """Return whether the plate came out good or fine; None when nobody can tell yet."""
    if outcome.grade is not None:
        return outcome.grade in GOOD
    if "fault" in outcome.stages.values():
        return False
    return True if all(outcome.stages.get(s) == "ok" for s in STAGES) else None


def stage_rows(outcome: Outcome) -> list[Row]:
    """Return what an outcome tells of each stage.

    A fault on a plate that came out good all the same cost nothing and counts as ok: the odds are
    about good plates. A spoilt plate without a booked fault is shared out over the stages it may
    have come from: those its defects may come from, else those nobody called ok, by the trade's
    own fault rates; a stage before the guilty one was ok, one after it says nothing.
    """
    if outcome.grade in GOOD:
        return [(stage, *_OK, 1.0) for stage in STAGES]
    faults = [stage for stage in STAGES if outcome.stages.get(stage) == "fault"]
    if faults or outcome.grade is None:
        # with two faults nobody knows which of them lost the plate
        level = _FAULT.get(outcome.grade or "", (0, 1)) if len(faults) == 1 else (0, 1)
        return [
            (stage, *(level if stage in faults else _OK), 1.0)
            for stage in STAGES
            if stage in outcome.stages
        ]
    return _shared_out(outcome, _suspects(outcome), _FAULT[outcome.grade])


def _suspects(outcome: Outcome) -> Sequence[str]:
    named: set[str] = set()
    for key, origin in outcome.defects:
        if origin in STAGES:
            named.add(origin)
            continue
        if origin in stage_of():
            named.add(stage_of()[origin])
        elif key in defects():
            named.update(defects()[key].stages)
    open_ = [s for s in STAGES if s in named] or [s for s in STAGES if s not in outcome.stages]
    return open_ or STAGES


def _shared_out(outcome: Outcome, suspects: Sequence[str], level: tuple[int, int]) -> list[Row]:
    blame = {s: 1.0 - stage_priors()[s].ok_middle for s in suspects}
    total = sum(blame.values())
    rows: list[Row] = []
    for stage in STAGES:
        if stage not in blame:
            if outcome.stages.get(stage) == "ok":
                rows.append((stage, *_OK, 1.0))
            continue
        rows.append((stage, *level, blame[stage] / total))
        later = sum(b for s, b in blame.items() if STAGES.index(s) > STAGES.index(stage))
        if later > 0.0:
            rows.append((stage, *_OK, later / total))
    return rows
