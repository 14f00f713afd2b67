"""Why no other plate is begun, in words."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from tests.plan.conftest import _build
from tests.plan.test_again import as_planned

from argentry.day.no_more import NotOffered, no_more_line, not_offered
from argentry.plan.again import plan_again
from argentry.plan.day import plan_day

BEGIN = datetime(2026, 6, 21, 8, 0, tzinfo=UTC)
CLOCK = SimpleNamespace(at=lambda minute: BEGIN + timedelta(minutes=minute))
NEVER = float("nan")


@pytest.mark.parametrize(
    ("times", "told"),
    [
        ((NEVER, NEVER, NEVER), "too little light is left for it to ripen."),
        ((400.0, NEVER, NEVER), "too little light is left for it to ripen."),
        ((400.0, 640.0, NEVER), "begun at 14:40, it would not be ripe until 18:40."),
        (
            (400.0, 520.0, 680.0),
            "begun at 14:40, it would be ripe at 16:40 and done at 19:20, 20 min after your hours.",
        ),
        (
            (400.0, 520.0, 655.0),
            (
                "begun at 14:40, it would be done at 18:55 if all goes well, but within your hours "
                "on only 27 % of days."
            ),
        ),
    ],
)
def test_the_reason_is_what_it_fails_by(times, told):
    line = no_more_line(NotOffered(*times, 0.27), CLOCK, BEGIN + timedelta(hours=11))
    assert line == f"No other plate today: {told}"


@pytest.mark.parametrize(
    ("share", "too_rare", "told"),
    [
        (0.41, None, ", and those in hand come first."),  # it said "on only 41 %", offered at 28 %
        (0.41, 0.299, ", but within your hours on only 29 % of days."),
        (0.2, 0.1, ", but within your hours on only 10 % of days."),
    ],
)
def test_the_odds_told_are_those_that_decided(share, too_rare, told):
    found = NotOffered(400.0, 520.0, 655.0, share)
    line = no_more_line(found, CLOCK, BEGIN + timedelta(hours=11), too_rare)
    assert line.endswith("done at 18:55 if all goes well" + told)


@pytest.fixture(scope="module")
def one():
    day = _build(plates=1)
    return day, plan_day(day, simulated_days=40)


def asked(one, now, **changes):
    day, planned = one
    day = replace(day, first_minute=now, **changes)
    stands = as_planned(day, planned, now)
    return not_offered(day, stands, plan_again(day, stands, days=40), days=40, seed=1)


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
