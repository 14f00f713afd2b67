"""Why no other plate is begun in the place of one that was lost, in one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.day.day_clock import Clock
    from argentry.plan.not_offered import NotOffered

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
    "well, but within your hours on only {share:.0f} % of days."
)


def no_more_line(found: NotOffered, clock: Clock, hours_end: datetime) -> str:
    """Return why a plate is not offered.

    Parameters
    ----------
    found : NotOffered
        How it would go.
    clock : Clock
        Of its minutes.
    hours_end : datetime
        When the studio's own hours end.
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
    return RARELY.format(begun=begun, done=done, share=100.0 * found.share)
