"""Why no other plate is begun in the place of one that was lost, in one sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.again import WORTH_BEGINNING, beside_one_more
from argentry.plan.dispatch import play
from argentry.plan.further import with_one_more
from argentry.plan.tasks import frame_span

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.day.day_clock import Clock
    from argentry.plan.again import Again
    from argentry.plan.further import Further
    from argentry.plan.problem import Day, Standing

PAST_HOURS = "No other plate today: those in hand keep you past your hours already."
IN_HAND = "No other plate today: those in hand come first, and not all of them may be finished."
NO_LIGHT = "No other plate today: too little light is left for it to ripen."
NO_TIME = "No other plate today: begun at {begun:%H:%M}, it would not be ripe until {ripe:%H:%M}."
TOO_LATE = (
    "No other plate today: begun at {begun:%H:%M}, it would be ripe at {ripe:%H:%M} and done at "
    "{done:%H:%M}, {minutes:.0f} min after your hours."
)
RARELY = (
    "No other plate today: begun at {begun:%H:%M}, it would be done at {done:%H:%M} if all goes "
    "well, but within your hours on only {percent} % of days."
)
TIGHT = (
    "No other plate today: begun at {begun:%H:%M}, it would be done at {done:%H:%M} if all goes "
    "well, and those in hand come first."
)
SEALED_LATER = (
    " With sealing left for another day (seal_later in the studio file) one more would be finished "
    "on {percent:.0f} % of days."
)


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


def not_offered(day: Day, standing: Standing, again: Again, *, days: int, seed: int) -> NotOffered:
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
    middle, rule = beside_one_more(day, standing, again, days, seed)
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


def no_more_line(
    found: NotOffered, clock: Clock, hours_end: datetime, too_rare: float | None = None
) -> str:
    """Return why a plate is not offered.

    Parameters
    ----------
    found : NotOffered
        How it would go.
    clock : Clock
        Of its minutes.
    hours_end : datetime
        When the studio's own hours end.
    too_rare : float or None
        The chance that decided, where one did. [1]
    """
    if not np.isfinite(found.ripe):
        return NO_LIGHT
    begun, ripe = clock.at(found.begun), clock.at(found.ripe)
    if not np.isfinite(found.done):
        return NO_TIME.format(begun=begun, ripe=ripe)
    done = clock.at(found.done)
    over = (done - hours_end).total_seconds() / 60.0
    if over > 0.0:
        return TOO_LATE.format(begun=begun, ripe=ripe, done=done, minutes=over)
    share = found.share if too_rare is None else too_rare
    if share >= WORTH_BEGINNING:
        return TIGHT.format(begun=begun, done=done)
    return RARELY.format(begun=begun, done=done, percent=int(100.0 * share))


def sealed_later_line(more: Further | None) -> str:
    """Return that leaving the sealing makes room, with the odds; nothing where it does not."""
    return "" if more is None else SEALED_LATER.format(percent=100.0 * float(more.sound.mean()))
