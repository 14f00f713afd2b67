"""A plate in the place of a lost one, where none is offered."""

from dataclasses import replace

import numpy as np
import pytest
from tests.plan.test_again import as_planned

from argentry.plan.again import plan_again
from argentry.plan.day import plan_day
from argentry.plan.not_offered import not_offered


@pytest.fixture(scope="module")
def one(build_module_day):
    day = build_module_day(plates=1)
    return day, plan_day(day, simulated_days=40)


def asked(one, now, **changes):
    day, planned = one
    day = replace(day, first_minute=now, **changes)
    stands = as_planned(day, planned, now)
    return not_offered(day, stands, plan_again(day, stands, days=40), days=40)


def test_it_is_begun_now_and_goes_through_every_step(one):
    day, planned = one
    now = float(planned.ends[0, -1])  # hands have nothing else to do
    found = asked(one, now, breaks=())
    minutes = [task.minutes for task in day.tasks]
    coat, after = sum(minutes[:5]), sum(minutes[8:])
    assert found.begun == now
    assert found.ripe > now + coat + minutes[6]
    assert found.done == pytest.approx(found.ripe + after, abs=5.0)


def test_only_what_is_done_within_the_hours_counts(one):
    now = float(one[1].ends[0, -1])
    whole = asked(one, now)
    assert asked(one, now, hours_end=now).share == 0.0
    half = asked(one, now, hours_end=whole.done)
    assert 0.0 < half.share < whole.share <= 1.0


def test_one_that_the_light_no_longer_serves_is_never_ripe(one):
    day, _ = one
    assert np.isnan(asked(one, day.last_minute - 30.0).ripe)
