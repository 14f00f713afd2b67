"""Plates polished the evening before, and sealed another day."""

from datetime import date
from functools import cache

import pytest
from tests.day.test_plan import plan, shown_and_planned, studio

from argentry.out.day.answer import holds, other_days
from argentry.plan.check import faults
from argentry.plan.tasks import blocks_of
from argentry.records.studio import Habits, Hours
from argentry.trade.steps import steps

QUICK = {"effort": 0.5, "simulated_days": 20}
DAY = date(2026, 6, 21)
USUAL, SHORT = studio().hours, Hours("10:00", "16:30")


@cache
def made(plates, hours=USUAL, **habits):
    return plan(DAY, made=studio(hours=hours, habits=Habits(**habits)), plates=plates, **QUICK)


def keys(day, plate):
    return [step.step for step in day.steps if step.plate == plate]


def test_what_is_sealed_another_day_leaves_room_for_more_plates():
    same, later = made(3, SHORT), made(3, SHORT, seal_later=True)
    assert 0 < same.plates_placed < 3
    assert later.plates_placed == 3
    assert keys(later, 1)[-1] == "dry"
    assert [step.key for step in steps() if step.title in later.another_day] == [
        "inspect", "seal", "label",
    ]  # fmt: skip
    assert "Left for another day: Let it cool" in other_days(later)[0]
    assert same.another_day == ()
    # what only sealing uses is not bought for this day
    names = {one.name for one in same.materials} - {one.name for one in later.materials}
    glass = {"glass", "tape", "label"}
    assert len(names) == len(glass)
    assert "sealed another" in holds(later) or "at least" in holds(later)


@pytest.mark.parametrize("count", [1, 2, 5])
def test_polished_plates_have_only_their_last_buff(count):
    day = made(3, polished=count)
    assert len(day.polished) == min(count, 3)
    for plate in (1, 2, 3):
        first = "final_buff" if plate in day.polished else "scour"
        assert keys(day, plate)[0] == first
    assert len(day.steps) < len(made(3).steps)
    assert str(day.polished[0]) in other_days(day)[0]


def test_a_day_of_polished_plates_ends_earlier_and_keeps_every_rule():
    ends = []
    for count in (0, 3):
        habits = Habits(polished=count)
        _, day, planned = shown_and_planned(studio(habits=habits), DAY, plates=3, **QUICK)
        assert planned.placed == 3
        blocks = blocks_of(day.tasks)
        found = faults(day, blocks, planned.starts, planned.ends, planned.frame_kind)
        assert found == ()
        ends.append(planned.earliest)
    assert ends[1] < ends[0]
