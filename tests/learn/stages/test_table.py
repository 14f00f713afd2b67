from dataclasses import replace

import numpy as np
import pytest
from tests.learn.plates import good, lost, making

from argentry.exchange.plates.columns import column_names
from argentry.learn.stages.table import (
    column_of,
    in_order,
    own_conditions,
    stage_tables,
    standardised,
    word_of,
)
from argentry.records.plate import STAGES
from argentry.trade.conditions import conditions, not_conditions, stage_priors


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
    few = [good(n, conditions={"hours": f"{9 + n}:00 - {10 + n}:30"}) for n in range(3)]
    assert own_conditions(few, conditions()) == (), "a word that never comes again tells nothing"
    again = [*few, good(3, conditions={"hours": "9:00 - 10:30"})]
    assert {c.key for c in own_conditions(again, conditions())} > {"hours=10:00 - 11:30"}


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


def test_a_column_of_words_has_a_switch_for_each():
    assert (column_of("water=tap"), word_of("water=tap")) == ("water", "tap")
    assert (column_of("coat_nm"), word_of("coat_nm")) == ("coat_nm", "")
