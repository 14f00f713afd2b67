"""A plate made again and again: which making is meant, and what the book knows of each."""

from datetime import UTC, date, datetime, timedelta

import pytest
from tests.bench_studio import studio
from tests.stores import save_new_studio

from argentry.book.engine import close_book
from argentry.book.log import append, events, runs
from argentry.book.makings import all_said, makings
from argentry.book.open import open_book
from argentry.book.plates import add_plate, plate_by_label
from argentry.desk.numbers.makings import from_book
from argentry.desk.pages.plate_record import show_record
from argentry.errors import BadInput
from argentry.keeping.plates.grades import give_up, grade_plate, note_defect
from argentry.keeping.plates.makings import ordinal
from argentry.keeping.plates.mistakes import rename_plate, withdraw_plate, withdraw_run
from argentry.keeping.plates.plates import known_conditions, list_plates, note_work
from argentry.learn.stages.fault_share import stage_rows, succeeded
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Plate

START = datetime(2026, 5, 12, 8, tzinfo=UTC)
STEPS = [
    {"key": key, "title": key, "law": law, "planned_s": 60.0, "stage": stage}
    for key, law, stage in (("final_buff", "fixed", "polish"), ("iodise", "fuming", "coat"))
]


class Maker:
    def __init__(self, folder):
        self.folder = folder

    def say(self, run, kind, at, plate=None, step=None, **body):
        book = open_book(self.folder)
        append(book, [Event(new_id(), run, kind, at, plate, step, body, "tablet")])
        close_book(book)

    def run(self, name, at, *labels):
        book = open_book(self.folder)
        for label in labels:
            if plate_by_label(book, label) is None:
                add_plate(book, Plate(new_id(), label))
        plates = [{"id": plate_by_label(book, label).id, "label": label} for label in labels]
        close_book(book)
        body = {"title": name, "plates": plates, "steps": STEPS, "place": {"time_zone": "UTC"}}
        self.say(name, "run_opened", at, **body)
        return [plate["id"] for plate in plates]

    def work(self, run, at, plate, steps=2):
        for i, step in enumerate(STEPS[:steps]):
            when = at + timedelta(minutes=10 * i)
            self.say(run, "step_begun", when, plate, step["key"])
            self.say(run, "step_ended", when + timedelta(minutes=1), plate, step["key"])

    def taught(self):
        book = open_book(self.folder)
        found = from_book(book, None).makings
        close_book(book)
        return found


@pytest.fixture
def maker(tmp_path):
    save_new_studio(tmp_path, studio())
    return Maker(tmp_path)


@pytest.fixture
def remade(maker):
    (plate,) = maker.run("12 May", START, "P-104")
    maker.work("12 May", START + timedelta(minutes=1), plate)
    maker.say("12 May", "run_closed", START + timedelta(hours=1))
    grade_plate(maker.folder, "P-104", grade="lost")
    later = START + timedelta(days=2)
    maker.run("14 May", later, "P-104")
    maker.work("14 May", later + timedelta(minutes=1), plate)
    maker.say("14 May", "run_closed", later + timedelta(hours=1))
    return maker


def grades(maker):
    return [one.grade for one in outcomes(maker, "P-104")]


def outcomes(maker, label):
    return show_record(maker.folder, label).outcomes


def test_a_lost_plate_made_again_and_graded_good_is_two_makings_one_good(remade):
    told = grade_plate(remade.folder, "P-104", grade="good")
    assert told.words == "plate P-104, second making, run of 14 May 2026"
    assert grades(remade) == ["lost", "good"]
    assert [one.grade for one in remade.taught()] == ["lost", "good"], "no failure vanishes"


def test_an_older_making_is_named_by_its_number_or_its_day(remade):
    told = grade_plate(remade.folder, "P-104", grade="study", number=1)
    assert told.words == "plate P-104, first making, run of 12 May 2026"
    assert grades(remade) == ["study", None]
    grade_plate(remade.folder, "P-104", grade="fine", day=date(2026, 5, 14))
    assert grades(remade) == ["study", "fine"]
    with pytest.raises(BadInput, match="plate P-104 has 2 makings"):
        grade_plate(remade.folder, "P-104", grade="fine", number=3)
    with pytest.raises(BadInput, match="no making of 14 May 2026"):
        grade_plate(remade.folder, "P-104", grade="fine", number=1, day=date(2026, 5, 14))


def test_a_regrade_is_an_event_and_the_old_grade_stays(remade):
    grade_plate(remade.folder, "P-104", grade="good", verdict="right", stages={"coat": "ok"})
    note_defect(remade.folder, "P-104", "fog", origin="development", by="Ana")
    grade_plate(remade.folder, "P-104", grade="fine", by="Ana")
    book = open_book(remade.folder)
    one = makings(book)[-1]
    said = [(word.said, word.by) for word in all_said(book, one.id) if word.what == "grade"]
    assert (one.grade, one.verdict, one.stages) == ("fine", "right", {"coat": "ok"})
    assert one.defects == (("fog", "development"),)
    assert said == [("good", "terminal"), ("fine", "Ana")]
    kinds = [event.kind for event in events(book, "14 May")]
    close_book(book)
    assert kinds.count("making_graded") == 3


def test_a_defect_is_taken_back_from_the_making_that_has_it(remade):
    note_defect(remade.folder, "P-104", "fog", origin="development", number=1)
    note_defect(remade.folder, "P-104", "fog", withdraw=True)
    assert all(one.defects == () for one in outcomes(remade, "P-104"))
    with pytest.raises(BadInput, match="no 'fog' to take back"):
        note_defect(remade.folder, "P-104", "fog", withdraw=True)


def test_a_plate_on_the_bench_cannot_be_graded_yet(maker):
    (plate,) = maker.run("r", START, "P-104")
    maker.work("r", START + timedelta(minutes=1), plate, steps=1)
    with pytest.raises(BadInput, match="still on the bench"):
        grade_plate(maker.folder, "P-104", grade="good")


def test_a_plate_of_no_run_is_graded_without_one(maker):
    book = open_book(maker.folder)
    add_plate(book, Plate(new_id(), "P-104"))
    close_book(book)
    told = grade_plate(maker.folder, "P-104", grade="good", day=date(2026, 5, 1))
    assert told.words == "plate P-104, first making, of 1 May 2026, without a run"
    assert grades(maker) == ["good"]


def test_where_no_hour_was_planned_the_steps_to_come_follow_on(maker):
    done, skipped = maker.run("r", START, "P-104", "P-105")
    begun = START + timedelta(minutes=1)
    for plate in (done, skipped):
        maker.work("r", begun, plate, steps=1)
    maker.say("r", "step_skipped", begun + timedelta(minutes=2), skipped, "iodise")
    minute = timedelta(seconds=60)
    for label, then in (("P-104", (begun + minute, begun + 2 * minute)), ("P-105", (None, None))):
        first, second = outcomes(maker, label)[-1].steps
        assert (first.planned_start, first.planned_end) == (begun, begun + minute)
        assert (second.planned_start, second.planned_end) == then


def test_a_length_that_was_changed_stands_beside_the_one_that_was_planned(maker):
    (plate,) = maker.run("r", START, "P-104")
    begun = START + timedelta(minutes=1)
    maker.work("r", begun, plate, steps=1)
    body = {"planned_s": 90.0, "low_s": 75.0, "high_s": 110.0, "why": "box at 15 °C"}
    maker.say("r", "duration_changed", begun + timedelta(minutes=2), plate, "iodise", **body)
    first, second = outcomes(maker, "P-104")[-1].steps
    assert first.planned_s == first.settled_s == 60.0
    assert (second.planned_s, second.settled_s) == (60.0, 90.0)
    assert (second.low_s, second.high_s) == (75.0, 110.0)


def test_given_up_untouched_teaches_nothing(maker):
    plates = maker.run("r", START, "P-104", "P-105")
    for plate in plates:
        maker.say("r", "plate_abandoned", START + timedelta(minutes=5), plate, why="no time")
    maker.say("r", "run_closed", START + timedelta(minutes=9))
    assert maker.taught() == ()
    with pytest.raises(BadInput, match="not on the bench"):
        give_up(maker.folder, "P-104", stage="polish", outward="no_time")


def test_given_up_for_a_fault_is_lost_by_that_stage_and_outward_by_none(maker):
    fault, outward = maker.run("r", START, "P-104", "P-105")
    for plate in (fault, outward):
        maker.work("r", START + timedelta(minutes=1), plate, steps=1)
    give_up(maker.folder, "P-104", stage="coat", defect="uneven_coat", why="streaks")
    give_up(maker.folder, "P-105", stage="coat", outward="light_gone")
    lost, gone = maker.taught()
    assert (lost.grade, lost.stages) == ("lost", {"coat": "fault"})
    assert lost.defects == (("uneven_coat", "coat"),)
    assert succeeded(lost) is False
    assert succeeded(gone) is None
    assert stage_rows(gone) == [], "no stage is blamed, none is praised"
    assert gone.given_up.outward == "light_gone"


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"stage": "moon", "outward": "no_time"}, "not a stage"),
        ({"stage": "coat", "outward": "rain"}, "not known"),
        ({"stage": "coat", "outward": "no_time", "defect": "fog"}, "two are given"),
        ({"stage": "coat"}, "none is given"),
        ({"stage": "coat", "defect": "moon"}, "not a known defect"),
    ],
)
def test_a_reason_that_says_nothing_is_refused(maker, wrong, says):
    with pytest.raises(BadInput, match=says):
        give_up(maker.folder, "P-104", **wrong)


def test_a_renamed_plate_keeps_its_old_name_in_its_history(remade):
    assert rename_plate(remade.folder, "P-104", "Q-1", by="Ana").label == "Q-1"
    shown = show_record(remade.folder, "Q-1")
    *_, last = shown.work
    assert (last.kind, last.remark, last.who) == ("renamed", "P-104 → Q-1", "Ana")
    assert len(shown.outcomes) == 2
    remade.run("r", START, "P-105")
    for taken in ("P-105", "  "):
        with pytest.raises(BadInput):
            rename_plate(remade.folder, "Q-1", taken)
    assert [row.label for row in list_plates(remade.folder).plates] == ["P-105", "Q-1"]


def test_a_plate_withdrawn_from_its_run_is_no_making_there(remade):
    told = withdraw_plate(remade.folder, "P-104", why="wrong plate")
    assert told == "Plate P-104 is withdrawn from the run 14 May."
    assert grades(remade) == ["lost"]
    withdraw_plate(remade.folder, "P-104", number=1)
    assert grades(remade) == []
    with pytest.raises(BadInput, match="in no run"):
        withdraw_plate(remade.folder, "P-104")


def test_a_withdrawn_run_counts_for_nothing_and_stays_in_the_log(remade):
    done = withdraw_run(remade.folder, "14 May", why="opened twice")
    assert done.plates == ("P-104",)
    assert grades(remade) == ["lost"]
    remade.run("15 May", START + timedelta(days=3), "P-105")
    withdraw_run(remade.folder, "15 May")
    book = open_book(remade.folder)
    assert all(head.closed is not None for head in runs(book)), "nobody sits down at it again"
    assert events(book, "14 May")[-1].body == {"why": "opened twice"}
    close_book(book)
    with pytest.raises(BadInput, match="no run is called"):
        withdraw_run(remade.folder, "moon")


def test_a_list_tells_how_often_a_plate_was_made(remade):
    (row,) = list_plates(remade.folder).plates
    assert (row.makings, row.grade, row.day) == (2, None, date(2026, 5, 14))


def test_conditions_are_told_in_words_with_their_units_in_the_order_of_the_work():
    said = {
        "stove_c": 40.0,
        "development_minutes": 130.0,
        "room_rh_pct": 45.0,
        "buff_minutes": 12.0,
        "f_number": 4.0,
    }
    assert [(one.words, one.value, one.unit) for one in known_conditions(said)] == [
        ("buff", 12.0, "min"), ("room humidity", 45.0, "%"),
        ("f-number", 4.0, ""), ("development", 130.0, "min"),
        ("stove_c", 40.0, ""),
    ]  # fmt: skip


def test_a_making_is_counted_as_people_write_it():
    """First to tenth in words, then figures with the ending that English gives them."""
    assert [ordinal(n) for n in (1, 2, 3, 10)] == ["first", "second", "third", "tenth"]
    figures = ["11th", "12th", "13th", "14th", "20th", "21st", "22nd", "23rd", "101st", "112th"]
    assert [ordinal(int(told[:-2])) for told in figures] == figures


def polished_back(maker, label="P-104"):
    return [(one.at, one.who) for one in show_record(maker.folder, label).work]


def test_a_plate_begun_again_with_a_picture_on_it_is_polished_back_once(remade):
    begun = START + timedelta(days=2, minutes=1)
    assert polished_back(remade) == [(begun, "bench")]
    first, second = remade.taught()
    # what was polished back later does not count for the picture before it
    assert "times_repolished" not in first.conditions
    assert second.conditions["times_repolished"] == 1.0
    (plate,) = remade.run("16 May", START + timedelta(days=4), "P-104")
    remade.work("16 May", START + timedelta(days=4, minutes=1), plate)
    assert len(polished_back(remade)) == 2


def test_what_was_noted_as_polished_back_is_not_counted_again(maker):
    (plate,) = maker.run("12 May", START, "P-104")
    maker.work("12 May", START + timedelta(minutes=1), plate)
    maker.say("12 May", "run_closed", START + timedelta(hours=1))
    note_work(maker.folder, "P-104", "polished_back", at=START + timedelta(hours=5), by="Ana")
    later = START + timedelta(days=2)
    maker.run("14 May", later, "P-104")
    maker.work("14 May", later + timedelta(minutes=1), plate)
    assert [who for _, who in polished_back(maker)] == ["Ana"]


def test_a_plate_that_was_given_up_holds_no_picture_to_polish_back(maker):
    (plate,) = maker.run("12 May", START, "P-104")
    maker.work("12 May", START + timedelta(minutes=1), plate, steps=1)
    maker.say("12 May", "plate_abandoned", START + timedelta(hours=1), plate, reason="outward")
    later = START + timedelta(days=2)
    maker.run("14 May", later, "P-104")
    maker.work("14 May", later + timedelta(minutes=1), plate)
    assert polished_back(maker) == []
