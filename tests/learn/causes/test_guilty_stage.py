"""Plates whose fault nobody booked: which stage spoilt them."""

from dataclasses import replace

import numpy as np
import pytest
from tests.learn.faults import damp_studio

from argentry.learn.causes.guilty_stage import _shared, guilty_shares
from argentry.learn.causes.studio_causes import why_studio
from argentry.learn.stages.fault_share import open_stages, stage_rows
from argentry.records.plate import STAGES
from argentry.trade.defects import defects


def unbooked(plates):
    return [replace(o, stages={}, defects=()) for o in plates]


@pytest.fixture(scope="module")
def lost():
    plates = damp_studio(80)
    shares = guilty_shares(unbooked(plates))
    return [(o, shares[o.id]) for o in plates if o.grade == "lost"]


def test_a_booked_fault_stays_where_it_is():
    assert guilty_shares(damp_studio(40)) == {}
    assert not open_stages(damp_studio(40)[0])


def test_the_stage_is_told_by_the_conditions_of_the_other_plates(lost):
    coat = [share["coat"] for o, share in lost if o.stages["coat"] == "fault"]
    other = [share["coat"] for o, share in lost if o.stages["coat"] != "fault"]
    assert np.mean(coat) > 0.75
    assert np.mean(other) < 0.35
    for _, share in lost:
        assert set(share) == set(STAGES)
        assert sum(share.values()) == pytest.approx(1.0)


def test_the_first_stage_that_fails_is_the_guilty_one():
    shares = _shared({"finish": 0.5, "coat": 0.2})
    assert shares == pytest.approx({"coat": 0.2 / 0.6, "finish": 0.8 * 0.5 / 0.6})


def test_a_look_that_belongs_to_two_stages_leaves_only_these_open():
    look = next(d for d in defects().values() if len(d.stages) == 2)
    plates = unbooked(damp_studio(40))
    at = next(i for i, o in enumerate(plates) if o.grade == "lost")
    plates[at] = replace(plates[at], defects=((look.key, ""),))
    assert set(guilty_shares(plates)[plates[at].id]) == set(look.stages)


def test_rows_are_shared_out_by_what_is_given():
    plate = next(o for o in unbooked(damp_studio(40)) if o.grade == "lost")
    rows = stage_rows(plate, {"coat": 0.75, "finish": 0.25})
    assert rows == [("coat", 0, 0, 0.75), ("coat", 2, 2, 0.25), ("finish", 0, 0, 0.25)]


def test_a_cause_is_named_without_a_single_booking():
    told = why_studio(unbooked(damp_studio(80)), charts=False)
    assert told.causes[0].cause == "damp_air"
    assert told.causes[0].named
