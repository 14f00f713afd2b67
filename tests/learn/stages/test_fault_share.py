"""To which stage a fault counts."""

from dataclasses import replace
from math import prod

import pytest
from tests.learn.plates import ALL_OK, good, lost, making

from argentry.learn.stages.fault_share import stage_rows, succeeded
from argentry.records.plate import STAGES


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
