from dataclasses import replace

import numpy as np
import pytest
from tests.learn.plates import ALL_OK, good, lost, making

from argentry.exchange.plates.columns import column_names
from argentry.learn.stages.derived_conditions import measure
from argentry.learn.stages.fault_share import stage_rows, succeeded
from argentry.learn.stages.table import in_order, own_conditions, stage_tables, standardised
from argentry.records.plate import STAGES
from argentry.trade.conditions import conditions, not_conditions, stage_priors

KNOWN = {condition.key: condition for condition in conditions()}


def test_every_documented_column_is_a_condition_or_named_as_none():
    fields = {
        "plate",
        "date",
        "session",
        "order",
        "exposure_verdict",
        "grade",
        "defects",
        "remarks",
    }
    fields |= {f"stage_{stage}" for stage in STAGES}
    fields |= {"commissioned", "made_on", "silver_source"}  # never conditions of a making
    used = {column for c in conditions() for column in c.columns} | not_conditions()
    assert used <= set(column_names())
    assert set(column_names()) - fields <= used


def test_every_stage_has_a_prior_and_about_half_of_all_plates_succeed():
    assert tuple(stage_priors()) == STAGES
    share = np.prod([prior.ok_middle for prior in stage_priors().values()])
    assert 0.5 < share < 0.75  # doubt about the conditions takes the rest
    assert all(sum(c.stage == stage for c in conditions()) >= 3 for stage in STAGES)


@pytest.mark.parametrize(
    ("key", "known", "value"),
    [
        ("room_rh_pct", {"room_rh_pct": 65.0}, 1.0),
        ("room_rh_pct", {"room_rh_pct": 5.0}, -3.0),  # held within three widths
        ("room_rh_pct", {"room_rh_pct": "damp"}, None),
        ("room_rh_pct", {"room_rh_pct": float("nan")}, None),
        ("room_rh_pct", {}, None),
        ("buff_minutes", {"buff_minutes": 40.0}, 1.0),
        ("buff_minutes", {"buff_minutes": 0.0}, -3.0),
        ("buff_minutes", {"buff_minutes": -1.0}, None),
        ("coat_nm", {"coat_nm": 35.0}, 1.0),
        ("coat_nm", {"coat_colour": "rose", "coat_cycle": 1.0}, 0.7),  # typical 32 nm
        ("coat_nm", {"coat_colour": "plaid"}, None),
        ("water_kind", {"water_kind": "tap"}, 1.0),
        ("water_kind", {"water_kind": "distilled"}, 0.0),
        ("water_kind", {}, None),
        ("development_start_hour", {"development_start": "2024-05-01T15:00:00+02:00"}, 1.0),
        ("development_start_hour", {"development_start": "after lunch"}, None),
        ("dew_margin_k", {"plate_c": 20.0, "room_c": 20.0}, None),
        ("dew_margin_k", {"dew_margin_k": 8.0}, 1.0),
    ],
)
def test_standardised_by_the_trade(key, known, value):
    found = measure(KNOWN[key], known)
    assert found == (None if value is None else pytest.approx(value))


def test_length_of_development():
    start, end = "2024-05-01T10:00:00+02:00", "2024-05-01T14:00:00+02:00"
    known = {"development_start": start, "development_end": end}
    assert measure(KNOWN["development_minutes"], known) == pytest.approx(1.0)
    backwards = {"development_start": end, "development_end": start}
    assert measure(KNOWN["development_minutes"], backwards) is None


def test_plate_at_the_dew_point():
    # saturated air: the dew point is the air's own temperature
    known = {"plate_c": 20.0, "room_c": 20.0, "room_rh_pct": 100.0}
    assert measure(KNOWN["dew_margin_k"], known) == pytest.approx((0.0 - 5.0) / 3.0, abs=0.01)


def test_one_stop_more_light_is_one_width_more():
    known = {"f_number": 4.0, "meter_ev": 14.0, "exposure_seconds": 400.0}
    once = measure(KNOWN["exposure_stops"], known)
    twice = measure(KNOWN["exposure_stops"], {**known, "exposure_seconds": 800.0})
    open_ = measure(KNOWN["exposure_stops"], {**known, "f_number": 4.0 / 2**0.5})
    assert (twice - once, open_ - once) == pytest.approx((1.0, 1.0))


def test_cold_box_needs_more_seconds_for_the_same():
    key = "fuming_seconds_20c"
    warm = measure(KNOWN[key], {"fuming_seconds": 60.0, "box_c": 20.0})
    cold = measure(KNOWN[key], {"fuming_seconds": 60.0, "box_c": 10.0})
    assert warm == pytest.approx(0.0)
    assert -2.0 < cold < -1.0  # iodine's pressure more than doubles in ten degrees


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


def test_nothing_known_tells_nothing():
    assert stage_rows(making(1)) == []
    assert succeeded(making(1)) is None


def test_tables_hold_who_reached_the_stage():
    tables = stage_tables([good(0), lost(1, "exposure"), lost(2, "polish"), making(3)])
    assert tuple(tables) == STAGES
    assert [table.plates for table in tables.values()] == [3, 2, 2, 1, 1]
    exposure = tables["exposure"]
    assert exposure.ok.tolist() == [True, False]
    assert exposure.ids == ("id-0000", "id-0001")
    assert exposure.sessions == ("1", "2")
    assert exposure.x.shape == (2, len(exposure.names))


def test_order_of_time_and_each_plate_once():
    plates = [good(4), good(0), good(4), lost(2)]
    assert [o.id for o in in_order(plates)] == ["id-0000", "id-0002", "id-0004"]
    assert stage_tables(plates)["polish"].plates == 3


def test_own_columns_become_conditions_of_every_stage():
    plates = [
        good(
            n,
            conditions={
                "lamp": 3.0 + n,
                "buff stick": "AB"[n % 2],
                "same": 1.0,
                "room_c": 18.0 + n,
            },
        )
        for n in range(9)
    ]
    own = own_conditions(plates, conditions())
    assert {c.key for c in own} == {"lamp", "buff stick=B"}
    assert {c.stage for c in own} == set(STAGES)
    lamp = next(c for c in own if c.key == "lamp")
    assert lamp.centre == 7.0
    assert np.ptp(standardised([lamp], {"lamp": 7.0 + lamp.width})) == 0.0
    assert standardised([lamp], {"lamp": 7.0 + lamp.width})[0] == pytest.approx(1.0)
    assert stage_tables(plates, extra=False)["coat"].names == tuple(
        c.key for c in conditions() if c.stage == "coat" and (c.form != "switch" or c.words)
    )


def test_remarks_are_no_conditions():
    plates = [good(n, conditions={"diary": f"day {n}"}) for n in range(20)]
    assert own_conditions(plates, conditions()) == ()


def test_each_frame_is_a_switch_but_the_commonest():
    plates = [good(n, conditions={"frame": "AAB"[n % 3]}) for n in range(9)]
    table = stage_tables(plates)["development"]
    column = table.x[:, table.names.index("frame=B")]
    assert column.tolist() == [0.0, 0.0, 1.0] * 3
    assert "frame=A" not in table.names


def test_no_plates_at_all():
    tables = stage_tables([])
    assert all(t.x.shape == (0, len(t.names)) and t.plates == 0 for t in tables.values())


def test_a_session_taken_up_again_is_one_of_its_own():
    given = [good(n, session=name) for n, name in enumerate("AABACCA")]
    ordered = in_order(
        [replace(one, day=one.day.replace(day=1 + n)) for n, one in enumerate(given)]
    )
    told = [one.session for one in ordered]
    assert told == ["A", "A", "B", "A again 2", "C", "C", "A again 3"]
    assert in_order(ordered) == ordered
    tables = stage_tables(given)
    assert all(np.all(np.diff(table.session) >= 0) for table in tables.values())
