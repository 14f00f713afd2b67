"""Plans that keep the order that stands, of which one is gone on by when a plan is made again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.further import NEVER

if TYPE_CHECKING:
    from argentry.arrays import Truth
    from argentry.plan.middle import Middle
    from argentry.plan.shop import DayRun, Rules

STILL = 5.0  # a plan whose steps all move by less stands [min]


def as_it_stands(middle: Middle) -> tuple[list[tuple[DayRun, Rules]], bool]:
    """Return plans by the order that stands, each with the rule that keeps to it.

    With nothing before its planned time, where that still leads to the plan that stands; with each
    step as soon as hands are free for it; with what spoils before what keeps; and, as the last,
    with each plate begun at once, however long before its time. True beside them when the first one
    is the plan that stands.

    Parameters
    ----------
    middle : Middle
        Where the plates stand, and by which plan.
    """
    kept = middle.standing.kept
    soon = middle.follow(kept)
    waiting = middle.run(replace(soon, not_before=soon.priority.copy())).one(0)
    ahead = np.isnan(middle.begun.starts) & np.isfinite(kept)
    held = np.isfinite(kept).all(axis=1) | np.isnan(middle.begun.starts).all(axis=1)
    unmoved = bool(held.all() and (np.abs(waiting.starts - kept)[ahead] <= STILL).all())
    found = [(waiting, middle.follow(waiting.starts))] if unmoved else []
    plan = middle.run(soon).one(0)
    found.append((plan, middle.follow(plan.starts)))
    spoils = np.array([i > 0 and b.within is not None for i, b in enumerate(middle.shop.blocks)])
    first = middle.run(_spoiling_first(soon, spoils)).one(0)
    found.append((first, _spoiling_first(middle.follow(first.starts), spoils)))
    at_once = middle.run(middle.at_once(kept)).one(0)
    found.append((at_once, middle.follow(at_once.starts)))
    return found, unmoved


def _spoiling_first(rule: Rules, spoils: Truth) -> Rules:
    return replace(rule, priority=rule.priority - NEVER * spoils)


def plate_by_plate(middle: Middle) -> tuple[DayRun, Rules]:
    """Return a plan in which who is to be done first is finished first, with its rule.

    Past the hours some plates are then done within them, where by the order that stands each waits
    for the last step of the others.

    Parameters
    ----------
    middle : Middle
        Where the plates stand, and by which plan.
    """
    soon = middle.follow(middle.standing.kept)
    place = np.argsort(np.argsort(soon.priority[0, :, -1], kind="stable"))
    plan = middle.run(replace(soon, priority=soon.priority + NEVER * place[:, None])).one(0)
    return plan, middle.follow(plan.starts)
