"""How a plate in the place of a lost one would go, where none is offered: begun now, behind all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import rules
from argentry.plan.dispatch import play
from argentry.plan.further import with_one_more
from argentry.plan.middle import LEAD, taken_up
from argentry.plan.tasks import frame_span

if TYPE_CHECKING:
    from argentry.plan.again import Again
    from argentry.plan.problem import Day, Standing


@dataclass(frozen=True)
class NotOffered:
    """How one plate more would go.

    Attributes
    ----------
    begun, ripe, done : float
        On the expected day; NaN where it does not come so far. [min]
    share : float
        Of days, on which it is finished within the hours with its limits held. [1]
    """

    begun: float
    ripe: float
    done: float
    share: float


def not_offered(
    day: Day, standing: Standing, again: Again, *, days: int, seed: int = 1
) -> NotOffered:
    """Return how a plate would go that is begun as soon as hands are free for it.

    Parameters
    ----------
    day : Day
        From now on; it may go on past its hours.
    standing : Standing
        Where its plates stand.
    again : Again
        The plan made again of them; it holds every plate that stands.
    days : int
        Simulated days.
    seed : int
        For the draws.
    """
    blocks = again.planned.blocks
    middle = taken_up(day, blocks, standing.with_one_more(), days, seed)
    shop = replace(middle.shop, plates=middle.shop.plates - 1)
    rule = rules.follow(shop, again.planned.starts[None], LEAD)
    rule = with_one_more(rule, day.first_minute)
    plan, runs = middle.run(rule).one(0), play(middle.shop, rule, middle.drawn)
    in_time = runs.sound[0, :, -1] & (np.nan_to_num(runs.ends[0, :, -1, -1]) <= day.hours_end)
    ripe = plan.ends[-1, frame_span(blocks)[1] - 1]
    return NotOffered(
        begun=float(plan.starts[-1, 0]),
        ripe=float(ripe),
        done=float(plan.ends[-1, -1]),
        share=float(in_time.mean()),
    )
