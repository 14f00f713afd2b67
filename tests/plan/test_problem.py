"""What is said of a day without a search: a day that cannot hold its plates, and an early bound."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan.problem import cannot_fit
from argentry.plan.solver.bound import plain_bound
from argentry.plan.solver.solve import solve


def day(plain, **given):
    return plain.problem(plain.shop(**given))


@pytest.mark.parametrize(
    ("given", "refused"),
    [
        # one plate keeps the hands 10 + 60 + 2 + 8 + 6 + 5 = 91 minutes
        ({"plates": 1, "workers": 1, "last": 91.0}, False),
        ({"plates": 1, "workers": 1, "last": 90.0}, True),
        ({"plates": 2, "workers": 1, "last": 182.0}, False),
        ({"plates": 2, "workers": 1, "last": 181.0}, True),
        ({"plates": 2, "workers": 2, "last": 91.0}, False),
        ({"plates": 1, "workers": 1, "first": 10.0, "last": 101.0}, False),
        ({"plates": 1, "workers": 1, "first": 10.0, "last": 100.0}, True),
        ({"plates": 1, "workers": 1, "last": 121.0, "breaks": ((20, 50),)}, False),
        ({"plates": 1, "workers": 1, "last": 120.0, "breaks": ((20, 50),)}, True),
    ],
)
def test_hands_on_minutes_alone_refuse_a_day(plain, given, refused):
    assert cannot_fit(day(plain, **given)) is refused


def test_the_shortest_exposure_counts_and_a_dark_day_holds_nothing(plain):
    one = day(plain, plates=1, workers=1, last=91.0)
    ends = one.exposure_ends.copy()
    ends[5] = 5 + 30  # one start at which half the time does
    assert not cannot_fit(replace(one, exposure_ends=ends, last_minute=61))
    assert cannot_fit(replace(one, exposure_ends=ends, last_minute=60))
    ends[:] = -1
    assert cannot_fit(replace(one, exposure_ends=ends))


@pytest.mark.parametrize(
    ("given", "bound"),
    [
        ({"plates": 1}, 121.0),
        ({"plates": 1, "first": 25.0}, 146.0),
        ({"plates": 2, "workers": 2}, 181.0),  # the second waits for the camera: 10 and twice 60
        # the hands alone: six times 10, 1, 2, 8, 6 and 5
        ({"plates": 6, "workers": 1, "expose": 1.0, "develop": (1.0,)}, 192.0),
        # the third waits for a frame of two: out at 10 + 1 + 2 + 90, so in at 103, then 2, 90, 19
        ({"plates": 3, "workers": 1, "expose": 1.0, "develop": (90.0,)}, 214.0),
        ({"plates": 1, "develop": (50.0, 20.0), "frames": (1, 1)}, 111.0),
    ],
)
def test_the_bound_is_what_a_hand_works_out(plain, given, bound):
    assert plain_bound(day(plain, **given)) == bound


def test_the_bound_is_never_above_the_proved_end(plain):
    for given in ({"workers": 1, "expose": 3.0}, {"workers": 2, "breaks": ((30, 60),)}):
        one = day(plain, **given)
        assert plain_bound(one) <= solve(one, effort=10.0).finish


def test_without_light_to_come_the_bound_is_the_days_end(plain):
    one = day(plain, plates=1)
    dark = replace(one, exposure_ends=np.full_like(one.exposure_ends, -1))
    assert plain_bound(dark) == 600.0
    unripe = replace(one, ripe=np.full_like(one.ripe, -1))
    assert plain_bound(unripe) == 600.0


def test_plates_may_have_routes_of_their_own(plain):
    one = day(plain)
    other = tuple(reversed(one.blocks))
    assert one.route(1) == one.blocks
    own = replace(one, routes=(one.blocks, other))
    assert own.route(1) == other
    # the hands alone: twice 91 minutes
    alone = replace(day(plain, plates=2, workers=1), routes=(one.blocks, one.blocks))
    assert plain_bound(alone) == 182.0
