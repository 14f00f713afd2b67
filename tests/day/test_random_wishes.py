"""Random days with random wishes: whatever is planned, the independent checker finds no fault."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest
from tests.counts import few
from tests.day.test_plan import studio

from argentry.day.appointments import with_sitters
from argentry.day.setting import setting_of
from argentry.desk.wishes import OPTIONS
from argentry.errors import BadInput
from argentry.plan.check import faults
from argentry.plan.day import plan_day
from argentry.plan.tasks import blocks_of
from argentry.records import studio as rec
from argentry.records.instruments import Lamp
from argentry.records.wishes import Sitter, Wishes
from argentry.studio.today import studio_today

DAYS = few(6, 16)


def clock(minutes):
    return f"{int(minutes) // 60:02d}:{int(minutes) % 60:02d}"


def drawn(seed):
    """Return a studio, a day, wishes and a number of plates."""
    rng = np.random.default_rng(seed)
    start, end = 60 * rng.integers(6, 10), 60 * rng.integers(16, 22)
    pause = int(rng.integers(start // 60 + 3, end // 60 - 3)) * 60
    sitters = [
        Sitter(
            clock(rng.integers(start + 90, end - 150)),
            f_number=None if rng.random() < 0.5 else float(rng.choice([3.2, 4.0, 5.6])),
            size=str(rng.choice(["", "sixth", "half"])),
        )
        for _ in range(rng.integers(0, 3))
    ]
    wishes = Wishes(
        start=clock(start),
        end=clock(end),
        breaks=((clock(pause), clock(pause + 45)),) if rng.random() < 0.5 else (),
        workers=int(rng.integers(1, 4)),
        frames=int(rng.integers(1, 5)),
        boxes=int(rng.integers(1, 3)),
        cameras=int(rng.integers(1, 3)),
        lamp=Lamp(500.0, 0.3) if rng.random() < 0.3 else None,
        polished=int(rng.integers(0, 5)),
        seal_later=bool(rng.random() < 0.5),
        pose_under=None if rng.random() < 0.7 else float(rng.uniform(2.0, 8.0)),
        sitters=tuple(sitters),
    )
    site = rec.Site("Invented yard", float(rng.uniform(-45, 60)), -2.0, 200.0, "Europe/Madrid")
    day = date(2026, 1, 1) + timedelta(days=int(rng.integers(0, 365)))
    plates = int(rng.integers(max(len(sitters), 1), 7))
    return studio(site=site), day, wishes, plates


@cache
def planned(seed):
    """Return the setting of a random day, what was asked of it and its plan, or what refuses it."""
    made, day, wishes, plates = drawn(seed)
    today = studio_today(made, wishes, OPTIONS)
    try:
        setting = setting_of(
            today, day, haze=None, learned=None, as_written=False, now=None, seed=1,
            wishes=wishes,
        )  # fmt: skip
        setting, wanted = with_sitters(setting, plates, 1)
    except BadInput as refused:
        return refused
    asked = setting.wanted(wanted)
    return setting, asked, wanted, plan_day(asked, effort=0.3, simulated_days=20)


@pytest.mark.parametrize("seed", range(DAYS))
def test_a_random_day_keeps_every_rule(seed):
    made = planned(seed)
    if isinstance(made, BadInput):
        assert str(made).startswith("--sitter: ")  # a sentence is sound as well
        return
    setting, asked, wanted, plan = made
    checked = replace(asked, special=plan.special)
    found = faults(checked, blocks_of(asked.tasks), plan.starts, plan.ends, plan.frame_kind)
    assert found == ()
    assert plan.placed <= wanted
    if plan.placed == wanted:  # every sitter who was not sent away has a plate
        seated = [setting.seat_of(plan.special_of(p)) for p in range(plan.placed)]
        assert sum(seat is not None for seat in seated) == len(setting.seats)


def test_most_of_the_random_days_hold_plates():
    days = [planned(seed) for seed in range(0, DAYS, 3)]
    held = sum(not isinstance(day, BadInput) and day[-1].placed > 0 for day in days)
    assert held > DAYS // 3 // 2
