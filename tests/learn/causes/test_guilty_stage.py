"""Plates whose fault nobody booked: which stage spoilt them."""

from dataclasses import replace

import numpy as np
import pytest
from tests.learn.faults import damp_studio

from argentry.learn.causes.guilty_stage import Unbooked, _rates, unbooked
from argentry.learn.causes.studio_causes import why_studio
from argentry.learn.stages.fault_share import open_stages, stage_rows
from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors
from argentry.trade.defects import defects


def without_bookings(plates):
    return [replace(o, stages={}, defects=()) for o in plates]


@pytest.fixture(scope="module")
def lost():
    plates = damp_studio(80)
    shares = unbooked(without_bookings(plates)).blame
    return [(o, shares[o.id]) for o in plates if o.grade == "lost"]


def test_a_booked_fault_stays_where_it_is():
    assert unbooked(damp_studio(40)) == Unbooked()
    assert not open_stages(damp_studio(40)[0])


def test_the_stage_is_told_by_the_conditions_of_the_other_plates(lost):
    coat = [share["coat"] for o, share in lost if o.stages["coat"] == "fault"]
    other = [share["coat"] for o, share in lost if o.stages["coat"] != "fault"]
    assert np.mean(coat) > 0.75
    assert np.mean(other) < 0.35
    for _, share in lost:
        assert set(share) == set(STAGES)
        assert sum(share.values()) == pytest.approx(1.0)


def test_every_fault_counts_once_for_a_condition_whatever_its_stage():
    told = unbooked(without_bookings(damp_studio(80)))
    loose = [o for o in without_bookings(damp_studio(80)) if o.grade == "lost"]
    assert {len(open_stages(o)) > 1 for o in loose} == {True}
    assert (told.faults, told.open_) == (len(loose), len(loose))
    gain = {key: float(values[0]) for key, values in told.gain.items()}
    best = max(gain, key=gain.get)
    assert best == ("coat", "room_rh_pct", "high")
    assert gain[best] > 3.0
    assert sum(value < 1.0 for value in gain.values()) > 0.9 * len(gain)


def test_looks_leave_a_stage_open_as_far_as_they_follow_the_table():
    told = Unbooked(faults=20.0, open_=5.0, lost=40.0)
    assert told.share(1.0) == pytest.approx(5.0 / 40.0)
    assert told.share(0.0) == pytest.approx(20.0 / 40.0)
    assert Unbooked().share(0.5) == 0.0


def test_a_look_that_belongs_to_two_stages_makes_these_likely():
    look = next(d for d in defects().values() if len(d.stages) == 2)
    plates = without_bookings(damp_studio(40))
    at = next(i for i, o in enumerate(plates) if o.grade == "lost")
    before = unbooked(plates).blame[plates[at].id]
    plates[at] = replace(plates[at], defects=((look.key, ""),))
    after = unbooked(plates).blame[plates[at].id]
    told = [sum(share[stage] for stage in look.stages) for share in (before, after)]
    assert told[1] > 0.5 * (1.0 + told[0])
    assert set(after) == set(STAGES), "looks may be wrong"


def test_a_stage_that_was_called_ok_is_not_guilty_unless_looks_name_it():
    plates = without_bookings(damp_studio(40))
    at = next(i for i, o in enumerate(plates) if o.grade == "lost")
    some = dict.fromkeys(("polish", "coat"), "ok")
    plates[at] = replace(plates[at], stages=some)
    assert set(unbooked(plates).blame[plates[at].id]) == set(STAGES) - set(some)
    look = next(d.key for d in defects().values() if d.stages == ("coat",))
    plates[at] = replace(plates[at], defects=((look, ""),))
    assert set(unbooked(plates).blame[plates[at].id]) == set(STAGES) - {"polish"}


def test_rows_are_shared_out_by_what_is_given():
    plate = next(o for o in without_bookings(damp_studio(40)) if o.grade == "lost")
    rows = stage_rows(plate, {"coat": 0.75, "finish": 0.25})
    assert rows == [
        ("polish", 2, 2, 1.0), ("coat", 0, 0, 0.75), ("coat", 2, 2, 0.25),
        ("exposure", 2, 2, 0.25), ("development", 2, 2, 0.25), ("finish", 0, 0, 0.25),
    ]  # fmt: skip


def test_a_cause_is_named_without_a_single_booking():
    told = why_studio(without_bookings(damp_studio(80)), charts=False)
    assert told.causes[0].cause == "damp_air"
    assert told.causes[0].named


def test_faults_that_nobody_put_to_a_stage_go_by_the_trades_rates():
    rate = {stage: 1.0 - prior.ok_middle for stage, prior in stage_priors().items()}
    both = rate["coat"] + rate["polish"]
    got = _rates([("coat", "polish"), ("coat",), ("coat", "polish")])
    want = dict.fromkeys(STAGES, 0.0)
    want |= {"coat": 1.0 + 2.0 * rate["coat"] / both, "polish": 2.0 * rate["polish"] / both}
    assert got == pytest.approx(want)
