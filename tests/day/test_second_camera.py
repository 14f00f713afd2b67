"""A second box or camera: as many plates at a time as there are."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from tests.day.test_plan import studio

from argentry.day.setting import setting_of
from argentry.plan.check import faults
from argentry.plan.day import plan_day
from argentry.plan.problem import problem_of, shop_of
from argentry.plan.solver.solve import solve
from argentry.plan.tasks import EXPOSURE, blocks_of
from argentry.records import studio as rec
from argentry.records.instruments import Lens

DAY = date(2026, 12, 21)  # long poses


def wanted(boxes=1, cameras=1, plates=4):
    # a small opening: some twenty minutes before the camera, where the plates then meet
    lens = Lens("long lens", 8.0, 200.0, count=cameras)
    made = studio(
        lenses=(lens,), boxes=(replace(studio().boxes[0], count=boxes),),
        frames=(replace(studio().frames[0], count=8),),
        hours=rec.Hours("07:00", "21:00", workers=4),
        habits=rec.Habits(seal_later=True),
    )  # fmt: skip
    setting = setting_of(made, DAY, haze=None, learned=None, as_written=False, now=None, seed=1)
    return setting.wanted(plates)


def at_once(planned, day):
    pose = next(i for i, b in enumerate(planned.blocks) if b.kind == EXPOSURE)
    spans = list(zip(planned.starts[:, pose], planned.ends[:, pose], strict=True))
    return max(sum(low <= start < high for low, high in spans) for start, _ in spans)


def test_two_cameras_take_two_plates_at_a_time_and_the_day_ends_sooner():
    ends = []
    for cameras in (1, 2):
        day = wanted(cameras=cameras, boxes=2)
        planned = plan_day(day, effort=0.5, simulated_days=20)
        assert planned.placed == 4
        assert at_once(planned, day) <= cameras
        blocks = blocks_of(day.tasks)
        plan = (planned.starts, planned.ends, planned.frame_kind)
        assert faults(day, blocks, *plan) == ()
        ends.append(planned.earliest)
    assert ends[1] < ends[0] - 10.0
    # a plan for two cameras is not one for a single camera
    if at_once(planned, day) == 2:
        told = faults(replace(day, room_counts={"camera": 1, "box": 2}), blocks, *plan)
        assert any("hold camera, of which there is room for 1" in fault for fault in told)


@pytest.mark.parametrize(("boxes", "cameras"), [(1, 1), (2, 1), (2, 2)])
def test_the_solver_counts_them_as_the_simulation_does(boxes, cameras):
    day = wanted(boxes, cameras, plates=3)
    shop = shop_of(day, blocks_of(day.tasks), 3)
    found = solve(problem_of(shop), effort=1.0)
    assert found.found
    told = faults(
        day, shop.blocks, found.starts.astype(float), found.ends.astype(float), found.frame_kind
    )
    assert told == ()
    planned = plan_day(day, effort=1.0, simulated_days=20)
    assert np.isfinite(planned.earliest)
    assert planned.bound <= planned.earliest
