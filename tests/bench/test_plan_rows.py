"""A plan as a run keeps it: which steps have a latest start of their own."""

from dataclasses import replace
from datetime import timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

from argentry.bench.plan_rows import plan_rows
from argentry.bench.state_json import iso

_spec = spec_from_file_location("day_fixture", Path(__file__).parents[1] / "out" / "day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)


def rows_of(change):
    """Return the rows of one plate's plan, with its steps changed."""
    plan = fixture.make_plan(1)
    return plan_rows(replace(plan, steps=tuple(change(one) for one in plan.steps)), ["a"])["a"]


def without_room(step):
    return replace(step, latest_start=step.start, float_minutes=0.0)


def test_a_step_that_follows_at_once_without_room_has_no_latest_start_of_its_own():
    """Washing was called 3 min late because fixing, which had its time, took 3 min more."""
    rows = rows_of(lambda one: without_room(one) if one.step in ("wash", "develop") else one)
    assert rows["wash"]["latest"] is None
    assert rows["develop"]["latest"] is None
    assert rows["look"]["latest"] is not None, "it has room"


def test_a_step_that_begins_a_day_or_follows_a_wait_keeps_its_latest_start():
    plan = fixture.make_plan(1)
    first = plan.steps[0]
    rows = rows_of(without_room)
    assert rows[first.step]["latest"] == iso(first.start)
    late = rows_of(
        lambda one: replace(
            without_room(one),
            **(
                {"start": one.start + timedelta(minutes=1), "latest_start": one.start}
                if one.step == "wash"
                else {}
            ),
        )
    )
    assert late["wash"]["latest"] is not None, "hands come to it later"
