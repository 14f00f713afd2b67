"""Where the plates of a run stand, and the studio of its day, as the planner asks for them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from argentry.bench.hands import held_by
from argentry.desk.wishes import OPTIONS
from argentry.errors import ArgentryError
from argentry.records.again import PlateStanding
from argentry.records.event import KINDS, Event
from argentry.records.plain import from_plain
from argentry.records.run import PlateState, RunState
from argentry.records.run_step import StepState
from argentry.records.studio import Studio
from argentry.records.wishes import Sitter, Wishes
from argentry.trade import steps as trade_steps


def standing(state: RunState, plate: PlateState) -> PlateStanding:
    """Return where a plate of a run stands, as the planner asks it."""
    develop = plate.step(trade_steps.by_law("development").key)
    kept = state.step(develop.key).resource
    frame = "" if develop.plan is None else develop.plan.held
    # what is done once for the whole run is the first plate's; of the others it was left out
    once = {rule.key for rule in trade_steps.steps() if rule.scope == "day"}
    not_its = once if plate.id != state.plates[0].id else set()
    # the planner asks for the frame it lies in or lay in
    in_frame = develop.begun is not None or (bool(kept) and held_by(state, plate) == kept)
    return PlateStanding(
        label=plate.label,
        begun={s.key: s.begun for s in plate.steps if s.begun is not None},
        ended={
            s.key: s.ended
            for s in plate.steps
            if s.state in ("done", "skipped") and s.ended and s.key not in not_its
        },
        frame=(frame or str(state.constants.get("frame") or "")) if in_frame else "",
        lost=plate.state in ("abandoned", "withdrawn") or left(plate),
        planned={s.key: s.plan.start for s in plate.steps if s.plan is not None},
        sitter=_sitter(state, plate),
        polished=plate.id in (state.constants.get("polished") or ()),
        ripe=_ripe(state, develop),
    )


def _ripe(state: RunState, develop: StepState) -> tuple[datetime, float] | None:
    """Return the end that a plate's own pictures gave its development, and how well they know."""
    if develop.ripe is None or develop.state != "running" or state.now is None:
        return None
    return state.now + timedelta(seconds=develop.left_s), develop.ripe.log_sd


def _sitter(state: RunState, plate: PlateState) -> Sitter | None:
    """Return who comes for a plate at a set time, as the run was opened with."""
    try:
        sitter: Sitter = from_plain(Sitter, state.constants["sitters"][plate.id])
    except (KeyError, TypeError, ValueError):  # nobody does, or it is of another form
        return None
    return sitter


def known_by(events: Sequence[Event], now: datetime) -> list[Event]:
    """Return the events of a run without those that hands and devices told after a moment.

    What came while a plan waited to be worked out is not known to it: it was taken for told, and no
    plan was made for it at all.
    """
    return [one for one in events if one.at <= now or KINDS[one.kind].house_only]


def left(plate: PlateState) -> bool:
    """Tell whether a plan that was taken leaves a plate for another day."""
    return plate.left_out and not plate.begun


def studio_of(studio: Studio, state: RunState) -> Studio:
    """Return the studio with what was wished for the day that the run was opened for."""
    from argentry.studio.today import studio_today

    said = state.constants.get("wishes")
    try:
        return studio_today(studio, from_plain(Wishes, said), OPTIONS) if said else studio
    except (KeyError, TypeError, ValueError, ArgentryError):  # of another form, or no longer fits
        return studio
