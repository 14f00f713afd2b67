"""The questions of a grading and of a giving up, key by key, and what they come to."""

from types import SimpleNamespace

import pytest

from argentry.bench.questions import (
    Form,
    answered,
    body,
    catalogue,
    choices,
    new_form,
    question,
    remarked,
)
from argentry.records.plate import GRADES, STAGES, VERDICTS
from argentry.records.units import Units
from argentry.trade.defects import defects

POLISH = [key for key, one in defects().items() if "polish" in one.stages]


def asked(*keys, **given):
    form = Form("p", "A1", **given)
    for key in keys:
        form = answered(form, key)
    return form


def given_up(*keys, **given):
    return asked(*keys, **{"asking": "reason", "gives_up": True, "stage": "coat"} | given)


def keys(form):
    return [key for key, _ in choices(form)]


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        (asked(), [*GRADES, "later"]),
        (asked("lost"), [*STAGES, "unsaid", "later"]),
        (asked("lost", "polish"), [*POLISH, "unsaid", "later"]),
        (asked("lost", "unsaid"), [*VERDICTS, "unsaid", "another", "remark", "later"]),
        (asked("fine"), [*VERDICTS, "unsaid", "remark", "later"]),
        (asked(asking="named", noted=(("fog", "coat"),)), ["yes", "no", "later"]),
        (given_up(), ["fault", "no_time", "light_gone", "sitter_left", "other"]),
        (given_up("fault", stage=""), [*STAGES]),
        (given_up("fault", stage="polish"), [*POLISH, "another", "unsaid"]),
    ],
)
def test_each_question_has_its_answers(form, expected):
    assert keys(form) == expected
    assert question(form).startswith(("How", "A1", "Give A1"))


def test_a_noted_defect_is_offered_first_until_it_is_taken():
    form = asked("lost", noted=(("fog", "coat"), ("blues", "coat")))
    assert keys(form)[:3] == ["fog coat", "blues coat", "polish"]
    assert dict(choices(form))["fog coat"] == "Noted: grey veil overall"
    again = answered(answered(form, "fog coat"), "another")
    assert again.defects == (("fog", "coat"),)
    assert keys(again)[:2] == ["blues coat", "polish"]
    assert keys(given_up("fault", noted=(("fog", "coat"),)))[0] == "fog coat"


@pytest.mark.parametrize(
    ("form", "asking", "faults", "found"),
    [
        (asked("good"), "stage", (), ()),
        (asked("fine"), "exposure", (), ()),
        (asked("lost", "coat"), "defect", ("coat",), ()),
        (asked("lost", "coat", "fog"), "exposure", ("coat",), (("fog", "coat"),)),
        (asked("lost", "coat", "unsaid"), "exposure", ("coat",), ()),
        (asked("lost", "coat", "another"), "stage", ("coat",), ()),
        (
            asked("lost", "coat", "fog", "another", "coat", "fog", "another", "polish", "unsaid"),
            "exposure", ("coat", "polish"), (("fog", "coat"),),
        ),
        (asked("lost", "unsaid", "remark"), "exposure", (), ()),
        (asked("lost", "unsaid", "unsaid"), "done", (), ()),
        (asked("lost", "unsaid", "over"), "done", (), ()),
        (asked("later"), "later", (), ()),
        (given_up("no_time"), "done", (), ()),
        (given_up("fault"), "defect", (), ()),
        (given_up("fault", stage=""), "stage", (), ()),
        (given_up("fault", "another", "polish"), "defect", (), ()),
        (given_up("fault", "fog"), "done", ("coat",), (("fog", "coat"),)),
    ],
)  # fmt: skip
def test_an_answer_leads_to_the_next_question(form, asking, faults, found):
    assert (form.asking, form.faults, form.defects) == (asking, faults, found)


def test_the_verdict_is_the_last_word_and_nobody_need_say_one():
    assert asked("fine", "over").verdict == "over"
    assert asked("fine", "unsaid", verdict="over").verdict is None
    assert given_up("light_gone").outward == "light_gone"


def test_a_remark_that_names_a_defect_asks_whether_it_is_that():
    plain = remarked(asked("lost", "unsaid"), "the sitter smiled")
    assert (plain.asking, plain.words, plain.noted) == ("exposure", "the sitter smiled", ())
    form = remarked(asked("lost", "unsaid", stage="polish"), "some fog")
    assert (form.asking, form.noted) == ("named", (("fog", "coat"),))
    assert question(form) == "A1: is that the defect “grey veil overall”?"
    yes, no = answered(form, "yes"), answered(form, "no")
    assert (yes.asking, yes.defects, yes.faults, yes.noted) == (
        "exposure", (("fog", "coat"),), ("coat",), ()
    )  # fmt: skip
    assert (no.asking, no.defects, no.faults, no.noted) == ("exposure", (), (), ())
    two = asked("yes", asking="named", noted=(("fog", "coat"), ("haze", "finish")))
    assert (two.asking, two.noted) == ("named", (("haze", "finish"),))
    assert remarked(yes, "the fog again").asking == "exposure", "it is noted already"


def step(key, *, short=False, answers=()):
    given = [SimpleNamespace(answer=one) for one in answers]
    return SimpleNamespace(key=key, short=short, answers=given)


def stood(key, state, answer=None):
    return SimpleNamespace(key=key, state=state, answer=answer)


STEPS = {
    "wrong": [stood("do_coat", "done", "wrong"), stood("do_exposure", "ready")],
    "right": [stood("do_coat", "done", "right"), stood("do_exposure", "ready")],
    "gone on": [stood("do_coat", "done", "wrong"), stood("do_exposure", "running")],
}
STATE = SimpleNamespace(
    steps=[SimpleNamespace(key=f"do_{stage}", stage=stage) for stage in STAGES],
    remarks=[
        SimpleNamespace(plate="p", step="do_development", words="fog all over"),
        SimpleNamespace(plate="q", step=None, words="scratches"),
        SimpleNamespace(plate="p", step=None, words="haze"),
    ],
    plate=lambda plate: SimpleNamespace(
        label="A1", current="do_exposure", steps=STEPS.get(plate, [])
    ),
)


def test_a_first_question_knows_where_the_plate_stands_and_what_was_remarked_of_it():
    form = new_form(STATE, "p")
    assert (form.label, form.asking, form.gives_up, form.stage) == (
        "A1",
        "grade",
        False,
        "exposure",
    )
    assert form.noted == (("fog", "development"), ("haze", "finish"))
    up = new_form(STATE, "q", gives_up=True)
    assert (up.asking, up.gives_up, up.noted) == ("reason", True, (("scratches", "polish"),))


def test_a_plate_given_up_after_a_wrong_check_stands_where_that_was_asked():
    """A coat that was wrong was asked about as an exposure, and counted as one."""
    stages = {plate: new_form(STATE, plate, gives_up=True).stage for plate in STEPS}
    assert stages == {"wrong": "coat", "right": "exposure", "gone on": "exposure"}


@pytest.mark.parametrize(
    ("form", "stages"),
    [
        (asked("fine", "right"), dict.fromkeys(STAGES, "ok")),
        (asked("good", "unsaid", "right"), dict.fromkeys(STAGES, "ok")),
        (asked("study", "unsaid", "right"), {}),
        (
            asked("lost", "exposure", "unsaid", "over"),
            {"polish": "ok", "coat": "ok", "exposure": "fault"},
        ),
        (
            asked("good", "finish", "haze", "another", "coat", "fog", "right"),
            {"polish": "ok", "coat": "fault", "finish": "fault"},
        ),
        (asked("lost", "polish", "unsaid", "right"), {"polish": "fault"}),
        (
            asked("lost", "development", "fog", "right"),
            {"polish": "ok", "coat": "ok", "exposure": "ok", "development": "fault"},
        ),
        (
            asked("lost", "development", "fog", "over"),  # over: not sound either
            {"polish": "ok", "coat": "ok", "development": "fault"},
        ),
        (asked("good", "unsaid", "over"), dict.fromkeys(STAGES, "ok")),
    ],
)
def test_stages_before_the_first_that_failed_went_well(form, stages):
    plate = SimpleNamespace(steps=[step(f"do_{stage}") for stage in STAGES])
    told = body(form, plate, STATE)
    assert told["stages"] == stages
    assert (told["grade"], told["verdict"], told["words"]) == (form.grade, form.verdict, "")
    assert told["defects"] == [list(pair) for pair in form.defects]


def test_a_stage_done_too_soon_or_whose_check_was_wrong_did_not_go_well_by_itself():
    steps = [step("do_coat", short=True), step("do_finish", answers=("right", "wrong")),
             step("do_polish", answers=("right",))]  # fmt: skip
    told = body(asked("fine", "right"), SimpleNamespace(steps=steps), STATE)
    assert told["stages"] == dict.fromkeys(("polish", "exposure", "development"), "ok")


def test_what_a_giving_up_comes_to():
    def told(form):
        return {key: one for key, one in body(form, None, STATE).items() if one is not None}

    assert told(given_up("no_time")) == {
        "stage": "coat", "reason": "outward", "outward": "no_time", "why": "No time left",
    }  # fmt: skip
    assert told(given_up("fault", "fog")) == {
        "stage": "coat", "reason": "fault", "defect": "fog", "why": "grey veil overall",
    }  # fmt: skip
    assert told(given_up("fault", "unsaid")) == {
        "stage": "coat", "reason": "fault", "why": "Something was wrong",
    }  # fmt: skip


def test_the_page_asks_with_the_same_lists():
    told = catalogue(Units())
    assert (told.grades, told.verdicts, told.stages) == (GRADES, VERDICTS, STAGES)
    assert ("fog", "grey veil overall", ("coat", "development")) in told.defects
    ranges = {key: ends for key, _, _, *ends in told.quantities}
    assert ranges["room_c"] == [-10.0, 50.0]
    assert ranges["room_rh_pct"] == [1.0, 100.0]
    american = catalogue(Units(temperature="fahrenheit"))
    assert ("room_c", "Air at the bench", "°F", 14.0, 122.0) in american.quantities
    assert all(start != step for step, start in told.again_from.items())
