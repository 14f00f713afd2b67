"""What a wish for a short pose leaves of a day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.plan.daylight import expected_exposure_ends

if TYPE_CHECKING:
    from argentry.day.setting import DaySetting

TOO_SHORT = (
    "No camera time of this day is under {wished:g} min: the shortest is {shortest:.1f} min, at "
    "{time:%H:%M} (--pose-under)."
)


def pose_notes(setting: DaySetting) -> tuple[str, ...]:
    """Return the shortest camera time of the day and when, where none is as short as wished."""
    wished, light = setting.studio.habits.longest_pose_min, setting.lit.day
    if wished is None or np.isfinite(expected_exposure_ends(light)).any():
        return ()
    anyhow = replace(light, longest_exposure=trade.value("exposure", "longest_exposure"))
    lengths = expected_exposure_ends(anyhow) - np.arange(light.minutes + 1.0)
    if not np.isfinite(lengths).any():
        return ()
    best = int(np.nanargmin(lengths))
    time = setting.clock.at(best)
    return (TOO_SHORT.format(wished=wished, shortest=lengths[best], time=time),)
