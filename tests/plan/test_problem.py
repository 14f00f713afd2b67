"""What is said of a day without a search: a day that cannot hold its plates, and an early bound."""

from dataclasses import replace

import numpy as np
import pytest

from argentry.plan.again import plan_again
from argentry.plan.middle import taken_up
from argentry.plan.problem import After, Standing, cannot_fit
from argentry.plan.solver.bound import plain_bound
from argentry.plan.solver.solve import solve
from argentry.plan.tasks import blocks_of

NAN = np.nan


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


def two(after):
    """One plate begun and one that waits for the second step of the first."""
    begun = np.array([[5.0, NAN], [NAN, NAN]])
    return Standing(begun, begun, np.array([0, -1]), np.full((2, 2), NAN), after=(None, after))


def test_some_of_the_plates_wait_for_the_same_by_their_new_numbers():
    stands = two(After(0, 1, 90.0)).with_one_more()
    assert stands.part(np.array([1, 0])).after == (After(1, 1, 90.0), None)
    assert stands.part(np.array([1, 2])).after == (None, None), "the one waited for is gone"
    assert two(None).part(np.array([0, 1])).after == (None, None)


def test_one_that_was_begun_waits_for_nothing():
    stands = two(After(0, 1, 90.0))
    assert stands.after_of(1) == After(0, 1, 90.0)
    assert replace(stands, begun=np.full((2, 2), 5.0)).after_of(1) is None


@pytest.fixture(scope="module")
def taken(build_module_day):
    """A plate begun and one taken on an offer, which names the end of the first's last wait."""
    day = replace(build_module_day(plates=1, last=700.0, breaks=()), first_minute=60.0)
    keys, blocks = [task.key for task in day.tasks], blocks_of(day.tasks)
    begun, ended = np.full((2, len(keys)), NAN), np.full((2, len(keys)), NAN)
    begun[0, 0], ended[0, 0] = 10.0, 59.0
    kept = np.full((2, len(blocks)), NAN)
    kept[0] = 10.0 + 40.0 * np.arange(len(blocks))
    return day, blocks, Standing(begun, ended, np.array([-1, -1]), kept), keys.index("fix")


def test_a_plate_taken_on_an_offer_is_begun_after_the_step_that_it_named(taken):
    """It was planned on every day at once, though its offer named a step to wait for."""
    day, _, stands, step = taken
    at_once = plan_again(day, stands, days=20).planned
    made = plan_again(day, replace(stands, after=(None, After(0, step, 600.0))), days=20)
    assert made.plates.tolist() == [0, 1]
    done = next(i for i, block in enumerate(made.planned.blocks) if block.first >= step)
    assert at_once.starts[1, 0] < at_once.ends[0, done] - 60.0
    assert made.planned.starts[1, 0] >= made.planned.ends[0, done]
    days = made.planned.days
    assert 0.0 < days.all_sound <= 1.0


def test_on_days_on_which_that_is_done_too_late_it_is_not_begun(taken):
    day, blocks, stands, step = taken
    middle = taken_up(day, blocks, replace(stands, after=(None, After(0, step, 600.0))), 40, 1)
    held = middle.drawn.held_back
    assert (held.shape, (held[:, 0] == -np.inf).all()) == ((40, 2), True)
    until = float(np.median(held[:, 1]))
    some = taken_up(day, blocks, replace(stands, after=(None, After(0, step, until))), 40, 1)
    begun = some.run(some.follow(np.zeros_like(stands.kept))).starts[0, 0, 1, 0]
    assert begun >= some.held[1]
    late = held[:, 1] > until
    assert 0 < late.sum() < 40
    assert (some.drawn.held_back[late, 1] > day.last_minute).all()
    np.testing.assert_array_equal(some.drawn.held_back[~late, 1], held[~late, 1])
    assert some.drawn.first(7).held_back.shape == (7, 2)
