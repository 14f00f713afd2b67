"""Makings of the bench follow the log, whatever the order of its events; both stores."""

import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text
from tests.judging import judge

from argentry.book.engine import writing
from argentry.book.log import append, events
from argentry.book.makings import all_said, makings, put_makings
from argentry.book.plates import add_plate
from argentry.records.event import Event
from argentry.records.ids import make_id
from argentry.records.plate import Plate

START = datetime(2026, 5, 12, 21, 30, tzinfo=UTC)  # 23:30 in Zurich
STEPS = [
    {"key": key, "title": key, "law": law, "planned_s": 60.0, "stage": stage}
    for key, law, stage in (
        ("final_buff", "fixed", "polish"),
        ("iodise", "fuming", "coat"),
        ("expose", "exposure", "exposure"),
    )
]
GOOD = {"grade": "good", "verdict": "right", "stages": {"coat": "ok"}, "defects": [], "words": ""}
LOST = {"grade": "lost", "verdict": None, "stages": {}, "defects": [["fog", "iodise"]]}


def name(number):
    return make_id(1_778_000_000_000 + number, number)


P, Q = Plate(name(1), "P-104"), Plate(name(2), "P-105")


class Bench:
    def __init__(self, book):
        self.book, self.count = book, 100
        self.sent = []
        for plate in (P, Q):
            add_plate(book, plate)

    def event(self, run, kind, minutes, plate=None, step=None, **body):
        self.count += 1
        at = START + timedelta(minutes=minutes)
        return Event(name(self.count), run, kind, at, plate, step, body, "tablet")

    def say(self, *given, **body):
        said = self.event(*given, **body)
        append(self.book, [said])
        self.sent.append(said)
        return said

    def opened(self, run, minutes):
        plates = [{"id": plate.id, "label": plate.label} for plate in (P, Q)]
        self.say(
            run,
            "run_opened",
            minutes,
            plates=plates,
            steps=STEPS,
            place={"time_zone": "Europe/Zurich"},
        )

    def worked(self, run, minutes, plate=P, steps=3):
        for i, step in enumerate(STEPS[:steps]):
            self.say(run, "step_begun", minutes + 2 * i, plate.id, step["key"])
            self.say(run, "step_ended", minutes + 2 * i + 1, plate.id, step["key"])


@pytest.fixture
def bench(book):
    return Bench(book)


def told(book, plate=P):
    return [(one.run, one.state, one.grade) for one in makings(book, plate.id)]


def test_a_plate_opened_and_never_begun_is_no_making(bench, book):
    bench.opened("r", 0)
    bench.say("r", "plate_abandoned", 5, P.id, reason="outward", outward="no_time", why="")
    bench.say("r", "run_closed", 9)
    assert makings(book) == []


def test_the_first_step_begun_makes_it_in_the_same_breath(bench, book):
    bench.opened("r", 0)
    assert makings(book) == []
    bench.say("r", "step_begun", 45, P.id, "final_buff")
    (one,) = makings(book)
    assert (one.plate, one.run, one.state, one.order) == (P.id, "r", "going", 1)
    assert one.day.isoformat() == one.session == "2026-05-13", "the day where the studio is"
    bench.say("r", "step_begun", 46, Q.id, "final_buff")
    assert [one.order for one in makings(book)] == [1, 2]


def test_a_lost_plate_made_again_has_two_makings_one_good(bench, book):
    bench.opened("one", 0)
    bench.worked("one", 1, steps=2)
    bench.say("one", "plate_abandoned", 20, P.id, reason="fault", stage="coat", defect="fog")
    bench.say("one", "making_graded", 21, P.id, **LOST)
    bench.say("one", "run_closed", 22)
    bench.opened("two", 60)
    bench.worked("two", 61)
    bench.say("two", "run_closed", 80)
    bench.say("two", "making_graded", 81, P.id, **GOOD)
    assert told(book) == [("one", "given_up", "lost"), ("two", "finished", "good")]
    lost, good = makings(book, P.id)
    assert lost.defects == (("fog", "iodise"),)
    assert (good.defects, good.verdict, good.stages) == ((), "right", {"coat": "ok"})


def test_given_up_for_a_fault_names_its_stage_and_its_defect(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1, steps=2)
    bench.say("r", "plate_abandoned", 20, P.id, reason="fault", stage="coat", defect="fog", why="x")
    (one,) = makings(book)
    assert (one.stages, one.defects, one.grade) == ({"coat": "fault"}, (("fog", "coat"),), None)
    assert (one.given_up.reason, one.given_up.stage, one.given_up.why) == ("fault", "coat", "x")


def test_given_up_for_an_outward_reason_blames_nothing(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1, steps=2)
    bench.say("r", "plate_abandoned", 20, P.id, reason="outward", outward="light_gone")
    (one,) = makings(book)
    assert (one.stages, one.defects, one.state) == ({}, (), "given_up")
    assert one.given_up.outward == "light_gone"


def test_a_regrade_counts_and_the_old_grade_stays(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1)
    bench.say("r", "making_graded", 20, P.id, **{**GOOD, "words": "thin"})
    bench.say("r", "making_graded", 30, P.id, **LOST)
    (one,) = makings(book)
    assert (one.grade, one.verdict, one.stages, one.remark) == ("lost", None, {}, "")
    said = [(one.said, one.by) for one in all_said(book, one.id) if one.what == "grade"]
    assert said == [("good", "tablet"), ("lost", "tablet")]
    kinds = [event.kind for event in events(book, "r")]
    assert kinds.count("making_graded") == 2


def test_a_grade_taken_back_gives_way_to_the_one_before(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1)
    first = bench.say("r", "making_graded", 20, P.id, **GOOD)
    second = bench.say("r", "making_graded", 30, P.id, **LOST)
    bench.say("r", "corrected", 31, event=second.id, withdrawn=True)
    assert told(book) == [("r", "finished", "good")]
    bench.say("r", "corrected", 32, event=first.id, body={"grade": "fine"})
    assert told(book) == [("r", "finished", "fine")]
    bench.say("r", "corrected", 33, event=first.id, withdrawn=True)
    (one,) = makings(book)
    assert (one.grade, one.verdict, one.stages, one.defects) == (None, None, {}, ())


def test_what_was_written_by_hand_before_comes_back_when_an_event_is_taken_back(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1)
    key = makings(book)[0].id
    judge(book, key, grade="study", at=START + timedelta(minutes=15, microseconds=7))
    graded = bench.say("r", "making_graded", 20, P.id, **GOOD)
    assert told(book) == [("r", "finished", "good")]
    bench.say("r", "corrected", 21, event=graded.id, withdrawn=True)
    assert told(book) == [("r", "finished", "study")]


def test_a_step_begun_by_mistake_and_taken_back_leaves_no_making(bench, book):
    bench.opened("r", 0)
    begun = bench.say("r", "step_begun", 1, P.id, "final_buff")
    bench.say("r", "corrected", 2, event=begun.id, withdrawn=True)
    assert makings(book) == []
    bench.say("r", "step_begun", 9, P.id, "final_buff")
    assert told(book) == [("r", "going", None)]


@pytest.mark.parametrize(("kind", "plate"), [("run_withdrawn", None), ("plate_withdrawn", P.id)])
def test_a_run_or_plate_opened_by_mistake_is_no_making(bench, book, kind, plate):
    bench.opened("r", 0)
    bench.worked("r", 1)
    bench.worked("r", 1, Q, 1)
    gone = bench.say("r", kind, 20, plate, why="wrong plate")
    assert told(book) == []
    assert told(book, Q) == ([] if plate is None else [("r", "going", None)])
    bench.say("r", "corrected", 21, event=gone.id, withdrawn=True)
    assert len(told(book)) == len(told(book, Q)) == 1


def test_sending_again_changes_nothing(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1)
    bench.say("r", "making_graded", 20, P.id, **GOOD)
    was, said = makings(book), all_said(book, makings(book)[0].id)
    append(book, bench.sent)
    assert (makings(book), all_said(book, was[0].id)) == (was, said)


@pytest.mark.parametrize("seed", range(8))
def test_any_order_gives_the_same_makings(bench, book, seed):
    """What a tablet sends late, after others, is judged by its time and not by its coming."""
    drawn = random.Random(seed)
    bench.opened("r", 0)
    last = bench.sent[0]
    for plate, steps in ((P, 3), (Q, 2)):
        for i, step in enumerate(STEPS[:steps]):
            bench.sent.append(bench.event("r", "step_begun", 1 + 2 * i, plate.id, step["key"]))
            bench.sent.append(bench.event("r", "step_ended", 2 + 2 * i, plate.id, step["key"]))
    early = bench.event("r", "making_graded", 20, P.id, **LOST)
    late = bench.event("r", "making_graded", 22, P.id, **GOOD)
    wrong = bench.event("r", "making_graded", 24, P.id, **{**LOST, "grade": "fine"})
    back = bench.event("r", "corrected", 25, event=wrong.id, withdrawn=True)
    bench.sent += [early, late, wrong, back]
    bench.sent.append(bench.event("r", "plate_abandoned", 19, Q.id, reason="fault", stage="coat"))
    bench.sent.append(bench.event("r", "run_closed", 30))
    rest = [event for event in bench.sent if event is not last]
    drawn.shuffle(rest)
    for event in rest:
        append(book, [event])
    assert told(book) == [("r", "finished", "good")]
    (one,) = makings(book, Q.id)
    assert (one.state, one.stages) == ("given_up", {"coat": "fault"})


def test_a_body_no_reader_could_use_spoils_nothing(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1)
    bad = {"grade": "best", "verdict": 5, "stages": {"x": "ok", "coat": "?"}, "defects": [["a"], 3]}
    bench.say("r", "making_graded", 20, P.id, **bad)
    (one,) = makings(book)
    assert (one.grade, one.verdict, one.stages, one.defects) == (None, None, {}, ())


def test_a_plate_the_book_does_not_hold_is_passed_over(bench, book):
    bench.say("r", "run_opened", 0, plates=[{"id": "nobody", "label": "N"}], steps=STEPS)
    bench.say("r", "step_begun", 1, "nobody", "final_buff")
    assert makings(book) == []


def test_one_run_and_plate_have_one_making(bench, book):
    bench.opened("r", 0)
    bench.worked("r", 1)
    (one,) = makings(book)
    with (
        writing(book) as connection,
        pytest.raises(Exception, match="a making of this plate and run"),
    ):
        put_makings(connection, [replace(one, id="another")], by="", at=START)
    with pytest.raises(Exception, match=r"(?i)unique"), book.engine.begin() as connection:
        connection.execute(
            text(
                "INSERT INTO making SELECT 'x', plate, run, session, place, day,"
                " commissioned, conditions, remark, state, given_up, '' FROM making"
            )
        )
