"""Gates: the programme against closed forms and brute force, and the advice drawn from it."""

from dataclasses import replace
from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.learn.deciding.checkpoints import advise
from argentry.learn.deciding.day_worth import solve_day
from argentry.learn.deciding.plate_value import GRID, at, least_needed, plate_value
from argentry.learn.deciding.stage_work import Check, StageWork, graded_check, posterior, usual_work
from argentry.learn.deciding.steady_rate import solve_rate
from argentry.records.decision import ADVICE
from argentry.records.plate import STAGES

# Minutes and shares as the design notes took them for their measurements.
WORK = (
    StageWork("polish", 75, 0.80),
    StageWork("coat", 12, 0.88),
    StageWork("exposure", 20, 0.85),
    StageWork("development", 90, 0.92, reveals=True),
    StageWork("finish", 50, 0.94),
)
PERFECT = Check("sure", 0.0, (1.0, 0.0), (0.0, 1.0))


def first_fault_rate(stages):
    """Good plates by minute when every fault is seen at once: P(good) / E(minutes to a fault)."""
    reached, minutes = 1.0, 0.0
    for stage in stages:
        minutes += reached * stage.minutes
        reached *= stage.ok
    return reached / minutes


def test_perfect_free_checks_meet_the_closed_form():
    stages = tuple(replace(stage, checks=(PERFECT,)) for stage in WORK)
    assert solve_rate(stages).per_minute == pytest.approx(first_fault_rate(stages), rel=1e-9)
    assert 540 * first_fault_rate(stages) == pytest.approx(1.552, abs=5e-4)


def test_without_checks_only_the_developed_image_stops_a_plate():
    before, good = prod(s.ok for s in WORK[:4]), prod(s.ok for s in WORK)
    minutes = sum(s.minutes for s in WORK[:4]) + before * WORK[4].minutes
    assert solve_rate(WORK).per_minute == pytest.approx(good / minutes, rel=1e-9)
    assert 540 * good / minutes == pytest.approx(1.24, abs=0.005)


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.floats(0.2, 0.99), min_size=2, max_size=4),
    st.lists(st.floats(5.0, 120.0), min_size=4, max_size=4),
)
def test_perfect_checks_for_any_work(shares, minutes):
    stages = tuple(
        StageWork(str(i), m, p, checks=(PERFECT,))
        for i, (p, m) in enumerate(zip(shares, minutes, strict=False))
    )
    # with faults common at the very end it may pay better to stop before it: never below
    assert solve_rate(stages).per_minute >= first_fault_rate(stages) * (1 - 1e-9)
    assert solve_rate(stages).per_minute == pytest.approx(first_fault_rate(stages), rel=1e-6)


@pytest.mark.parametrize("quality", [0.0, 0.5, 1.0, 2.0, 6.0, 12.0])
def test_looking_does_not_change_the_share_of_faults(quality):
    check = graded_check("c", 1.0, quality, cuts=np.linspace(-4, quality + 4, 41))
    ok = np.linspace(0.0, 1.0, 21)
    weights, after = posterior(check, ok)
    assert sum(weights) == pytest.approx(np.ones(21), abs=1e-12)
    assert sum(w * q for w, q in zip(weights, after, strict=True)) == pytest.approx(ok, abs=1e-12)


def test_a_table_of_results_cut_short_is_refused():
    with pytest.raises(BadInput, match="do not sum to 1"):
        StageWork("polish", 10, 0.8, checks=(Check("cut", 1.0, (0.9, 0.05), (0.2, 0.8)),))


def test_a_useless_check_is_worth_nothing_and_a_better_one_more():
    rates = [
        solve_rate(
            (replace(WORK[0], redo_minutes=25, checks=(graded_check("b", 3, q),)), *WORK[1:])
        ).per_minute
        for q in (0.0, 1.0, 2.0, 3.0)
    ]
    assert rates[0] == pytest.approx(solve_rate(WORK).per_minute, rel=1e-9)
    assert rates == sorted(rates)
    assert rates[2] > 1.08 * rates[0]


def test_thresholds_fall_the_nearer_the_end():
    stages = (
        replace(WORK[0], redo_minutes=25, checks=(graded_check("breath", 3, 2.0),)),
        replace(WORK[1], checks=(graded_check("photograph", 2, 1.0),)),
        *WORK[2:],
    )
    rate = solve_rate(stages)
    assert rate.needed == pytest.approx((0.35, 0.32, 0.26, 0.13), abs=0.01)
    assert 60 * rate.per_minute == pytest.approx(0.150, abs=0.002)


def test_the_day_is_the_best_of_all_ways_to_spend_it():
    """Two stages, no check: brute force over every sequence of begin, go on and stop."""
    a, b = StageWork("a", 3, 0.6, reveals=True), StageWork("b", 2, 0.9)

    def best(left):
        if left < 3:
            return 0.0
        seen = left - 3
        after_good = max(best(seen), 0.9 + best(seen - 2)) if seen >= 2 else best(seen)
        return max(0.6 * after_good + 0.4 * best(seen), best(left - 1))

    worth = solve_day((a, b), 20)
    assert worth == pytest.approx([best(t) for t in range(21)], abs=1e-9)


def test_redoing_against_brute_force():
    """One stage with a perfect look and a repair: a geometric series until the day ends."""
    stage = StageWork("a", 4, 0.5, redo_minutes=3, checks=(PERFECT,))
    end = StageWork("b", 1, 1.0)

    def best(left, fresh=True):
        need = 4 if fresh else 3
        if left < need:
            return 0.0
        rest = left - need
        good = max(1.0 + best(rest - 1), best(rest)) if rest >= 1 else best(rest)
        bad = max(best(rest), best(rest, fresh=False))
        return max(0.5 * good + 0.5 * bad, best(left - 1) if fresh else 0.0)

    worth = solve_day((stage, end), 20)
    assert worth == pytest.approx([best(t) for t in range(21)], abs=1e-9)


def test_a_long_day_nears_the_steady_rate():
    small = tuple(replace(s, minutes=s.minutes / 20) for s in WORK)  # about 12 min a plate
    rounded = tuple(replace(s, minutes=np.ceil(s.minutes)) for s in small)
    day = solve_day(rounded, 1920)
    assert day[1920] / 1920 == pytest.approx(solve_rate(rounded).per_minute, rel=0.02)
    assert np.all(np.diff(day) >= 0)


def test_values_grow_with_p_and_needed_is_their_root():
    value = plate_value(WORK, solve_day(WORK, 600)).ahead(0, 500)[0]
    assert np.all(np.diff(value) >= -1e-12)
    assert least_needed(np.full(GRID.size, -1.0)) == np.inf
    assert least_needed(np.zeros(GRID.size)) == 0.0
    assert least_needed(GRID - 0.37) == pytest.approx(0.37)


def test_interpolation_by_rows_is_that_of_numpy():
    rng = np.random.default_rng(1)
    values, p = rng.random((3, GRID.size)), rng.random((3, 7))
    want = [np.interp(p[i], GRID, values[i]) for i in range(3)]
    assert at(values, p) == pytest.approx(np.array(want))
    assert at(values, np.ones((1, 1))) == pytest.approx(values[:, -1:])


def usual():
    return usual_work(89.1)


def test_the_usual_work_is_the_trades():
    stages = usual()
    assert tuple(s.key for s in stages) == STAGES
    assert [s.reveals for s in stages] == [False, False, False, True, False]
    assert stages[3].attended < 0.1
    assert [c.key for s in stages for c in s.checks] == ["breath", "coat_photograph", "light_given"]
    longer = usual_work(89.1, minutes={"develop": 300.0}, ok={"polish": 0.4})
    assert longer[3].minutes > stages[3].minutes
    assert longer[0].ok == 0.4


def test_a_hopeless_plate_is_given_up_while_time_is_dear():
    odds = {"polish": 0.05, "coat": 0.05}
    advice = advise(usual(), odds, "coat", 540, redone=("coat",), checked=("coat_photograph",))
    assert advice.advice == "stop"
    assert advice.probability < advice.needed
    assert "give this plate up" in advice.rule


def test_a_poor_polish_is_done_again():
    advice = advise(usual(), {"polish": 0.2}, "polish", 540, checked=("breath",))
    assert advice.advice == "redo"
    worth = {option.what: option.worth for option in advice.options}
    assert worth["redo"] > worth["continue"] + 0.01
    slow = tuple(replace(s, minutes=75.0) if s.key == "polish" else s for s in usual())
    dear = advise(slow, {"polish": 0.2}, "polish", 500, checked=("breath",))
    assert dear.advice == "redo"
    assert dear.worth > 0.01


def test_when_no_other_plate_can_be_finished_time_costs_nothing():
    to_come = sum(np.ceil(s.minutes) for s in usual()[3:])
    advice = advise(usual(), {"polish": 0.1, "coat": 0.1}, "exposure", to_come + 5)
    assert advice.price_per_hour == 0.0
    assert advice.advice == "continue"
    assert advice.needed == 0.0
    assert "no other plate can be finished today" in advice.rule


def test_a_plate_that_cannot_be_finished_is_said_so():
    advice = advise(usual(), {}, "polish", 60)
    assert (advice.advice, advice.needed) == ("stop", None)
    assert "cannot be finished" in advice.rule


def test_a_doubtful_polish_is_looked_at_first():
    advice = advise(usual(), {"polish": 0.6}, "polish", 540)
    assert advice.advice == "check"
    assert advice.key == "breath"
    gone = advise(usual(), {"polish": 0.6}, "polish", 540, checked=("breath",))
    assert gone.advice != "check"
    assert gone.options[0].worth <= advice.options[0].worth + 1e-9


@pytest.mark.parametrize("overlap", [False, True])
def test_ranges_hold_their_middle_and_the_record_is_plain(overlap):
    rng = np.random.default_rng(2)
    odds = {s: rng.beta(8, 4, 200) for s in STAGES}
    for done, left in product((None, *STAGES[:4]), (120, 300, 540)):
        advice = advise(usual(), odds, done, left, overlap=overlap, plates=12)
        assert advice.advice in ADVICE
        assert advice.low <= advice.worth <= advice.high
        assert advice.probability_low <= advice.probability <= advice.probability_high
        for option in advice.options:
            assert option.low <= option.worth <= option.high
        facts = advice.facts()
        assert facts["plates"] == 12
        assert all(type(v) in {str, float, int, tuple, type(None)} for v in facts.values())


def test_more_certain_odds_narrow_the_range():
    rng = np.random.default_rng(3)
    wide = advise(usual(), {"coat": rng.beta(2, 1, 400)}, "polish", 400)
    tight = advise(usual(), {"coat": rng.beta(200, 100, 400)}, "polish", 400)
    assert wide.probability == pytest.approx(tight.probability, abs=0.03)
    assert tight.probability_high - tight.probability_low < (
        0.3 * (wide.probability_high - wide.probability_low)
    )


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"odds": {"polish": 1.2}}, "odds of polish"),
        ({"odds": {"polish": np.nan}}, "odds of polish"),
        ({"odds": {"glaze": 0.5}}, "'glaze' is no stage"),
        ({"done": "finish"}, "leaves nothing to decide"),
        ({"minutes_left": np.nan}, "minutes left today"),
        ({"minutes_left": 3000.0}, "minutes left today"),
    ],
)
def test_bad_input(change, match):
    given = {"usual": usual(), "odds": {}, "done": None, "minutes_left": 300.0} | change
    with pytest.raises(BadInput, match=match):
        advise(**given)


@pytest.mark.parametrize(
    "wrong", [{"minutes": 0.0}, {"ok": 1.1}, {"redo_minutes": 0.0}, {"attended": np.nan}]
)
def test_bad_work(wrong):
    with pytest.raises(BadInput):
        replace(WORK[0], **wrong)


def test_no_stages():
    with pytest.raises(BadInput, match="there is none"):
        solve_rate(())
    with pytest.raises(BadInput, match="there is none"):
        solve_day((), 10)
