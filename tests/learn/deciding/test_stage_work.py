"""The work of each stage, its checks and its minutes."""

from dataclasses import replace

import numpy as np
import pytest
from tests.edges import is_taken_within

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.deciding.stage_work import (
    Check,
    StageWork,
    graded_check,
    posterior,
    trade_check,
    usual_work,
)
from argentry.physics.stops import Z80
from argentry.records.plate import STAGES
from argentry.trade.decide import known_checks

# Minutes and shares as the design notes took them for their measurements.
WORK = (
    StageWork("polish", 75, 0.80),
    StageWork("coat", 12, 0.88),
    StageWork("exposure", 20, 0.85),
    StageWork("development", 90, 0.92, reveals=True),
    StageWork("finish", 50, 0.94),
)


@pytest.mark.parametrize("quality", [0.0, 0.5, 1.0, 2.0, 6.0, 12.0])
def test_looking_does_not_change_the_share_of_faults(quality):
    check = graded_check("c", 1.0, quality, cuts=np.linspace(-4, quality + 4, 41))
    ok = np.linspace(0.0, 1.0, 21)
    weights, after = posterior(check, ok)
    assert sum(weights) == pytest.approx(np.ones(21), abs=1e-12)
    assert sum(w * q for w, q in zip(weights, after, strict=True)) == pytest.approx(ok, abs=1e-12)


def test_a_table_of_results_cut_short_is_refused():
    with pytest.raises(BadInput, match="do not sum to 1"):
        StageWork("polish", 10, 0.8, checks=(Check("cut", 1.0, (0.9, 0.05), (0.2, 0.8)),))


def usual():
    return usual_work(89.1)


def test_the_usual_work_is_the_trades():
    stages = usual()
    assert tuple(s.key for s in stages) == STAGES
    assert [s.reveals for s in stages] == [False, False, False, True, False]
    assert stages[3].attended < 0.1
    assert [c.key for s in stages for c in s.checks] == ["breath", "coat_photograph", "light_given"]
    longer = usual_work(89.1, minutes={"develop": 300.0}, ok={"polish": 0.4})
    assert longer[3].minutes > stages[3].minutes
    assert longer[0].ok == 0.4


@pytest.mark.parametrize(
    "wrong", [{"minutes": 0.0}, {"ok": 1.1}, {"redo_minutes": 0.0}, {"attended": np.nan}]
)
def test_bad_work(wrong):
    with pytest.raises(BadInput):
        replace(WORK[0], **wrong)


@pytest.mark.parametrize(
    ("call", "low", "high", "open_low"),
    [
        (lambda x: StageWork("coat", x, 0.9), 0.0, 1e5, True),
        (lambda x: StageWork("coat", 5.0, x), 0.0, 1.0, False),
        (lambda x: StageWork("coat", 5.0, 0.9, scatter=x), 0.0, 1e5, False),
        (lambda x: StageWork("coat", 5.0, 0.9, attended=x), 0.0, 1.0, False),
        (lambda x: StageWork("coat", 5.0, 0.9, redo_price=x), 0.0, 10.0, False),
        (lambda x: StageWork("coat", 5.0, 0.9, redo_minutes=x), 1.0, 1e5, False),
        (lambda x: StageWork("coat", 5.0, 0.9, checks=(Check("look", x, (1.0,), (1.0,)),)),
         0.0, 1e4, False),
        (lambda x: graded_check("look", 1.0, x), 0.0, 20.0, False),
    ],
)  # fmt: skip
def test_numbers_of_a_stage_go_so_far(call, low, high, open_low):
    is_taken_within(call, low, high, open_low=open_low)


@pytest.mark.parametrize("known", known_checks(), ids=lambda one: one.key)
def test_a_check_of_a_maker_nobody_knows_tells_what_it_tells_on_the_mean(known):
    """Against a simulation: how far a fault moves it and where the lines are drawn are in doubt."""
    rng = np.random.default_rng(4)
    moved = rng.normal(known.quality, (known.high - known.low) / (2.0 * Z80), 400_000)
    line = moved / 2.0 + rng.normal(0.0, trade.value("decide", "check_line_sd"), moved.size)
    told = trade_check(known)
    for shown, middle in ((told.sound, 0.0), (told.fault, moved)):
        score = rng.normal(middle, 1.0, moved.size)
        right, wrong = (score < line).mean(), (score > line + 1.0).mean()
        assert shown == pytest.approx((right, 1.0 - right - wrong, wrong), abs=0.004)
    sure = graded_check(known.key, known.minutes, known.quality)
    assert told.fault[2] / told.sound[2] < 0.75 * sure.fault[2] / sure.sound[2]
