"""To which stage a plate's fault counts, and for how much where nobody put it down to one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from argentry.records.plate import STAGES, Making
from argentry.trade.conditions import stage_priors
from argentry.trade.defects import defects
from argentry.trade.steps import stage_of

GOOD = ("good", "fine")
# levels of a stage, lowest and highest it may have come to
_OK = (2, 2)
_FAULT = {"lost": (0, 0), "study": (1, 1)}

Row = tuple[str, int, int, float]  # stage, lowest level, highest level, weight


def outward(making: Making) -> bool:
    """Return whether it was given up for no fault of its own: no time, light gone, sitter left."""
    return making.given_up is not None and making.given_up.reason == "outward"


def succeeded(making: Making) -> bool | None:
    """Return whether the plate came out good or fine; None when nobody can tell."""
    if outward(making):
        return False if "fault" in making.stages.values() else None
    if making.grade is not None:
        return making.grade in GOOD
    if "fault" in making.stages.values():
        return False
    return True if all(making.stages.get(s) == "ok" for s in STAGES) else None


def open_stages(making: Making) -> Sequence[str]:
    """Return the stages that may have spoilt a plate whose fault is not booked; none for others."""
    grade = None if outward(making) else making.grade
    if grade is None or grade in GOOD or "fault" in making.stages.values():
        return ()
    return _suspects(making)


def stage_rows(making: Making, blame: Mapping[str, float] | None = None) -> list[Row]:
    """Return what a making tells of each stage.

    A fault on a plate that came out good all the same cost nothing and counts as ok: the odds are
    about good plates. A spoilt plate without a booked fault is shared out over the stages it may
    have come from: those its defects may come from, else those nobody called ok, by `blame` or,
    without it, the trade's own fault rates. A stage before the guilty one was ok, written down or
    not, as the plate came so far; one after it says nothing: so the shares of the stages multiply
    to the share of good plates. A plate given up for an outward reason tells of the stages it
    reached and were judged, and of no other.
    """
    grade = None if outward(making) else making.grade
    if grade in GOOD:
        return [(stage, *_OK, 1.0) for stage in STAGES]
    faults = [stage for stage in STAGES if making.stages.get(stage) == "fault"]
    if faults or grade is None:
        # with two faults nobody knows which of them lost the plate
        level = _FAULT.get(grade or "", (0, 1)) if len(faults) == 1 else (0, 1)
        before = STAGES[: STAGES.index(faults[0])] if faults else ()
        return [
            (stage, *(level if stage in faults else _OK), 1.0)
            for stage in STAGES
            if stage in making.stages or stage in before
        ]
    trades = {s: 1.0 - stage_priors()[s].ok_middle for s in _suspects(making)}
    return _shared_out(making, blame or trades, _FAULT[grade])


def _suspects(making: Making) -> Sequence[str]:
    named: set[str] = set()
    for key, origin in making.defects:
        if origin in STAGES:
            named.add(origin)
            continue
        if origin in stage_of():
            named.add(stage_of()[origin])
        elif key in defects():
            named.update(defects()[key].stages)
    open_ = [s for s in STAGES if s in named] or [s for s in STAGES if s not in making.stages]
    return open_ or STAGES


def _shared_out(making: Making, blame: Mapping[str, float], level: tuple[int, int]) -> list[Row]:
    total = sum(blame.values())
    rows: list[Row] = []
    for stage in STAGES:
        if stage in blame:
            rows.append((stage, *level, blame[stage] / total))
        elif making.stages.get(stage) == "ok":
            rows.append((stage, *_OK, 1.0))
            continue
        later = sum(b for s, b in blame.items() if STAGES.index(s) > STAGES.index(stage))
        if later > 0.0:
            rows.append((stage, *_OK, later / total))
    return rows
