"""Pairs of plates that differ in one thing."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from tests.edges import is_taken_within

from argentry.errors import BadInput
from argentry.learn.deciding.pairs import (
    chances_to_decide,
    judge_pairs,
    pairs_made,
    plan_pairs,
    share_won,
)
from argentry.records.plate import Making
from argentry.trade.conditions import conditions

CONDITIONS = {condition.key: condition for condition in conditions()}


def test_pairs_are_balanced_and_in_drawn_order():
    plates = plan_pairs(25.0, 33.0, 10, seed=3)
    assert len(plates) == 20
    for pair in range(1, 11):
        mine = [p for p in plates if p.pair == pair]
        assert [p.order for p in mine] == [1, 2]
        assert {p.to for p in mine} == {25.0, 33.0}
    first = [p.to for p in plates if p.order == 1]
    assert first.count(33.0) == 5
    assert plates == plan_pairs(25.0, 33.0, 10, seed=3)
    assert plates != plan_pairs(25.0, 33.0, 10, seed=4)


def test_pairs_are_judged_by_those_that_differ():
    said = judge_pairs([False] * 5 + [True] * 20, [True] * 5 + [True] * 20)
    assert (said.won, said.lost, said.alike) == (5, 0, 20)
    assert said.better == pytest.approx(1 - 0.5**6)
    assert said.decided
    even = judge_pairs([True, False], [False, True])
    assert even.better == pytest.approx(0.5)
    assert not even.decided
    assert judge_pairs([], []).better == pytest.approx(0.5)


def test_chance_to_decide_by_hand():
    # of four pairs 3 to 0 and 4 to 0 decide (15/16, 31/32), 2 to 0 and 3 to 1 do not (7/8, 26/32)
    win, lose = 0.7 * 0.6, 0.4 * 0.3
    by_hand = win**4 + 4 * win**3 * (1 - win - lose)
    both = chances_to_decide(np.array([0.4, 0.7, 0.5]), np.array([0.7, 0.4, 0.5]), 4)
    assert both[:2] == pytest.approx(by_hand)
    assert 0.0 < both[2] < by_hand
    assert chances_to_decide(np.array([0.0]), np.array([1.0]), 200) == pytest.approx(1.0)
    assert chances_to_decide(np.array([0.0]), np.array([0.0]), 9) == pytest.approx(0.0)


def test_share_won_by_hand():
    said = judge_pairs([False] * 3 + [True] * 4, [True] * 3 + [True] * 4)
    # Beta(4, 1): the share below which a tenth lies is its fourth root
    assert share_won(said) == pytest.approx((0.8, 0.1**0.25, 0.9**0.25))
    assert share_won(judge_pairs([], [])) == pytest.approx((0.5, 0.1, 0.9))


def made(session, place, nm, grade, **more):
    known = {} if nm is None else {"coat_nm": nm}
    day = date(2026, 6, session)
    name = f"{session}-{place}"
    return Making(
        name, name, None, f"s{session}", place, day, conditions=known, grade=grade, **more
    )


def test_pairs_are_found_within_a_session_in_order():
    there = [
        made(1, 4, 31.0, "good"),  # the order of the list does not matter
        made(1, 1, 25.0, "lost"),
        made(1, 2, 26.5, "good"),  # off by less than a quarter of the way
        made(1, 3, 33.5, "study"),
        made(2, 1, 25.0, "good"),  # no other setting that day
        made(3, 1, 32.0, "fine"),
        made(3, 2, 25.0, "good"),
        made(3, 3, 25.0, "lost"),  # one more than the other setting has
    ]
    assert pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0) == (
        [False, True, True],
        [False, True, True],
    )
    said = judge_pairs(*pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0))
    assert (said.won, said.lost, said.alike) == (0, 0, 3)


@pytest.mark.parametrize(
    "other",
    [
        made(1, 2, 32.0, "good", commissioned=True),
        made(1, 2, 32.0, None),
        made(1, 2, 28.5, "good"),  # between the two
        made(1, 2, None, "good"),
        made(2, 2, 32.0, "good"),
    ],
)
def test_what_makes_no_pair(other):
    there = [made(1, 1, 25.0, "lost"), other]
    assert pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0) == ([], [])


def test_each_plate_of_a_pair_is_told_with_its_own_setting():
    there = [
        made(1, 1, 25.0, None),
        made(1, 2, 25.0, "lost"),
        made(1, 3, 32.0, "good"),
        made(2, 1, 32.0, "lost"),
        made(2, 2, 25.0, "good"),
        made(3, 1, 32.0, "good"),
        made(3, 2, 25.0, "lost"),
    ]
    assert pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0) == (
        [False, True, False],
        [True, False, True],
    )


def test_a_setting_in_doublings_is_near_by_its_ratio():
    doubled = CONDITIONS["development_minutes"]
    assert doubled.scale == "doublings"
    there = [
        replace(made(1, place, None, "good"), conditions={"development_minutes": minutes})
        for place, minutes in enumerate((115.0, 205.0), 1)
    ]
    # 205 is 0.23 of the way from 240 to 120 by ratio, 0.29 by difference
    assert pairs_made(there, doubled, 120.0, 240.0) == ([True], [True])
    small = [
        replace(one, conditions={"development_minutes": minutes})
        for one, minutes in zip(there, (0.115, 0.205), strict=True)
    ]
    assert pairs_made(small, doubled, 0.12, 0.24) == ([True], [True])


def test_chance_to_decide_against_simulation():
    rng = np.random.default_rng(5)
    old, new = rng.random((2, 3000, 12)) < np.array([0.4, 0.7])[:, None, None]
    decided = [
        said.decided and said.better > 0.5
        for said in (judge_pairs(list(o), list(n)) for o, n in zip(old, new, strict=True))
    ]
    few, some, many = (
        chances_to_decide(np.array([0.4]), np.array([0.7]), pairs)[0] for pairs in (10, 12, 40)
    )
    assert some == pytest.approx(np.mean(decided), abs=0.03)
    assert many > few


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: plan_pairs(1.0, 1.0, 4),
        lambda: plan_pairs(1.0, np.nan, 4),
        lambda: judge_pairs([True], []),
    ],
)
def test_bad_pairs(wrong):
    with pytest.raises(BadInput):
        wrong()


def test_so_many_pairs_are_planned_and_judged():
    chances = np.array([0.5]), np.array([0.6])
    is_taken_within(lambda pairs: plan_pairs(1.0, 2.0, pairs), 1, 100, step=1)
    is_taken_within(lambda pairs: chances_to_decide(*chances, pairs), 1, 200, step=1)
