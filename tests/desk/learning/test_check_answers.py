"""What checks tell here, by what their answers caught."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from tests.learn.plates import good, lost

from argentry import trade
from argentry.desk.learning.check_answers import checks_here
from argentry.desk.learning.odds import _settled, _stage_now, judged
from argentry.desk.learning.standing import Standing, standing_of_run
from argentry.desk.numbers.makings import Gathered
from argentry.desk.numbers.run_so_far import PlateSoFar
from argentry.learn.deciding.stage_work import trade_check
from argentry.learn.odds.fitting import fit
from argentry.records.learned import Share, StageOdds
from argentry.records.plate import STAGES
from argentry.trade.decide import known_checks

BREATH = next(c for c in known_checks() if c.key == "breath")


def answered(plates, answer, *, before=()):
    """Return what the bench saw of plates whose polish was looked at, `before` a second one."""
    told = PlateSoFar(
        "r", "p", "P-1", "done", {}, None, {"polish": answer}, ("polish",), None,
        taken_back={"polish": before} if before else {},
    )  # fmt: skip
    return dict.fromkeys((one.id for one in plates), told)


def breath(plates, said):
    return checks_here(fit(plates), said)["breath"]


@pytest.fixture(scope="module")
def mixed():
    """Return plates lost by their polish, and good ones."""
    return [lost(n, "polish") if n % 2 else good(n) for n in range(24)]


def test_a_check_without_answers_is_the_trades_word(mixed):
    told, trades = breath(mixed, {}), trade_check(BREATH)
    assert told.sound == pytest.approx(trades.sound)
    assert told.fault == pytest.approx(trades.fault)


def test_a_check_that_cried_wolf_tells_less(mixed):
    fine = [one for one in mixed if one.grade == "good"]
    told, trades = breath(mixed, answered(fine, "wrong")), trade_check(BREATH)
    assert told.sound[2] > trades.sound[2] + 0.3, "bad to look at, and good all the same"
    assert told.fault == pytest.approx(trades.fault)


def test_a_check_that_missed_faults_tells_less_and_its_own_word_proves_none(mixed):
    bad = [one for one in mixed if one.grade != "good"]
    missed, trades = breath(mixed, answered(bad, "right")), trade_check(BREATH)
    assert missed.fault[0] > trades.fault[0] + 0.3
    own = breath(mixed, answered(bad, "wrong"))
    assert own.fault[2] > trades.fault[2], "most of them were faults, if the check is worth much"
    assert own.sound[2] > trades.sound[2], "and some were not"


def test_a_check_whose_catches_are_given_up_is_not_taken_to_miss_all():
    """Half of the faults are caught and given up, so that nothing but the check speaks of them."""
    plates = [good(n) for n in range(30)] + [lost(n, "polish") for n in range(30, 50)]
    said = answered(plates[:30], "right") | answered(plates[30:40], "wrong")
    said |= answered(plates[40:], "right")
    told = breath(plates, said)
    assert told.fault[2] == pytest.approx(0.5, abs=0.12)
    assert told.sound[0] > 0.75


def test_what_a_check_caught_counts_where_the_stage_was_done_once_more():
    """Of thirty faults ten are missed; twenty are caught, polished again, and then sound."""
    plates = [good(n) for n in range(30)] + [lost(n, "polish") for n in range(30, 40)]
    missed = answered(plates[30:], "right")
    told, once = (
        breath(plates, missed | answered(plates[:20], "right", before=before) | fine)
        for fine in [answered(plates[20:30], "right")]
        for before in (("wrong",), ())
    )
    assert once.fault[0] > 0.6, "as if it had missed them all"
    assert told.fault[2] > 0.4
    assert told.fault[2] > told.fault[0]
    assert told.sound[0] > 0.75, "and it did not cry wolf"


def test_faults_that_nobody_booked_count_as_far_as_they_are_laid_to_the_stage():
    plates = [
        replace(lost(n), stages={}) if n % 2 else replace(good(n), stages={}) for n in range(24)
    ]
    model = fit(plates)
    bad = [one for one in plates if one.grade != "good"]
    told = checks_here(model, answered(bad, "right"))["breath"]
    laid = float(model.spoilt[0].sum())
    assert 0.0 < laid < len(bad)
    trades, worth = trade_check(BREATH), trade.value("decide", "check_plates")
    assert told.fault[0] == pytest.approx((worth * trades.fault[0] + laid) / (worth + laid))
    sound = len(bad) - laid  # the plate came through the stage
    assert told.sound[0] == pytest.approx((worth * trades.sound[0] + sound) / (worth + sound))


def test_a_finished_plate_is_worth_no_advice():
    standing = Standing({}, {}, {}, STAGES[-1], 300.0, None, None, False, (), ())
    told = judged(standing, 89.1)
    assert (told.advice, told.options, told.needed) == ("finished", (), None), "it said: continue"
    assert (told.worth, told.worth_low, told.worth_high, told.price_per_hour) == (0.0,) * 4
    assert (told.minutes_left, told.sureness) == (0.0, 1.0)
    assert "nothing is left to decide" in told.words


def test_a_picture_that_does_not_come_up_is_a_fault_of_its_stage():
    """While it comes up a good look says nothing of the stages before; a bad one does."""
    shows = "development"
    for answer, done, stages in (
        ("wrong", None, {shows: "fault"}),
        ("wrong", shows, {shows: "fault"}),
        ("right", None, {}),
        ("right", shows, dict.fromkeys(STAGES[: STAGES.index(shows) + 1], "ok")),
    ):
        standing = Standing({}, {}, {shows: answer}, done, 60.0, None, None, False, (), ())
        assert _settled(standing) == stages, (answer, done)


def test_a_stage_is_behind_a_plate_once_it_or_a_later_one_is_done():
    share = Share(0.8, 0.7, 0.9, 12)
    for known, done, behind in ((False, None, False), (True, None, True), (False, "coat", True),
                                (False, "polish", False), (False, "exposure", True)):  # fmt: skip
        one = StageOdds("coat", share, done=known, known=(), unknown=())
        standing = Standing({}, {}, {}, done, 60.0, None, None, False, (), ())
        assert _stage_now(one, None, standing, None).done is behind, (known, done)


@pytest.mark.parametrize(("at_work", "overlap"), [(1, False), (2, True), (3, True)])
def test_a_plate_of_a_run_is_worked_on_beside_others_where_two_are_in_making(at_work, overlap):
    made = [
        PlateSoFar(run, f"p{n}", f"P{n}", "open", {}, None, {}, (), None)
        for n, run in enumerate(["other", *["r"] * at_work])
    ]
    gathered = Gathered((), {}, {}, {one.plate: one for one in made}, "", (), None)
    now = datetime(2026, 6, 21, 10, tzinfo=UTC)
    assert standing_of_run(gathered, made[1], now).overlap is overlap
