"""What a run was opened with: whatever is missing or of the wrong kind is taken as nothing."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from argentry.book.runs.corrections import _rank, read_moment, timed_by_settings
from argentry.book.runs.opening import opened_plates, opened_steps, opened_table
from argentry.book.runs.plans import opened_plan
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.run_plan import PlannedTime
from argentry.records.run_step import RunStep, StepCaution, StepCheck

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


@pytest.mark.parametrize("body", [{}, {"plates": None}, {"plates": {"id": "p"}}, {"plates": ["p"]}])
def test_what_is_no_list_of_plates_holds_none(body):
    assert opened_plates(body) == ()


def test_each_plate_stands_once_and_without_a_label_by_its_id():
    given = [{"id": "p", "label": "A1"}, {"id": "q"}, {"id": "p", "label": "B2"}, {"id": ""},
             {"id": 7}, {"label": "C3"}, {"id": "r", "label": ""}]  # fmt: skip
    assert opened_plates({"plates": given}) == (("p", "A1"), ("q", "q"), ("r", "r"))


def step_of(**entry):
    (step,) = opened_steps({"steps": [{"key": "coat"} | entry]})
    return step


def test_a_step_that_says_no_more_than_its_key():
    assert step_of() == RunStep(
        key="coat", title="coat", law="fixed", planned_s=0.0, low_s=0.0, high_s=0.0, attended=True,
        resource="", within_s=None, look_for="", check="", cautions=(), speak="", stage="",
        checks=(), made_of="",
    )  # fmt: skip
    steps = opened_steps({"steps": [{"key": "a"}, {"key": "a", "title": "x"}, {"key": ""}, 1, {}]})
    assert [(one.key, one.title) for one in steps] == [("a", "a")]


@pytest.mark.parametrize(
    ("given", "seconds"),
    [(60, 60.0), (0, 0.0), (0.5, 0.5), (999_999_999, 999_999_999.0), (1e9, None), (-1, None),
     (True, None), ("60", None), (float("nan"), None), (None, None)],
)  # fmt: skip
def test_a_length_is_a_number_of_seconds_up_to_thirty_years(given, seconds):
    assert step_of(within_s=given).within_s == seconds
    told = step_of(planned_s=given, low_s=given)
    usual = seconds or 0.0
    assert (told.planned_s, told.low_s, told.high_s) == (usual, usual, usual)
    assert step_of(planned_s=30, low_s=20, high_s=50).high_s == 50.0
    assert step_of(planned_s=30, low_s=0).low_s == 0.0


def test_hands_and_cautions_are_there_unless_it_is_said_otherwise():
    assert [step_of(attended=one).attended for one in (None, 0, True, False)] == [True] * 3 + [
        False
    ]
    given = [
        {"key": "lamp"},
        {"key": "acid", "text": "Gloves.", "asks_again": False},
        {"text": "x"},
    ]
    assert step_of(cautions=given).cautions == (
        StepCaution("lamp", "", True), StepCaution("acid", "Gloves.", False),
    )  # fmt: skip


def test_checks_are_one_for_each_moment_and_of_an_older_run_the_one_at_its_end():
    old = step_of(check="Is it dry?")
    assert (old.check, old.checks) == ("Is it dry?", (StepCheck("after", "Is it dry?"),))
    given = [
        {"when": "before", "text": "Level?"}, {"when": "before", "text": "Twice?"},
        {"when": "during", "text": "Warm?", "at_minutes": 30}, {"when": "during", "text": "When?"},
        {"when": "during", "text": "Warm?", "at_minutes": 60}, {"when": "after", "text": ""},
        {"when": "after", "text": "Late?", "at_minutes": 5}, {"when": "never", "text": "No?"},
        {"when": "after", "text": "Dry?"},
    ]  # fmt: skip
    new = step_of(check="Old?", checks=given)
    assert new.checks == (
        StepCheck("before", "Level?"), StepCheck("during", "Warm?", 30.0),
        StepCheck("during", "Warm?", 60.0), StepCheck("after", "Dry?"),
    )  # fmt: skip
    assert new.check == "Dry?"


def test_a_table_of_the_body_is_empty_where_it_is_none():
    assert opened_table({"constants": {"frame": "sun"}}, "constants") == {"frame": "sun"}
    assert opened_table({"constants": [1]}, "constants") == opened_table({}, "constants") == {}


def test_a_plan_has_its_times_and_an_older_one_its_beginnings():
    at = NOON.isoformat()
    row = {"start": at, "end": at, "latest": None, "limit": "within 5 min", "held": "box"}
    plan = {"p": {"coat": row, "pose": {"end": at}, "fix": 3}, "q": None}
    told = PlannedTime(NOON, NOON, None, "within 5 min", "box")
    assert opened_plan({"plan": plan}) == {"p": {"coat": told}, "q": {}}
    old = {"constants": {"starts": {"p": {"coat": at}, "q": "x"}}}
    assert opened_plan(old) == {"p": {"coat": PlannedTime(NOON, None, None, "", "")}}
    for none in ({}, {"constants": 3}, {"plan": 7}, {"constants": {"starts": [at]}}):
        assert opened_plan(none) == {}


def test_a_moment_has_an_offset():
    assert read_moment("2026-06-21T14:00:00+02:00") == NOON
    for none in ("2026-06-21T12:00:00", "noon", 1_782_043_200, None):
        assert read_moment(none) is None


def test_a_clock_set_moves_what_came_between_the_two_places_it_names():
    def event(seq, kind="remark_made", **body):
        return Event(new_id(), "r", kind, NOON, body=body, seq=seq)

    right = NOON.isoformat()
    events = [event(2), event(3), event(4, "corrected", at=right), event(5),
              event(6, "clock_set", after=2, by_us=90_000_000), event(7)]  # fmt: skip
    late = NOON + timedelta(seconds=90)
    told = timed_by_settings(events)
    assert [one.at for one in told] == [NOON, late, late, late, NOON, NOON]
    assert told[2].body["at"] == late.isoformat()
    plain = events[:4]
    assert timed_by_settings(plain) is plain
    odd = [event(3), event(4, "clock_set", after="2", by_us=1), event(5, "clock_set", after=2)]
    assert timed_by_settings(odd) is odd


def test_many_openings_one_after_the_other_each_have_their_own_steps():
    bodies = [{"steps": [{"key": "coat", "planned_s": seconds}]} for seconds in range(20)]
    for _ in range(2):
        told = [opened_steps(body)[0].planned_s for body in bodies]
        assert told == [float(seconds) for seconds in range(20)]
    assert opened_steps(bodies[-1]) is opened_steps(bodies[-1])  # a press asks several times


def test_in_which_order_a_body_names_its_values_does_not_matter_for_its_place():
    one = Event(new_id(), "r", "remark_made", NOON, body={"words": "dry", "more": 1})
    assert _rank(one) == _rank(replace(one, body={"more": 1, "words": "dry"}))
    assert _rank(one) < _rank(replace(one, body={"more": 2, "words": "dry"}))
    assert _rank(replace(one, seq=3)) < _rank(one), "those in the book go first"
