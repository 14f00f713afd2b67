"""The next day that holds a plate, when one does not: by its light first, then by a plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from argentry.day.setting import DaySetting, setting_on
from argentry.errors import BadInput
from argentry.plan.choose import holds
from argentry.plan.day import plan_day
from argentry.plan.problem import shop_of
from argentry.plan.tasks import blocks_of
from argentry.records.day import DayPlan, weekday_and_date

NEXT = "The next day that holds a plate, under a clear sky, is {day}."
NONE = "No day of the coming year holds a plate, even under a clear sky, as the studio works now."
WEEK, FARTHEST = 7, 371  # a day of each week is looked at first, for a year [days]
EFFORT, SIMULATED_DAYS = 0.2, 10  # enough to see whether there is a plan at all


def with_next_day(plan: DayPlan, setting: DaySetting, *, seed: int) -> DayPlan:
    """Return a plan that, when it holds no plate, tells the next day that does."""
    if plan.plates_placed:
        return plan
    found = next_day(setting, seed=seed)
    note = NONE if found is None else NEXT.format(day=weekday_and_date(found))
    first, *others = plan.warnings
    return replace(plan, next_day=found, warnings=(first, note, *others))


def next_day(setting: DaySetting, *, seed: int) -> date | None:
    """Return the next day that holds a plate under a clear sky; None for none within a year."""
    looked = range(1, FARTHEST + 1, WEEK)
    by_rule = (ahead for ahead in looked if _has_light(setting, ahead, seed=seed))
    first = next(by_rule, None)
    if first is None:
        return None
    # a search may find what no simple rule does: the weeks before are gone through by plans
    for ahead in range(max(first - 2 * WEEK, 1), first + WEEK):
        if _has_light(setting, ahead) and _holds(setting, ahead, seed):
            return setting.date + timedelta(days=ahead)
    return None


def _has_light(setting: DaySetting, ahead: int, *, seed: int | None = None) -> bool:
    """Look whether plates are exposed and ripen; with a seed, whether a simple rule does one."""
    try:
        day = setting_on(setting, setting.date + timedelta(days=ahead)).wanted(1)
    except BadInput:  # its hours fall into a change of the clocks, or the calendar ends
        return False
    shop = shop_of(day, blocks_of(day.tasks), 1)
    if np.isnan(shop.expected_exposure_ends).all() or np.isnan(shop.expected_ripe).all():
        return False
    return seed is None or holds(shop, seed)


def _holds(setting: DaySetting, ahead: int, seed: int) -> bool:
    day = setting_on(setting, setting.date + timedelta(days=ahead)).wanted(1)
    planned = plan_day(day, effort=EFFORT, simulated_days=SIMULATED_DAYS, seed=seed)
    return planned.placed > 0
