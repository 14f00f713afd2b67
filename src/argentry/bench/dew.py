"""How warm a plate must be before it goes over iodine, by what was read of the air at the bench.

The page has the same in ``static/bench/dew.js``: it goes on while the server is away.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from argentry import trade
from argentry.physics.room.air import dew_point_c
from argentry.records.run import RunState
from argentry.trade.readings import quantities
from argentry.trade.steps import steps

AIR, HUMIDITY, BACK = "room_c", "room_rh_pct", "plate_c"
NEEDED = "Dew point {dew} °C by what was read: the back must be at {least} °C or more"
COLD = (
    "The back was at {back} °C, too near the dew point of {dew} °C: warm it to {least} °C or more"
)


@dataclass(frozen=True)
class DewRule:
    """What the page needs to say it too.

    Attributes
    ----------
    steps : tuple of str
        Steps after which the plate's temperature is read.
    magnus_a, magnus_b : float
        Of the dew point. [-, °C]
    margin_k : float
        How far above it a plate must be. [K]
    stale_s : Mapping[str, float]
        How long a reading of air, humidity and plate counts. [s]
    """

    steps: tuple[str, ...]
    magnus_a: float
    magnus_b: float
    margin_k: float
    stale_s: Mapping[str, float]


@cache
def dew_rule() -> DewRule:
    """Return the rule, from the trade's facts."""
    known = quantities()
    return DewRule(
        steps=tuple(rule.key for rule in steps() if BACK in rule.reads_after),
        magnus_a=trade.value("air", "magnus_a"),
        magnus_b=trade.value("air", "magnus_b"),
        margin_k=trade.value("air", "dew_margin"),
        stale_s={what: known[what].stale_after_s for what in (AIR, HUMIDITY, BACK)},
    )


def dew_words(state: RunState, plate: str, step: str) -> str:
    """Return how warm a plate's back must be; empty for other steps and without fresh readings."""
    rule, now = dew_rule(), state.now
    if now is None or step not in rule.steps:
        return ""
    fresh = {
        one.what: one.value
        for one in state.readings
        if one.what in rule.stale_s
        and (now - one.at).total_seconds() <= rule.stale_s[one.what]
        and (one.what != BACK or one.plate in (None, plate))
    }
    if AIR not in fresh or HUMIDITY not in fresh:
        return ""
    dew = float(dew_point_c(fresh[AIR], fresh[HUMIDITY]))
    said = {"dew": math.floor(dew + 0.5), "least": math.ceil(dew + rule.margin_k)}
    back = fresh.get(BACK)
    if back is None or back >= dew + rule.margin_k:
        return NEEDED.format(**said)
    return COLD.format(back=math.floor(back + 0.5), **said)
