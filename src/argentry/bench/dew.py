"""How warm a plate must be before it goes over iodine, by what was read of the air of the room.

The page has the same in ``static/bench/dew.js``: it goes on while the server is away.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache

from argentry import trade
from argentry.bench.words import zone_of
from argentry.physics.room.air import dew_point_c
from argentry.records.run import RunReading, RunState
from argentry.trade.readings import quantities
from argentry.trade.steps import steps

AIR, HUMIDITY, BACK = "room_c", "room_rh_pct", "plate_c"
NEEDED = "Dew point {dew} °C by the air read at {at}: the back must be at {least} °C or more"
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
        How long a reading of air, humidity and plate counts here: of the air longer than for a
        step's length, as its time is said. [s]
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
        stale_s={
            AIR: trade.value("air", "dew_reading_age"),
            HUMIDITY: trade.value("air", "dew_reading_age"),
            BACK: known[BACK].stale_after_s,
        },
    )


def with_air(state: RunState, air: Iterable[RunReading]) -> RunState:
    """Return a run with readings of the room's air that were taken outside it."""
    return replace(state, readings=(*state.readings, *air))


def dew_words(state: RunState, plate: str, step: str) -> str:
    """Return how warm a plate's back must be; empty for other steps and without fresh readings."""
    rule, now = dew_rule(), state.now
    if now is None or step not in rule.steps:
        return ""
    fresh = {  # the newest of each, as they stand in order of time
        one.what: one
        for one in sorted(state.readings, key=lambda one: one.at)
        if one.what in rule.stale_s
        and (now - one.at).total_seconds() <= rule.stale_s[one.what]
        and (one.what != BACK or one.plate in (None, plate))
    }
    if AIR not in fresh or HUMIDITY not in fresh:
        return ""
    air, humidity = fresh[AIR], fresh[HUMIDITY]
    dew = float(dew_point_c(air.value, humidity.value))
    at = min(air.at, humidity.at).astimezone(zone_of(state))
    said = {"dew": math.floor(dew + 0.5), "least": math.ceil(dew + rule.margin_k)}
    back = fresh[BACK].value if BACK in fresh else None
    if back is None or back >= dew + rule.margin_k:
        return NEEDED.format(at=f"{at:%H:%M}", **said)
    return COLD.format(back=math.floor(back + 0.5), **said)
