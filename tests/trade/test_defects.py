"""The catalogue of defects and the table of readings: whole, and in step with the steps."""

import pytest

from argentry import trade
from argentry.errors import ArgentryError, BadInput
from argentry.records.plate import STAGES
from argentry.trade import defects as module
from argentry.trade.defects import check_origin, defect, defects
from argentry.trade.refusals import refusals, substances
from argentry.trade.steps import stage_of, steps

NEVER_MEND = {"black_specks", "motion_blur", "out_of_focus", "tarnish_halo"}


def test_all_thirty_six_are_there():
    assert len(defects()) >= 36


def test_every_step_has_a_stage_and_every_defect_a_step_that_is():
    assert set(stage_of()) == {step.key for step in steps()} | {"plate_making"}
    assert set(stage_of().values()) == set(STAGES)
    for entry in defects().values():
        assert entry.causes
        assert entry.remedy
        assert set(entry.stages) <= set(STAGES)
        assert {stage_of()[step] for step in entry.steps} >= set(entry.stages), entry.key


def test_no_cure_is_promised_where_there_is_none():
    assert {key for key, entry in defects().items() if not entry.mends} == NEVER_MEND
    assert "Never wipe" in defects()["tarnish_halo"].remedy


def test_no_remedy_names_what_is_never_guided():
    banned = {name for entry in refusals() for name in entry.classes if len(entry.classes) == 1}
    for entry in defects().values():
        for text in (entry.remedy, *entry.causes):
            assert not substances(text) & banned, entry.key


def test_origins():
    assert check_origin("x", "fog", "coat") == "coat"
    assert check_origin("x", "fog", "develop") == "develop"
    assert check_origin("x", "drying_ring", "") == "finish"
    with pytest.raises(BadInput, match="fog has many origins; give one of coat, development"):
        check_origin("x", "fog", "")
    with pytest.raises(BadInput, match="fog does not come from 'gild'"):
        check_origin("x", "fog", "gild")
    with pytest.raises(BadInput, match="did you mean bleached"):
        defect("x", "bleeched")
    with pytest.raises(BadInput, match="see the list"):
        defect("x", "zzz")


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"basis": "hearsay"}, "basis 'hearsay' is not known; use one of published"),
        ({"steps": ["nowhere"]}, "steps 'nowhere' is not known; use one of plate_making, ready"),
        ({"stages": ["varnish"]}, "stages 'varnish' is not known; use one of polish, coat"),
        ({"steps": ["seal"]}, "its steps are of none of its stages; name a step of a stage"),
        ({"ended": "burnt"}, "ended 'burnt' is not known; use one of nothing, unripe, too long"),
        ({"extra": 1}, "it has the unknown extra; use key"),
        ({"remedy": ""}, "remedy is ''; give words"),
    ],
)
def test_a_wrong_entry_is_refused_in_one_sentence(change, match):
    entry = dict(trade.toml("defects")["defect"][0]) | change
    with pytest.raises(ArgentryError, match=match) as caught:
        module._defect(entry)
    assert str(caught.value).startswith("defects.toml, defect fog: ")
