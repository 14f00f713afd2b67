"""Baths follow the log: the one in use is booked, what was booked stays, nothing below nothing."""

from datetime import timedelta

import pytest
from tests.book.materials.test_from_runs import NOON, Run

from argentry.book.baths import add_bath, baths, discard_bath, use_bath
from argentry.book.materials.bath_notes import bench_notes, numbers_noted
from argentry.book.materials.through_baths import _back, _Booked, bath_at, put_through
from argentry.records.ids import new_id
from argentry.records.material import Bath
from argentry.trade.sizes import plate_size

STEPS = ("scour", "fix", "wash", "gild")
HOUR = timedelta(hours=1)


def mixed(book, name, hours=-1.0, kind="fix"):
    made = Bath(new_id(), name, kind or "fix", NOON + hours * HOUR, 500.0)
    add_bath(book, made, kind)
    return made.id


def seen(book, bath):
    coats = bench_notes(book, [bath])[bath].coats
    area = sum(one.area_cm2 for one in coats)
    return area, sum(one.area_cm2 * one.nm for one in coats) / area


def through(book):
    return {bath.name: bath.plates_through for bath in baths(book)}


def test_the_bath_mixed_last_is_booked_and_a_later_one_takes_nothing_over(book):
    mixed(book, "old", -3.0)
    run = Run(book, 2, "half", STEPS)
    run.make("scour")
    run.make("fix")
    new = mixed(book, "new", -2.0)
    run.make("scour", 1)
    run.make("fix", 1)
    assert through(book) == {"old": 1, "new": 1}
    area = {bath.name: bath.area_cm2_through for bath in baths(book)}
    assert area["new"] == pytest.approx(plate_size("half").area_cm2)
    assert put_through(book, new, {p.id: run.run for p in run.plates}) == {run.plates[1].id}


def test_a_bath_is_booked_only_while_it_is_in_use(book):
    gone, later = mixed(book, "gone"), mixed(book, "later", +5.0)
    discard_bath(book, gone, NOON - HOUR / 2)
    run = Run(book, 1, keys=STEPS)
    run.make("scour")
    run.make("fix")
    assert through(book) == {"gone": 0, "later": 0}
    every = baths(book)
    assert bath_at(every, NOON - 0.75 * HOUR) == gone
    assert bath_at(every, NOON) is None
    assert bath_at(every, NOON + 6 * HOUR) == later


def test_each_step_goes_through_its_own_kind_and_others_through_none(book):
    for name, kind in (("Fix", "fix"), ("Gold", "gild"), ("Rinse", "rinse"), ("Words", "")):
        mixed(book, name, kind=kind)
    run = Run(book, 1, keys=STEPS)
    for step in STEPS:
        run.make(step)
    assert through(book) == {"Fix": 1, "Gold": 1, "Rinse": 1, "Words": 0}


def test_plates_noted_by_hand_before_this_run_do_not_count_for_it(book):
    bath = mixed(book, "Fix")
    run = Run(book, 1, keys=STEPS)
    use_bath(book, bath, 1, 90.0, at=NOON - HOUR / 2, named=[run.plates[0].id])
    run.make("scour")
    run.make("fix")
    assert through(book) == {"Fix": 2}
    use_bath(book, bath, 1, 90.0, at=NOON + HOUR, named=[run.plates[0].id])
    run.make("wash")  # the hand's word on this making counts, the bench's is taken back
    assert through(book) == {"Fix": 2}


def test_what_the_hand_took_back_is_not_taken_back_again(book):
    bath = mixed(book, "Fix")
    run = Run(book, 2, keys=STEPS)
    for number in range(2):
        run.make("scour", number)
        run.make("fix", number)
    use_bath(book, bath, -1, -50.0)
    run.say("run_withdrawn", body={"why": "by mistake"})
    (left,) = baths(book)
    assert left.plates_through == 0
    quarter = plate_size("quarter").area_cm2
    assert left.area_cm2_through == pytest.approx(2.0 * quarter - 50.0 - quarter)


def test_the_coat_that_a_picture_showed_is_noted_of_the_bath_once(book):
    bath = mixed(book, "Fix")
    run = Run(book, 2, keys=("iodise", "fix"))
    look = {"answer": "right", "value": 30.0, "seen": {"picture": "x"}}
    area = plate_size("quarter").area_cm2
    for number, nm in enumerate((30.0, 20.0)):
        run.make("iodise", number)
        run.say("check_answered", run.plates[number].id, "iodise", {**look, "value": nm})
        run.make("fix", number)
    assert seen(book, bath) == (pytest.approx(2 * area), pytest.approx(25.0))
    run.say("step_redone", run.plates[0].id, "fix", {"why": "yellow"})
    run.make("fix")  # its coat went into the bath already
    assert seen(book, bath) == (pytest.approx(3 * area), pytest.approx(50.0 / 3))
    run.say("plate_withdrawn", run.plates[0].id, body={"why": "by mistake"})
    assert seen(book, bath) == (pytest.approx(area), pytest.approx(20.0))


@pytest.mark.parametrize(
    ("ends", "half"),
    [((18.0, 23.0), 2.5), ((23.0, 18.0), 0.0), ((None, 23.0), 0.0), ((-1.0, 2.0), 0.0)],
)
def test_the_range_that_a_picture_told_is_noted_with_its_coat(book, ends, half):
    bath = mixed(book, "Fix")
    run = Run(book, 1, keys=("iodise", "fix"))
    run.make("iodise")
    low, high = ends
    told = {"picture": "x", "coat_low_nm": low, "coat_high_nm": high}
    body = {"answer": "right", "value": 20.0, "seen": told}
    run.say("check_answered", run.plates[0].id, "iodise", body)
    run.make("fix")
    run.say("step_redone", run.plates[0].id, "fix", {"why": "yellow"})
    run.make("fix")
    (coat,) = bench_notes(book, [bath])[bath].coats
    assert (coat.nm, coat.half_nm, coat.passes) == (10.0, half, 2.0)


def test_a_coat_taken_off_again_or_not_confirmed_is_no_coat(book):
    bath = mixed(book, "Fix")
    run = Run(book, 2, keys=("iodise", "fix"))
    look = {"answer": "right", "value": 30.0, "seen": {"picture": "x"}}
    run.make("iodise")
    run.say("check_answered", run.plates[0].id, "iodise", look)
    run.say("step_redone", run.plates[0].id, "iodise", {"why": "uneven"})
    run.make("iodise")
    run.make("iodise", 1)
    run.say("check_answered", run.plates[1].id, "iodise", {**look, "answer": "wrong"})
    for number in range(2):
        run.make("fix", number)
    assert bench_notes(book, [bath]) == {}


def test_clearing_times_told_at_the_bench_are_those_of_the_bath_there(book):
    bath = mixed(book, "Fix")
    run = Run(book, 2, keys=STEPS)
    told = {"what": "clearing_s", "value": 12.0, "unit": "s"}
    run.make("scour")
    run.say("reading_taken", body=told)
    run.say("reading_taken", body={**told, "what": "bath_c", "value": 20.0})
    run.make("fix")
    wrong = run.say("reading_taken", body={**told, "value": 240.0})
    run.make("scour", 1)
    run.make("fix", 1)
    times = [seconds for _, seconds in bench_notes(book, [bath])[bath].clearing]
    assert times == [12.0, 240.0]
    run.say("corrected", body={"event": wrong, "withdrawn": True})
    times = [seconds for _, seconds in bench_notes(book, [bath])[bath].clearing]
    assert times == [12.0]


@pytest.mark.parametrize(("seconds", "nm"), [(-1.0, 0.0), (1e9, -5.0), (0.0, 1e9)])
def test_numbers_that_cannot_be_are_noted_of_no_bath(book, seconds, nm):
    bath = mixed(book, "Fix")
    run = Run(book, 1, keys=("iodise", "fix"))
    run.make("iodise")
    look = {"answer": "right", "value": nm, "seen": {"picture": "x"}}
    run.say("check_answered", run.plates[0].id, "iodise", look)
    run.say("reading_taken", body={"what": "clearing_s", "value": seconds, "unit": "s"})
    run.make("fix")
    assert through(book) == {"Fix": 1}
    assert bench_notes(book, [bath]) == {}


def test_what_a_note_of_the_bench_must_hold():
    assert numbers_noted("clearing r e", "12.5") == (12.5,)
    assert numbers_noted("run r plate p", "89.1 25.0") == (89.1, 25.0)
    assert numbers_noted("run r plate p", "89.1 25.0 0.0 2") == (89.1, 25.0, 0.0, 2.0)
    assert numbers_noted("kind", "fix") == numbers_noted("run r plate p", "") == ()
    for what, value in (("clearing r e", "1 2"), ("run r plate p", "89.1"), ("run r", "a b"),
                        ("clearing r e", "nan"), ("run r plate p", "-1 5"),
                        ("run r plate p", "89.1 25.0 1.0"), ("run r plate p", "9 5 -1.0 1"),
                        ("run r plate p", "9.5 25.0 1.0 0")):  # fmt: skip
        with pytest.raises(ValueError, match=value.split()[0]):
            numbers_noted(what, value)


def test_what_is_taken_back_is_of_the_bath_mixed_last_and_of_its_area_a_part():
    booked = [_Booked("old", 3, 300.0), _Booked("new", 2, 160.0)]
    held = {"old": 3, "new": 2}
    assert _back(booked, 4, held) == [
        {"bath": "new", "plates": -2, "area_cm2": -160.0},
        {"bath": "old", "plates": -2, "area_cm2": pytest.approx(-200.0)},
    ]
    assert held == {"old": 1, "new": 0}
    assert _back(booked, 4, held) == [
        {"bath": "old", "plates": -1, "area_cm2": pytest.approx(-100.0)}
    ]
    assert _back(booked, 0, {"old": 3, "new": 2}) == _back(booked, 1, {}) == []


def test_a_coat_that_was_told_by_eye_is_not_noted_as_a_pictures(book):
    bath = mixed(book, "Fix")
    run = Run(book, 1, keys=("iodise", "fix"))
    run.make("iodise")
    run.say("check_answered", run.plates[0].id, "iodise", {"answer": "right", "value": 30.0})
    run.make("fix")
    assert bench_notes(book, [bath]) == {}
