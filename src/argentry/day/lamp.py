"""What a lamp does for a day whose sun will not do, or what it would do where there is none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.day.planner_light import frames_of
from argentry.day.tables import take_out_minutes
from argentry.plan.choose import holds
from argentry.plan.problem import cannot_fit, problem_of, shop_of
from argentry.plan.tasks import DEVELOPMENT
from argentry.records.instruments import Lamp

if TYPE_CHECKING:
    from argentry.day.setting import DaySetting
    from argentry.plan.day import Planned
    from argentry.plan.daylight import Frames
    from argentry.plan.shop import Shop

UNDER = (
    "Plate {plate} lies under the lamp ({frame}) from {start:%H:%M} to {end:%H:%M}: in the sun it "
    "would not be ripe in time."
)
WOULD = (
    "A lamp would do what the sun does not: {plates} can be finished with {frames} under a lamp of "
    "{power:g} W at {distance:g} m, {hours:.1f} h each (--lamp, or a [[frame]] with [frame.lamp] "
    "power_w = {power:g} and distance_m = {distance:g} in studio.toml)."
)
FRAME, FRAMES = "one frame", "{count} frames"
PLATE, PLATES = "one plate", "{count} plates"
SEED, RULE_DRAWS = 1, 10


def lamp_notes(setting: DaySetting, planned: Planned, asked: int) -> tuple[str, ...]:
    """Return what the lamp does for the plan, or what one would do for plates it does not hold."""
    if any(frame.lamp for frame in setting.lit.day.frames):
        return _under_the_lamp(setting, planned)
    return () if planned.placed >= max(asked, 1) else _would(setting, planned, max(asked, 1))


def _under_the_lamp(setting: DaySetting, planned: Planned) -> tuple[str, ...]:
    """Return the hours of the plates that lie under a lamp because the sun would not do."""
    frames, clock = setting.lit.day.frames, setting.clock
    sunlit = [frame.expected_ends for frame in frames if not frame.lamp]
    deadline = clock.minutes - take_out_minutes(planned.blocks)
    developing = next(i for i, b in enumerate(planned.blocks) if b.kind == DEVELOPMENT)
    notes = []
    for plate, kind in enumerate(planned.frame_kind):
        start, end = (float(t[plate, developing]) for t in (planned.starts, planned.ends))
        if not frames[kind].lamp or any(ends[int(start)] <= deadline for ends in sunlit):
            continue
        frame = frames[kind].name
        notes.append(
            UNDER.format(plate=plate + 1, frame=frame, start=clock.at(start), end=clock.at(end))
        )
    return tuple(notes)


def _would(setting: DaySetting, planned: Planned, asked: int) -> tuple[str, ...]:
    """Return what a lamp over one frame, or over as many as plates, would bring."""
    lit, day = setting.lit, setting.wanted(asked)
    power, distance = (trade.value("development", k) for k in ("maker_lamp", "lamp_distance"))
    studio = setting.studio
    lamp = replace(studio.frames[0], lamp=Lamp(power, distance))
    for count in dict.fromkeys((1, asked - planned.placed)):
        sun = np.zeros((lit.day.exposure_days.shape[0] + 1, setting.clock.minutes))
        under: Frames = frames_of(studio, replace(lamp, count=count), sun, varied=False)
        lamplit = replace(day, light=replace(lit.day, frames=(*lit.day.frames, under)))
        if not _fits(shop_of(lamplit, planned.blocks, asked)):
            continue
        minutes = float(under.expected_ends[0])
        return (
            WOULD.format(
                plates=PLATE if asked == 1 else PLATES.format(count=asked),
                frames=FRAME if count == 1 else FRAMES.format(count=count),
                power=power,
                distance=distance,
                hours=minutes / 60.0,
            ),
        )
    return ()


def _fits(shop: Shop) -> bool:
    return not cannot_fit(problem_of(shop)) and holds(shop, SEED, RULE_DRAWS)
