"""The bound in closed form against small days worked out by hand and against the solver's proof."""

from dataclasses import replace

import pytest

from argentry.plan.solver.bound import plain_bound
from argentry.plan.solver.solve import solve


@pytest.mark.parametrize(
    ("given", "bound"),
    [
        # four plates, each 10 + 1 + 2 and 8 + 6 + 5 of two pairs of hands: 64, none in the break;
        # the second waits 4 min for the box
        ({"plates": 4, "expose": 1.0, "develop": (1.0,), "breaks": ((20, 50),)}, 96.0),
        # one frame: out of it at 10 + 60 + 2 + 30, then two more rounds of 32, then 19
        ({"plates": 3, "workers": 3, "frames": (1,), "expose": 1.0}, 10 + 1 + 3 * 32 + 19),
    ],
)
def test_hands_breaks_and_frames_bind_as_worked_out_by_hand(plain, given, bound):
    assert plain_bound(plain.problem(plain.shop(**given))) == bound


@pytest.mark.parametrize("seed", range(6))
def test_it_is_never_above_what_is_proved_and_often_near(plain, seed):
    plates, workers, frames = 2 + seed % 3, 1 + seed % 2, (1 + seed % 3,)
    breaks = ((40 + 7 * seed, 70 + 7 * seed),) if seed % 2 else ()
    one = plain.problem(
        plain.shop(
            plates=plates, workers=workers, frames=frames, breaks=breaks,
            expose=3.0 + 5.0 * seed, develop=(20.0 + 9.0 * seed,),
        )
    )  # fmt: skip
    found = solve(one, effort=20.0)
    assert found.status == "optimal"
    assert 0.8 * found.finish <= plain_bound(one) <= found.finish
    # the solver is given the bound; it must not have cut off an earlier end
    assert solve(replace(one, last_minute=int(found.finish) - 1), effort=20.0).status == (
        "impossible"
    )
