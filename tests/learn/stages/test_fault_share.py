"""To which stage a fault counts."""

from dataclasses import replace
from math import prod

import pytest
from tests.learn.plates import ALL_OK, good, lost, making

from argentry.learn.stages.fault_share import open_stages, stage_rows, succeeded
from argentry.records.plate import STAGES
from argentry.records.run import GivenUp
from argentry.trade.conditions import stage_priors


def test_a_good_plate_tells_that_each_stage_was_ok():
    assert {row[0]: row[1:] for row in stage_rows(good(1))} == dict.fromkeys(STAGES, (2, 2, 1.0))
    only_graded = making(1, grade="fine")
    assert [row[0] for row in stage_rows(only_graded)] == list(STAGES)


def test_a_fault_that_cost_nothing_counts_as_ok():
    plate = making(1, grade="good", stages={**ALL_OK, "coat": "fault"})
    assert all(row[1] == 2 for row in stage_rows(plate))
    assert succeeded(plate) is True


@pytest.mark.parametrize(("grade", "level"), [("lost", (0, 0)), ("study", (1, 1)), (None, (0, 1))])
def test_how_bad_a_fault_was(grade, level):
    plate = replace(lost(1, "exposure"), grade=grade)
    rows = {row[0]: row[1:3] for row in stage_rows(plate)}
    assert rows == {"polish": (2, 2), "coat": (2, 2), "exposure": level}
    assert succeeded(plate) is False


def test_of_two_faults_nobody_knows_which_lost_the_plate():
    plate = making(1, grade="lost", stages={"polish": "fault", "coat": "fault"})
    assert {row[1:3] for row in stage_rows(plate)} == {(0, 1)}


@pytest.mark.parametrize(
    ("given", "suspects"),
    [
        ({}, STAGES),
        ({"stages": {"polish": "ok", "coat": "ok"}}, STAGES[2:]),
        ({"defects": (("fog", "develop"),)}, ("development",)),
        ({"defects": (("fog", ""),)}, ("coat", "development")),
        ({"stages": ALL_OK}, STAGES),
    ],
)
def test_a_fault_nobody_booked_is_shared_out(given, suspects):
    rows = stage_rows(making(1, grade="lost", **given))
    faults = {row[0]: row[3] for row in rows if row[1] < 2}
    assert set(faults) == set(suspects)
    assert sum(faults.values()) == pytest.approx(1.0)
    # what is left of each stage's plate went on to a later stage
    for stage in suspects:
        later = sum(faults[s] for s in suspects if STAGES.index(s) > STAGES.index(stage))
        ok = sum(row[3] for row in rows if row[0] == stage and row[1] == 2)
        assert ok == pytest.approx(later)


@pytest.mark.parametrize("booked", [False, True])
def test_the_shares_of_the_stages_multiply_to_the_share_of_good_plates(booked):
    # by the chain rule of probability: each stage is asked of the plates that came so far
    told = {
        "polish": "scratches",
        "exposure": "under_exposed",
        "development": "fog",
        "finish": "haze",
    }
    spoilt = [
        making(n, grade="lost", stages={stage: "fault"})
        if booked
        else making(n, grade="lost", defects=((look, stage),))
        for n, (stage, look) in enumerate([*told.items()] * 3, 10)
    ]
    plates = [
        *(good(n) for n in range(7)),
        *spoilt,
        *([] if booked else [making(30, grade="lost")]),
    ]
    came, ok = dict.fromkeys(STAGES, 0.0), dict.fromkeys(STAGES, 0.0)
    for stage, low, _, weight in (row for one in plates for row in stage_rows(one)):
        came[stage] += weight
        ok[stage] += weight * (low == 2)
    assert prod(ok[s] / came[s] for s in STAGES) == pytest.approx(7 / len(plates))


def test_nothing_known_tells_nothing():
    assert stage_rows(making(1)) == []
    assert succeeded(making(1)) is None


OUTWARD = GivenUp("coat", "outward", None, "no_time", "")
FAULT = GivenUp("coat", "fault", "fog", None, "")
OK4 = dict.fromkeys(STAGES[:4], "ok")
BAD_COAT = {"coat": "fault"}


@pytest.mark.parametrize(
    ("given", "came"),
    [
        ({"given_up": OUTWARD}, None),
        ({"given_up": OUTWARD, "grade": "lost"}, None),
        ({"given_up": OUTWARD, "stages": BAD_COAT}, False),
        ({"given_up": FAULT, "grade": "lost"}, False),
        ({"grade": "good", "stages": BAD_COAT}, True),
        ({"grade": "fine"}, True),
        ({"grade": "study"}, False),
        ({"stages": BAD_COAT}, False),
        ({"stages": ALL_OK}, True),
        ({"stages": OK4}, None),
        ({}, None),
    ],
)
def test_whether_a_plate_succeeded(given, came):
    assert succeeded(making(1, **given)) is came


@pytest.mark.parametrize(
    ("given", "stages"),
    [
        ({"grade": "lost"}, STAGES),
        ({"grade": "study", "given_up": FAULT}, STAGES),
        ({"grade": "lost", "given_up": OUTWARD}, ()),
        ({"grade": "good"}, ()),
        ({}, ()),
        ({"grade": "lost", "stages": BAD_COAT}, ()),
        ({"grade": "lost", "stages": OK4}, STAGES[4:]),
        ({"grade": "lost", "defects": (("fog", "coat"), ("fog", "develop"))},
         ("coat", "development")),
        ({"grade": "lost", "defects": (("unheard of", "nowhere"),)}, STAGES),
    ],
)  # fmt: skip
def test_which_stages_may_have_spoilt_it(given, stages):
    assert tuple(open_stages(making(1, **given))) == tuple(stages)


def test_shares_of_a_fault_nobody_booked_by_hand():
    """By the trade's rates, or by what the studio has learned; what went before was ok."""
    rate = {stage: 1.0 - prior.ok_middle for stage, prior in stage_priors().items()}
    plate = making(1, grade="lost", stages={"polish": "ok"}, defects=(("fog", ""),))
    part = rate["coat"] / (rate["coat"] + rate["development"])
    later = [("exposure", 2, 2, 1.0 - part)]
    want = [("polish", 2, 2, 1.0), ("coat", 0, 0, part), ("coat", 2, 2, 1.0 - part), *later,
            ("development", 0, 0, 1.0 - part)]  # fmt: skip
    got = stage_rows(plate)
    assert [row[:3] for row in got] == [row[:3] for row in want]
    assert [row[3] for row in got] == pytest.approx([row[3] for row in want])
    learned = stage_rows(replace(plate, grade="study"), {"coat": 3.0, "development": 1.0})
    assert learned[1] == ("coat", 1, 1, 0.75)
    assert learned[-1] == ("development", 1, 1, 0.25)


def test_a_plate_given_up_outwardly_tells_of_what_was_judged_alone():
    plate = making(1, grade="lost", given_up=OUTWARD, stages={"polish": "ok", "exposure": "ok"})
    assert stage_rows(plate) == [("polish", 2, 2, 1.0), ("exposure", 2, 2, 1.0)]
    spoilt = replace(plate, stages={"exposure": "fault"})
    assert stage_rows(spoilt) == [
        ("polish", 2, 2, 1.0), ("coat", 2, 2, 1.0), ("exposure", 0, 1, 1.0),
    ]  # fmt: skip
