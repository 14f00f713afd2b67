from dataclasses import replace

import numpy as np
import pytest

from argentry.plan import rules
from argentry.plan.choose import plans_by_rule
from argentry.plan.problem import cannot_fit, problem_of, shop_of
from argentry.plan.solver import solve
from argentry.plan.solver.bound import plain_bound
from argentry.plan.tasks import blocks_of


def day_problem(day, plates):
    return problem_of(shop_of(day, blocks_of(day.tasks), plates))


@pytest.mark.parametrize(("plates", "workers", "frames"), [(1, 1, 1), (2, 1, 1), (3, 2, 2)])
def test_the_solver_keeps_every_limit(build_day, check_plan, plates, workers, frames):
    day = build_day(plates=plates, workers=workers, frames=frames)
    problem = day_problem(day, plates)
    found = solve.solve(problem, effort=20.0)
    assert found.status == "optimal"
    check_plan(problem.blocks, found.starts, found.ends, found.frame_kind, day)
    assert found.finish == found.ends.max()
    assert plain_bound(problem) <= found.finish


def test_exposure_and_development_end_where_the_light_says(build_day):
    day = build_day(plates=2)
    problem = day_problem(day, 2)
    found = solve.solve(problem, effort=20.0)
    for plate in range(2):
        shot, laid = found.starts[plate, 1], found.starts[plate, 3]
        assert found.ends[plate, 1] == problem.exposure_ends[shot]
        assert found.ends[plate, 3] == problem.ripe[0, laid]


def test_one_plate_is_done_as_early_as_going_straight_through(build_day):
    day = build_day(plates=1, breaks=())
    problem = day_problem(day, 1)
    now = 20
    for block in problem.blocks:
        if block.kind == "exposure":
            now = int(problem.exposure_ends[now])
        elif block.kind == "development":
            now = int(problem.ripe[0, now])
        else:
            now += block.whole_minutes
    found = solve.solve(problem, effort=20.0)
    assert found.finish == now == plain_bound(problem)


def test_no_rule_beats_a_proved_plan(build_day):
    day = build_day(plates=3)
    shop = shop_of(day, blocks_of(day.tasks), 3)
    found = solve.solve(problem_of(shop), effort=30.0)
    assert found.status == "optimal"
    run = plans_by_rule(shop, 2)[0]
    assert run.length >= found.finish


def test_a_hint_from_the_simulation_is_taken_up(build_day):
    day = build_day(plates=3)
    shop = shop_of(day, blocks_of(day.tasks), 3)
    run = plans_by_rule(shop, 2)[0]
    found = solve.solve(problem_of(shop), effort=20.0, hint=run)
    assert found.found
    assert found.finish <= run.length


def test_too_many_plates_are_proved_impossible(build_day):
    day = build_day(plates=3, last=300.0)
    assert solve.solve(day_problem(day, 3), effort=20.0).status == "impossible"


def test_the_quick_bound_never_refuses_what_the_solver_can_do(build_day):
    day = build_day(plates=3)
    assert not cannot_fit(day_problem(day, 3))
    assert cannot_fit(day_problem(build_day(plates=8, last=400.0), 8))


def test_a_night_without_light_is_impossible(build_day):
    problem = day_problem(build_day(plates=1), 1)
    dark = replace(problem, exposure_ends=np.full_like(problem.exposure_ends, -1))
    assert cannot_fit(dark)
    assert solve.solve(dark, effort=5.0).status == "impossible"


def test_a_lamp_takes_the_plate_when_the_sun_is_weak(build_day, check_plan):
    day = build_day(plates=2, frames=1, lamp=True, sun=0.45)
    problem = day_problem(day, 2)
    found = solve.solve(problem, effort=20.0)
    assert found.found
    assert 1 in found.frame_kind
    check_plan(problem.blocks, found.starts, found.ends, found.frame_kind, day)
    for plate in range(2):
        kind, laid = found.frame_kind[plate], found.starts[plate, 3]
        assert found.ends[plate, 3] == problem.ripe[kind, laid]


# A plain day: prepare 10 (box 4), expose 60, to frame 2, develop 30, fix 8, gild 6 (fire), seal 5.
@pytest.mark.parametrize(
    ("given", "finish"),
    [
        ({"plates": 1}, 121),
        ({"plates": 1, "first": 30.0}, 151),
        ({"workers": 2}, 181),  # one camera: the second plate is posed when the first is out of it
        ({"workers": 3, "plates": 3, "frames": (3,)}, 241),
        ({"workers": 2, "expose": 1.0}, 68),  # the one fire: 62 for the first, 6 more to gild
        ({"workers": 2, "expose": 1.0, "frames": (1,)}, 94),  # the one frame, free at 43
        ({"workers": 1, "expose": 1.0}, 81),  # ripe at 43, then 38 minutes of work for one
    ],
)
def test_the_proved_end_is_what_a_hand_works_out(plain, given, finish):
    found = solve.solve(plain.problem(plain.shop(**given)), effort=20.0)
    assert found.status == "optimal"
    assert found.finish == found.bound == finish


def test_a_break_is_kept_whole_and_two_pairs_of_hands_do_not_help(plain):
    found = solve.solve(
        plain.problem(plain.shop(plates=1, breaks=((5, 40),), workers=2)), effort=20.0
    )
    assert found.starts[0, 0] >= 40
    assert found.finish == 161


def test_keeping_limits_hold_to_the_minute(plain):
    # the frame must be reached within 3 min of the exposure, and two are posed one after the other
    shop = plain.shop(workers=1, expose=1.0, fix_within=0.0, develop=(40.0,))
    found = solve.solve(plain.problem(shop), effort=20.0)
    assert found.found
    np.testing.assert_array_equal(found.starts[:, plain.FIX], found.ends[:, plain.DEVELOP])
    tight = solve.solve(
        plain.problem(plain.shop(plates=1, expose_within=30.0, breaks=((10, 41),))), effort=5.0
    )
    assert tight.starts[0, plain.PREPARE] >= 41  # else it would wait 31 min for its exposure


def test_of_two_kinds_of_frame_each_is_taken_once(plain):
    shop = plain.shop(frames=(1, 1), develop=(50.0, 45.0), expose=1.0)
    found = solve.solve(plain.problem(shop), effort=20.0)
    assert sorted(found.frame_kind.tolist()) == [0, 1]
    lay = found.ends[:, plain.DEVELOP] - found.starts[:, plain.DEVELOP]
    assert lay.tolist() == [[50, 45][kind] for kind in found.frame_kind]


def test_a_plan_by_rule_is_a_plan_to_the_solver(plain):
    """Every value of the hint is taken: with no search at all, the hint is the answer."""
    shop = plain.shop(workers=2)
    run = rules.median_days(shop, plain.rule()).one(0)
    found = solve.solve(plain.problem(shop), effort=5.0, hint=run, any_plan=True)
    assert found.found
    assert found.finish <= run.length
    assert found.first_seconds <= found.seconds


def test_when_there_is_no_plan_nothing_is_told_of_one(plain):
    found = solve.solve(plain.problem(plain.shop(plates=1, last=120.0)), effort=5.0)
    assert (found.status, found.found) == ("impossible", False)
    assert found.starts.size == found.ends.size == found.frame_kind.size == 0
    assert np.isnan(found.finish)


@pytest.mark.parametrize(
    "given", [{}, {"frames": (1, 1), "develop": (50.0, 45.0), "expose": 1.0}, {"plates": 3}]
)
def test_a_hint_tells_every_variable_and_is_a_plan(plain, given):
    """With every variable held at its hint there is a plan, and it ends when the hint does."""
    from ortools.sat.python import cp_model

    shop = plain.shop(workers=2, **given)
    run = rules.median_days(shop, plain.rule(shop.plates)).one(0)
    backwards = replace(
        run, starts=run.starts[::-1], ends=run.ends[::-1], frame_kind=run.frame_kind[::-1]
    )
    for one in (run, backwards):  # the order in which a day names its plates says nothing
        builder = solve._Model(plain.problem(shop))
        finish = builder.build()
        builder.hint(one, finish)
        builder.model.minimize(finish)
        proto = builder.model.proto
        free = {
            index for index, variable in enumerate(proto.variables)
            if len(set(variable.domain)) > 1
        }  # fmt: skip
        if len(shop.frame_counts) == 1:  # else each kind has variables that only help
            assert free <= set(proto.solution_hint.vars)
        solver = cp_model.CpSolver()
        solver.parameters.fix_variables_to_their_hinted_value = True
        assert solver.solve(builder.model) == cp_model.OPTIMAL
        assert solver.objective_value == run.length


def test_any_plan_is_the_first_one_found(plain):
    shop = plain.shop(workers=1, expose=1.0)
    slow = rules.median_days(shop, plain.rule(in_hand=1)).one(0)
    problem = plain.problem(shop)
    some = solve.solve(problem, effort=20.0, hint=slow, any_plan=True)
    best = solve.solve(problem, effort=20.0, hint=slow)
    assert some.finish == slow.length > best.finish == 81
    assert (some.status, best.status) == ("feasible", "optimal")


def test_of_plans_that_end_alike_the_one_whose_plates_wait_least_can_be_asked_for(plain):
    """One pair of hands, two plates: the second can be coated early or just before its pose."""
    shop = plain.shop(workers=1, expose=30.0)
    problem = plain.problem(shop)
    early = solve.solve(problem, effort=20.0)
    fresh = solve.solve(problem, effort=20.0, fresh_by=int(early.finish))

    def waits(plan):
        """Minutes waited, those beyond a third of a limit four times."""
        limits = {plain.EXPOSE: 180, plain.TO_FRAME: 110, plain.FIX: 15}
        wait = {b: plan.starts[:, b] - plan.ends[:, b - 1] for b in limits}
        return sum((wait[b] + 3 * np.maximum(0, wait[b] - limits[b] // 3)).sum() for b in limits)

    assert fresh.finish <= early.finish
    assert waits(fresh) <= waits(early)
    later = solve.solve(problem, effort=20.0, fresh_by=600)
    assert waits(later) == 0
