"""What an event of a device may hold, to the edges that its refusals name."""

from datetime import UTC, datetime, timedelta, timezone
from types import SimpleNamespace

import pytest

from argentry.bench import event_check
from argentry.bench.event_check import check_body, read_incoming
from argentry.errors import BadInput
from argentry.records.event import KINDS, Event
from argentry.records.ids import new_id

NOW = datetime(2026, 6, 21, 12, 0, tzinfo=UTC)
LAST = "2592000"  # seconds in thirty days, as the refusal says


def body_of(kind, /, **body):
    return check_body(kind, body, None, {}, NOW)


def incoming(**given):
    return read_incoming({"id": new_id(), "kind": "paused"} | given)


def test_an_age_may_have_thirty_days_and_none_is_now():
    assert incoming(age_s=float(LAST)).age_s == 30 * 24 * 3600
    assert incoming(age_s=0).age_s == incoming().age_s == 0.0
    for wrong in (float(LAST) + 1, -1e-3, True, "1"):
        with pytest.raises(BadInput, match=LAST):
            incoming(age_s=wrong)


def test_a_plate_and_a_step_are_named_where_the_kind_needs_them():
    both = {"plate": "p", "step": "s"}
    told = incoming(kind="step_begun", **both)
    assert (told.plate, told.step, told.body) == ("p", "s", {})
    for name in both:
        with pytest.raises(BadInput, match=f"{name}: step_begun needs one"):
            incoming(kind="step_begun", **both | {name: ""})
        with pytest.raises(BadInput, match="must be text"):
            incoming(**{name: 3})
    with pytest.raises(BadInput, match="must be an object"):
        incoming(body="none")


def test_words_have_up_to_4000_letters_and_their_lines_may_break():
    assert body_of("remark_made", words="dry\n" * 1000)["words"] == "dry\n" * 1000
    with pytest.raises(BadInput, match="up to 4000 letters"):
        body_of("remark_made", words="x" * 4001)
    with pytest.raises(BadInput, match="it must be text"):
        body_of("step_skipped", why=None)
    with pytest.raises(BadInput):  # a sign that turns the line round
        body_of("remark_made", words="dry\u202e")


def test_values_that_a_kind_does_not_have_are_named_with_those_it_has():
    with pytest.raises(BadInput, match="it has no values"):
        body_of("paused", x=1)
    with pytest.raises(BadInput, match="it has words"):
        body_of("remark_made", words="dry", x=1)


NEEDED = {
    "check_answered": {"answer": "right"},
    "ripe_seen": {"picture": "a" * 64, "state": "ripe", "dose_kj_m2": 700.0, "log_sd": 0.2},
    "reading_taken": {"what": "room_c", "value": 20.0},
    "remark_made": {"words": "dry"},
    "plate_added": {"label": "A1"},
    "cautions_read": {"cautions": []},
    "plan_taken": {"offer": "o"},
    "plan_declined": {"offer": "o"},
}
NOTHING_NEEDED = ("step_skipped", "step_redone", "plate_abandoned", "run_withdrawn",
                  "plate_withdrawn", "step_begun", "paused")  # fmt: skip


@pytest.mark.parametrize("kind", [*NEEDED, *NOTHING_NEEDED])
def test_what_a_kind_needs_is_missed_and_nothing_else(kind):
    whole = NEEDED.get(kind, {})
    state = SimpleNamespace(steps=())
    assert whole.items() <= check_body(kind, whole, state, {}, NOW).items()
    for key in whole:
        with pytest.raises(BadInput, match=f"{kind} {key}: it is missing"):
            body_of(kind, **{k: v for k, v in whole.items() if k != key})


@pytest.mark.parametrize("kind", ["caution_shown", "cautions_read"])
def test_a_caution_is_named_and_is_one_of_the_run(kind):
    key = "caution" if kind == "caution_shown" else "cautions"
    state = SimpleNamespace(steps=[SimpleNamespace(cautions=[SimpleNamespace(key="lamp")])])

    def of(word):
        body = {key: word if kind == "caution_shown" else [word]}
        return check_body(kind, body, state, {}, NOW)[key]

    assert "lamp" in of("lamp")
    with pytest.raises(BadInput, match="no step of this run has it"):
        of("noise")
    with pytest.raises(BadInput, match=f"{kind} {key}: it is missing"):
        check_body(kind, {}, state, {}, NOW)


def test_a_reading_is_kept_in_its_own_unit():
    told = body_of("reading_taken", what="room_c", value=68.0, unit="°F")
    assert (told["value"], told["unit"]) == (pytest.approx(20.0), "°C")
    assert body_of("reading_taken", what="room_c", value=20.0)["unit"] == "°C"


def event(kind="remark_made", **body):
    plate = "p" if kind in ("plate_added", "step_begun") else None
    return Event(new_id(), "r", kind, NOW, plate, body=body)


def correct(target, *others, **body):
    known = {one.id: one for one in (target, *others)}
    return check_body("corrected", {"event": target.id, **body}, None, known, NOW)


def test_a_moment_is_put_right_within_thirty_days():
    for back in (timedelta(), timedelta(days=30)):
        at = (NOW - back).astimezone(timezone(timedelta(hours=2)))
        assert correct(event(), at=at.isoformat())["at"] == f"{NOW - back:%Y-%m-%dT%H:%M:%S.%f}Z"
    for back in (timedelta(days=30, seconds=1), timedelta(seconds=-1)):
        with pytest.raises(BadInput, match="ahead or long past"):
            correct(event(), at=(NOW - back).isoformat())


def test_of_a_body_put_right_only_what_changes_is_kept():
    read = event("reading_taken", what="room_c", value=20.0, unit="°C", source="hand")
    told = correct(read, body={"value": 21.0, "source": "hand"})
    assert told["body"] == {"value": 21.0}
    for kind in ("advice_given", "corrected"):
        with pytest.raises(BadInput, match="this event's body stays"):
            correct(event(kind), body={"words": "dry"})
    with pytest.raises(BadInput, match="neither true nor false"):
        correct(read, withdrawn="yes")
    with pytest.raises(BadInput, match="the opening of a run stays"):
        correct(event("run_opened"), withdrawn=True)


def test_a_plate_put_in_by_mistake_is_taken_back_until_work_on_it_began():
    added, begun = event("plate_added", label="A1"), event("step_begun")
    assert correct(added, withdrawn=True)["withdrawn"]
    with pytest.raises(BadInput, match="work on that plate was begun"):
        correct(added, begun, withdrawn=True)
    assert correct(added, begun, at=NOW.isoformat())["at"]


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"reason": "fault", "outward": "no_time"}, "does not go with the rest"),
        ({"reason": "outward", "defect": "fog"}, "does not go with the rest"),
        ({"outward": "no_time"}, "does not go with the rest"),
        ({"reason": "fault", "defect": "fog", "stage": "polish"}, "fog"),
        ({"reason": "mood"}, "not known"),
        ({"stage": "lunch"}, "not known"),
    ],
)
def test_a_reason_for_giving_up_that_contradicts_itself_is_refused(body, said):
    with pytest.raises(BadInput, match=said):
        body_of("plate_abandoned", **body)


def test_reasons_for_giving_up():
    for right in (
        {}, {"reason": "outward", "outward": "no_time"}, {"reason": "fault", "defect": "fog"},
        {"reason": "fault", "defect": "fog", "stage": "coat"}, {"stage": None}, {"stage": ""},
    ):  # fmt: skip
        assert body_of("plate_abandoned", **right) == right


def test_a_grade_says_something_and_its_defects_are_pairs():
    told = body_of("making_graded", grade="good", defects=[["fog", "coat"]],
                   stages={"coat": "fault", "polish": "ok"})  # fmt: skip
    assert told["defects"] == [["fog", "coat"]]
    for wrong, said in [
        ({}, "it is empty"), ({"grade": None, "defects": []}, "it is empty"),
        ({"defects": [["fog"]]}, "pairs"), ({"defects": ["ab"]}, "pairs"),
        ({"defects": {}}, "pairs"),
        ({"stages": {"coat": "fine", "polish": "ok"}}, "its word is not known"),
        ({"stages": {"lunch": "ok"}}, "its word is not known"),
    ]:  # fmt: skip
        with pytest.raises(BadInput, match=said):
            body_of("making_graded", **wrong)


LAB = {"picture": "a" * 64, "coat_l": 80.0, "coat_a": 1.0, "coat_b": 30.0}
RANGE = {"coat_low_nm": 20.0, "coat_high_nm": 27.0}


@pytest.mark.parametrize(
    ("seen", "said"),
    [
        ({"picture": "a" * 64, "coat_l": 80.0, "coat_a": 1.0}, "missing or not known"),
        ({"picture": "a", "coat_l": 1.0, "coat_a": 1.0, "coat_b": 1.0, "x": 1}, "not known"),
        (LAB | {"coat_low_nm": 20.0}, "missing or not known"),
        (LAB | {"coat_low_nm": 20.0, "coat_high_nm": "x"}, "finite number"),
        ({"picture": "a", "coat_l": "1", "coat_a": 1.0, "coat_b": 1.0}, "finite number"),
        ({"picture": 7, "coat_l": 1.0, "coat_a": 1.0, "coat_b": 1.0}, "must be text"),
        ([1], "must be an object"),
    ],
)
def test_what_a_picture_showed_has_all_its_values_and_no_other(seen, said):
    with pytest.raises(BadInput, match=said):
        body_of("check_answered", answer="right", value=24.0, seen=seen)
    for right in (None, LAB, LAB | RANGE):
        told = body_of("check_answered", answer="right", seen=right)
        assert told["seen"] == right


RIPE = {"picture": "a" * 64, "state": "not yet", "dose_kj_m2": 700.0, "log_sd": 0.2}


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"state": "done"}, "not known"),
        ({"dose_kj_m2": 0.0}, "above 0"),
        ({"log_sd": True}, "finite number"),
        ({"alone_kj_m2": 100_001.0}, "above 0"),
        ({"more": 1}, "no such value"),
    ],
)
def test_a_ripening_that_cannot_be_is_refused(wrong, said):
    with pytest.raises(BadInput, match=said):
        body_of("ripe_seen", **RIPE | wrong)
    assert body_of("ripe_seen", **RIPE | {"alone_kj_m2": None})["alone_kj_m2"] is None
    assert body_of("ripe_seen", **RIPE | {"dose_kj_m2": 1e5})["dose_kj_m2"] == 1e5


def test_every_value_a_device_may_send_has_its_check():
    sent = {kind: set(one.body) for kind, one in KINDS.items() if one.body and not one.house_only}
    assert {kind: set(checks) for kind, checks in event_check._CHECKS.items()} == sent
