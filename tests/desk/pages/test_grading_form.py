"""The form by which a making is graded on its plate's page, and what it comes to in the book."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from tests import bench_studio as made

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.plates import makings, plate_by_label
from argentry.desk.pages.grading_form import grade_by_form, grading_form
from argentry.desk.pages.plate_record import plate_record
from argentry.errors import BadInput


@pytest.fixture
def table(tmp_path):
    """A run of two plates: the first done at a minute a step, the second scoured."""
    book = open_book(tmp_path)
    table = made.Table(book, made.studio())
    table.open("A1", "B2")
    table.cautions()
    table.up_to("")
    table.up_to("rouge_buff", 1)
    yield table
    close_book(book)


def making_of(table, label):
    return makings(table.book, plate_by_label(table.book, label).id)[-1]


def grade(table, label, **fields):
    key = making_of(table, label).id
    grade_by_form(table.book, key, fields, by="M", at=table.clock.now())
    return making_of(table, label)


def test_a_good_grade_does_not_outweigh_the_clock_of_the_plates_own_run(table):
    short = {step.key for step in table.plate().steps if step.short}
    assert "develop" in short, "a minute of an hour and a half"
    table.say("run_closed")
    told = grade(table, "A1", grade="good")
    assert told.grade == "good"
    assert told.stages["polish"] == "ok"
    assert "development" not in told.stages


def test_a_plate_still_on_the_bench_waits_for_its_grade(table):
    with pytest.raises(BadInput, match="still on the bench"):
        grade(table, "B2", grade="good")
    assert making_of(table, "B2").grade is None


def test_a_defect_in_the_form_is_a_fault_of_its_stage(table):
    table.say("run_closed")
    told = grade(table, "A1", grade="lost", **{"defect.fog.coat": "on", "failed.gilding": "on"})
    assert told.defects == (("fog", "coat"),)
    assert (told.stages["coat"], told.stages["polish"]) == ("fault", "ok")
    again = grading_form(plate_record(table.book, "A1", None, None, None).outcomes[-1])
    ticked = {one.name for stage in again.stages for one in stage.choices if one.chosen}
    assert ticked == {"defect.fog.coat"}, "the form shows what was said, at that stage alone"


@pytest.mark.parametrize(
    ("defect", "step", "stage"),
    [("fog", "develop", "development"), ("fog", "iodise", "coat"), ("fog", "expose", "coat"),
     ("chalky", "expose", "exposure"), ("finger_marks", "warm", "polish")],
)  # fmt: skip
def test_a_defect_noted_at_a_step_is_ticked_at_the_stage_of_that_step(table, defect, step, stage):
    """A stage that has not that defect is told by the first that has: warming is of the coat."""
    table.say("run_closed")
    record = plate_record(table.book, "A1", None, None, None).outcomes[-1]
    noted = SimpleNamespace(defect=defect, from_=step)
    form = grading_form(SimpleNamespace(**{**vars(record), "defects": [noted]}))
    ticked = {one.name for part in form.stages for one in part.choices if one.chosen}
    assert ticked == {f"defect.{defect}.{stage}"}


def test_of_very_many_words_the_first_2000_letters_are_kept(table):
    assert grade(table, "A1", grade="good", words="  x" + 2000 * "y").remark == "x" + 1999 * "y"


def shown(table):
    record = plate_record(table.book, "A1", None, None, None)
    return grading_form(record.outcomes[-1]).shown


def test_a_page_opened_before_another_graded_does_not_lay_its_answer_over_that(table):
    table.say("run_closed")
    before = shown(table)
    told = grade(table, "A1", grade="lost", shown=before, **{"defect.fog.coat": "on"})
    with pytest.raises(BadInput, match="graded lost after the page was opened; show the plate"):
        grade(table, "A1", grade="good", shown=before)
    assert making_of(table, "A1") == told
    assert grade(table, "A1", grade="good", shown=shown(table)).grade == "good"
