"""A planned comparison: what is refused, what is believed, what pairs say."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from argentry.desk.learning.comparison import compare_settings
from argentry.desk.numbers.makings import Gathered
from argentry.errors import BadInput
from argentry.out.learning.words import compare_lines
from argentry.records.plate import Making
from argentry.trade.decide import settings

FIRST = date(2026, 5, 1)


def made(session, place, nm, grade):
    name = f"{session}-{place}"
    day = FIRST + timedelta(days=session)
    return Making(
        name, name, None, day.isoformat(), place, day, conditions={"coat_nm": nm}, grade=grade
    )


def studio_of(makings):
    labels = {one.plate: one.plate for one in makings}
    return Gathered(tuple(makings), labels, {}, {}, "the book", (), None)


@pytest.fixture(scope="module")
def thick_wins():
    """Give twelve sessions, each with a plate of 25 nm lost by its coat and a good one of 32 nm."""
    stages = {"polish": "ok", "coat": "fault"}
    pairs = [
        (replace(made(s, 1, 25.0, "lost"), stages=stages), made(s, 2, 32.0, "good"))
        for s in range(12)
    ]
    return studio_of([one for pair in pairs for one in pair])


def test_pairs_that_decided_are_told_with_what_is_believed(thick_wins):
    told = compare_settings(thick_wins, "coat_nm", 25.0, 32.0, pairs=6)
    made_so_far = told.made
    assert (made_so_far.pairs, made_so_far.won, made_so_far.lost) == (12, 12, 0)
    assert made_so_far.better == pytest.approx(1 - 0.5**13)
    assert made_so_far.decided
    assert told.chance_new > 1.5 * told.chance_old
    assert told.better > 0.6
    assert 0.0 < told.decides_low <= told.decides <= told.decides_high < 1.0
    assert "Decided: 32 nm is better, >99 % sure." in compare_lines(told)[-1]


def test_the_other_way_round_the_other_setting_wins(thick_wins):
    told = compare_settings(thick_wins, "coat_nm", 32.0, 25.0, pairs=6)
    assert told.made.better == pytest.approx(0.5**13)
    assert told.chance_old > 1.5 * told.chance_new
    there = compare_settings(thick_wins, "coat_nm", 25.0, 32.0, pairs=6)
    assert told.better == pytest.approx(1.0 - there.better)
    assert told.decides == pytest.approx(there.decides)
    assert "Decided: 32 nm is better" in compare_lines(told)[-1]


def test_the_plan_is_balanced_and_the_same_tomorrow(thick_wins):
    told = compare_settings(thick_wins, "coat_nm", 25.0, 32.0, pairs=6)
    first = [plate.to for plate in told.plan if plate.order == 1]
    assert sorted(first) == [25.0] * 3 + [32.0] * 3
    more = [*thick_wins.makings, made(20, 1, 25.0, "good")]
    again = compare_settings(studio_of(more), "coat_nm", 25.0, 32.0, pairs=6)
    assert again.plan == told.plan


def test_promised_plates_are_no_pairs(thick_wins):
    promised = [replace(one, commissioned=True) for one in thick_wins.makings]
    told = compare_settings(studio_of(promised), "coat_nm", 25.0, 32.0)
    assert told.made.pairs == 0
    assert told.made.better == pytest.approx(0.5)


def test_without_any_plate_both_settings_count_alike():
    told = compare_settings(studio_of([]), "gilding_minutes", 2.0, 6.0)
    assert told.chance_old == pytest.approx(told.chance_new)
    assert told.better == pytest.approx(0.5)
    assert told.mostly_prior
    assert "written down" in told.notes[0]
    assert "no two plates" in compare_lines(told)[-1]


def test_a_larger_change_than_next_would_make_is_said(thick_wins):
    assert compare_settings(thick_wins, "coat_nm", 25.0, 26.0).notes == ()
    (note,) = compare_settings(thick_wins, "coat_nm", 10.0, 60.0).notes
    assert "this is a larger change" in note


@pytest.mark.parametrize("key", sorted(settings()))
def test_nothing_beyond_the_limits_of_a_trial_is_planned(key, thick_wins):
    setting = settings()[key]
    middle = 0.5 * (setting.low + setting.high)
    for pair in ((middle, 1.01 * setting.high), (setting.low - 0.01, middle)):
        with pytest.raises(BadInput, match="beyond what may be tried") as told:
            compare_settings(thick_wins, key, *pair)
        assert setting.source in str(told.value)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"commissioned": True}, "nothing is tried on a plate that is promised"),
        ({"fixed": ("coat_nm",)}, "cannot be changed now"),
        ({"pairs": 0}, "--pairs"),
        ({"pairs": 101}, "--pairs"),
    ],
)
def test_what_cannot_be_planned_is_refused(more, words, thick_wins):
    with pytest.raises(BadInput, match=words):
        compare_settings(thick_wins, "coat_nm", 25.0, 32.0, **more)


def test_only_a_setting_is_compared(thick_wins):
    with pytest.raises(BadInput, match="--compare: 'coat_mn' is not a setting"):
        compare_settings(thick_wins, "coat_mn", 25.0, 32.0)
    with pytest.raises(BadInput, match="--fixed: 'coat_mn' is not a setting"):
        compare_settings(thick_wins, "coat_nm", 25.0, 32.0, fixed=("coat_mn",))
