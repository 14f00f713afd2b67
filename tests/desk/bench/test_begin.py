"""Which plates a run may be opened with, and what they are called."""

from dataclasses import replace
from datetime import date
from itertools import islice
from types import SimpleNamespace

import pytest
from tests import bench_studio as made
from tests.out.day_fixture import make_plan

from argentry.bench.hands import kind_held
from argentry.bench.words import plan_words, sitter_of
from argentry.book.engine import close_book
from argentry.book.log import append, events
from argentry.book.open import open_book
from argentry.book.plates import add_plate, plate_by_label, plates
from argentry.book.runs.fold import fold
from argentry.desk.bench.begin import label_of, more_plate, new_labels, open_run
from argentry.desk.bench.run import refresh
from argentry.desk.bench.seat import take_seat
from argentry.errors import BadInput
from argentry.keeping.clock import steady_clock
from argentry.needs.light_lengths import light_length
from argentry.records.day import Appointment
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.instruments import LAMP_FRAME, Lamp
from argentry.records.plate import Plate
from argentry.records.wishes import Sitter, Wishes
from argentry.trade.steps import steps

DAY = date(2026, 6, 21)
TWO = SimpleNamespace(plates_placed=2, date=DAY, appointments=())  # of a plan only this is asked
TWELVE = [f"P{number}" for number in range(12)]


@pytest.fixture
def book(tmp_path):
    opened = open_book(tmp_path)
    yield opened
    close_book(opened)


@pytest.mark.parametrize(
    ("labels", "plan", "said"),
    [
        (None, None, "none are named; name one to twelve plates"),
        ([], None, "none are named; name one to 12 plates"),
        (None, SimpleNamespace(plates_placed=0, date=DAY), "none are named"),
        ([*TWELVE, "P12"], None, "13 plates are too many; name one to 12"),
        (["A1", "B2", " B2 "], None, "'B2' is named twice"),
        (["A1", "B2", "C3"], TWO, "3 are named but the plan holds 2"),
    ],
)
def test_plates_that_no_run_can_be_opened_with(book, labels, plan, said):
    with pytest.raises(BadInput, match=said):
        open_run(book, made.studio(), labels, clock=steady_clock(), plan=plan)
    assert plates(book) == []


def test_the_terminal_drops_no_label_that_the_day_has_no_place_for(book, monkeypatch):
    monkeypatch.setattr("argentry.desk.wishes.plan_day", lambda *_args, **_given: TWO)
    with pytest.raises(BadInput, match="3 are named but the plan holds 2"):
        take_seat(book, made.studio(), labels=["A1", "B2", "C3"], day=DAY)
    assert plates(book) == []


def test_a_run_may_have_twelve_plates(book):
    open_run(book, made.studio(), TWELVE, clock=steady_clock())
    assert [one.label for one in plates(book)] == TWELVE


def test_new_plates_take_the_lowest_numbers_that_are_free(book):
    for number in (1, 3):
        add_plate(book, Plate(new_id(), f"2026-06-21/{number}", size="half"))
    free = ["2026-06-21/2", "2026-06-21/4", "2026-06-21/5"]
    assert list(islice(new_labels(book, DAY), 3)) == free
    more = more_plate(book, DAY)
    assert more.label == free[0]
    assert set(more.once) == {rule.key for rule in steps() if rule.scope == "day"} != set()


def test_a_plate_taken_into_a_run_keeps_its_label_or_gets_a_number_behind_it(book):
    studio = made.studio()
    for label in ("A1", "A1 (2)"):
        add_plate(book, Plate(new_id(), label, size="half"))
    added = SimpleNamespace(plate=new_id(), body={"label": "A1"})
    assert label_of(book, studio, added) == "A1 (3)"
    assert label_of(book, studio, added) == "A1 (3)", "taken back and taken again"
    assert plate_by_label(book, "A1 (3)").size == studio.habits.plate_size
    own = SimpleNamespace(plate=new_id(), body={"label": "B1"})
    assert label_of(book, studio, own) == "B1"


def test_a_sitters_plate_has_the_size_asked_for_known_or_new(book):
    """Named in the order of another plan, a quarter would have gone to the sitter of a half."""
    for label, size in (("W1", "half"), ("L1", "quarter")):
        add_plate(book, Plate(new_id(), label, size=size))
    plan = make_plan(2, date=(2026, 6, 21))
    noon = plan.begin
    wants = [Appointment(noon, "Hine", 2, noon, noon, "half")]
    plan = replace(
        plan, appointments=tuple(wants), wishes=Wishes(sitters=(Sitter("07:30", "Hine"),))
    )
    run = open_run(book, made.studio(), ["W1", "L1"], clock=steady_clock(), plan=plan)
    [opened] = [one for one in events(book, run) if one.kind == "run_opened"]
    assert [one["label"] for one in opened.body["plates"]] == ["L1", "W1"]
    state = fold(events(book, run))
    told = [sitter_of(state, one.id) for one in state.plates]
    assert told == ["", "Hine at 07:30"]
    assert "; for Hine at 07:30; then " in plan_words(state, state.plates[1])
    run = open_run(book, made.studio(), ["L1", "New"], clock=steady_clock(), plan=plan)
    assert plate_by_label(book, "New").size == "half"


def test_a_plate_at_work_in_an_open_run_is_in_no_other(book):
    studio, clock = made.studio(), steady_clock()
    first = open_run(book, studio, ["V-1", "V-2"], clock=clock, title="morning")
    open_run(book, studio, ["V-1"], clock=clock)  # nothing of it is begun yet
    one = plate_by_label(book, "V-1")
    append(book, [Event(new_id(), first, "step_begun", clock.now(), one.id, steps()[0].key)])
    with pytest.raises(BadInput) as refused:
        open_run(book, studio, ["V-2", "V-1"], clock=clock)
    assert str(refused.value) == (
        "plate V-1: it is begun and not finished in the open run “morning”; "
        "go on with it there, or give it up there or close that run first."
    )


def in_frames(plan, *names):
    """Return a plan whose plates lie in these frames, in order."""
    steps = [
        replace(step, resource=names[step.plate - 1]) if step.resource == "frame" else step
        for step in plan.steps
    ]
    return replace(plan, steps=tuple(steps))


def test_a_plate_planned_under_a_lamp_of_that_day_is_timed_and_warned_of_by_it(book):
    """It went by the sun through the first frame, and no caution of a lamp was shown."""
    plan = in_frames(make_plan(2, date=(2026, 6, 21)), made.RED.name, LAMP_FRAME)
    plan = replace(plan, wishes=Wishes(lamp=Lamp(150.0, 0.3)))
    clock = steady_clock(wall=lambda: plan.begin)
    run = open_run(book, made.studio(), None, clock=clock, plan=plan)
    state = fold(events(book, run), now=plan.begin)
    shown = {one.key for one in state.step("develop").cautions}
    assert {"sun", "lamp"} <= shown
    refresh(book, made.studio(), run, clock)
    one, two = fold(events(book, run), now=plan.begin).plates
    lamp_s = light_length(
        made.lamp_studio(), "development", plan.begin, plan.begin, constants={}
    ).length.seconds
    assert two.step("develop").planned_s == pytest.approx(lamp_s, abs=1.0)
    assert two.step("develop").planned_s != pytest.approx(one.step("develop").planned_s, rel=0.1)
    told = [kind_held(state, one, "frame") for one in state.plates]
    assert told == [made.RED.name, LAMP_FRAME]


def test_the_frame_of_a_plate_is_as_planned_or_the_only_kind_there_is(book):
    def told(studio, **given):
        state = fold(events(book, open_run(book, studio, clock=steady_clock(), **given)))
        return [kind_held(state, one, "frame") for one in state.plates]

    two = made.studio(frames=(made.RED, replace(made.RED, name="Half", cut_on_nm=640.0)))
    plan = in_frames(make_plan(2, date=(2026, 6, 21)), "Half", made.RED.name)
    assert told(two, plan=plan) == ["Half", made.RED.name]
    assert told(two, labels=["N-1"]) == [""], "of two kinds nobody knows which"
    assert told(made.studio(), labels=["N-2"]) == [made.RED.name]
