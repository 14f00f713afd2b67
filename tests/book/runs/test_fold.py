"""The fold against a model that knows nothing of it: one that counts second by second."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, precondition, rule

from argentry.bench.state_json import state_dict
from argentry.book.runs.corrections import effective
from argentry.book.runs.fold import fold
from argentry.records.event import Event

START = datetime(2026, 3, 29, 0, 30, tzinfo=UTC)  # half an hour before Europe's clocks go forward
RUN = "run"
PLATES = ("a", "b")
STEPS = ("buff", "iodise", "expose")
CAUTION = {"buff": ["dust"], "iodise": ["vapour", "dust"], "expose": []}
CHECKS_DURING = (("Hot?", 5), ("Warm?", 2))
WITHIN = {"buff": None, "iodise": 60.0, "expose": 600.0}


def body_of_opening():
    return {
        "title": "A run",
        "plates": [{"id": p, "label": p.upper()} for p in PLATES],
        "steps": [
            {
                "key": key,
                "title": key,
                "law": "exposure" if key == "expose" else "fixed",
                "planned_s": 100.0,
                "within_s": WITHIN[key],
                "check": "look",
                "cautions": [{"key": c, "text": c} for c in CAUTION[key]],
            }
            for key in STEPS
        ],
    }


class Made:
    """Events with ids in the order they were made."""

    def __init__(self):
        self.events = []
        self.add(0, "run_opened", body=body_of_opening())

    def add(self, at_s, kind, plate=None, step=None, body=None):
        number = len(self.events)
        event = Event(
            f"{number:08d}",
            RUN,
            kind,
            START + timedelta(seconds=at_s),
            plate,
            step,
            body or {},
            "me",
            seq=number + 1,
        )
        self.events.append(event)
        return event.id


def seconds(moment):
    return int((moment - START).total_seconds())


def model(events, now_s):
    """Play the events second by second and return what each plate and step came to."""
    live = {}

    def withdrawn(event):
        """Say whether the last correction of an event that itself stands withdrew it."""
        if event.id not in live:
            about = [
                e
                for e in events
                if e.kind == "corrected"
                and e.body["event"] == event.id
                and (event.kind != "corrected" or (e.at, e.id) > (event.at, event.id))
            ]
            standing = [e for e in about if not withdrawn(e)]
            last = max(standing, key=lambda e: (e.at, e.id), default=None)
            live[event.id] = (last is not None and last.body.get("withdrawn") is True, last)
        return live[event.id][0]

    told = []
    for event in events:
        if event.kind == "corrected" or withdrawn(event):
            continue
        last = live[event.id][1]
        at = event.at
        if last is not None and last.body.get("at"):
            at = datetime.fromisoformat(last.body["at"])
        told.append((seconds(at), event.id, event))
    told.sort(key=lambda t: t[:2])
    steps = {(p, s): {"state": "waiting", "elapsed": 0, "end": None} for p in PLATES for s in STEPS}
    flags = {"run": False, "a": False, "b": False, "closed": False}
    gone, shown, flagged, again = set(), set(), set(), []
    counted = 0
    for second in range(min([t[0] for t in told] + [0]), now_s + 1):
        while counted < len(told) and told[counted][0] <= second:
            event = told[counted][2]
            counted += 1
            play(event, second, steps, flags, gone, shown, flagged)
            again += back(event, second, steps, flags, gone)
        if second < now_s:
            for (plate, _), step in steps.items():
                if step["state"] == "running" and not flags["run"] and not flags[plate]:
                    step["elapsed"] += 1
    return steps, flags, gone, shown, flagged, again


def play(event, second, steps, flags, gone, shown, flagged):
    key = (event.plate, event.step)
    if event.kind == "caution_shown":
        shown.add(event.body["caution"])
    if flags["closed"] or event.plate in gone:
        return
    open_steps = [s for s in STEPS if (event.plate, s) in steps]
    first = next((s for s in open_steps if steps[event.plate, s]["state"] not in OVER), None)
    if event.kind == "step_begun" and steps[key]["state"] == "waiting" and event.step == first:
        steps[key]["state"] = "running"
        if not set(CAUTION[event.step]) <= shown:
            flagged.add(event.id)
    elif event.kind == "step_ended" and steps[key]["state"] == "running":
        steps[key] |= {"state": "done", "end": second}
    elif event.kind == "step_skipped" and steps[key]["state"] == "waiting":
        steps[key]["state"] = "skipped"
    elif event.kind in ("paused", "resumed"):
        flags[event.plate or "run"] = event.kind == "paused"
    elif event.kind == "plate_abandoned":
        gone.add(event.plate)
        cut(steps, [event.plate])
    elif event.kind == "run_closed":
        flags["closed"] = True
        cut(steps, [p for p in PLATES if p not in gone])


def back(event, second, steps, flags, gone):
    """Go back to a step where hands may, and return what was done once more."""
    if event.kind != "step_redone" or flags["closed"] or event.plate in gone:
        return []
    states = [steps[event.plate, key]["state"] for key in STEPS]
    here = STEPS.index(event.step)
    if "running" in states or states[here] not in OVER or states[-1] == "done":
        return []  # the last one is the exposure
    for key in STEPS[here:]:
        steps[event.plate, key] = {"state": "waiting", "elapsed": 0, "end": None}
    return [(event.plate, event.step, second)]


OVER = ("done", "skipped")


def cut(steps, plates):
    for (plate, _), step in steps.items():
        if plate in plates and step["state"] == "running":
            step["state"] = "stopped"


class AnyRun(RuleBasedStateMachine):
    """Any events in any order, late ones, twice, corrected, the corrections corrected."""

    def __init__(self):
        super().__init__()
        self.made = Made()
        self.now_s = 0

    @rule(ahead=st.integers(0, 20))
    def time_passes(self, ahead):
        self.now_s += ahead

    @rule(
        kind=st.sampled_from(["step_begun", "step_ended", "step_begun", "step_ended"]),
        plate=st.sampled_from(PLATES),
        step=st.sampled_from(STEPS),
        age=st.sampled_from([0, 0, 0, 1, 7, 30]),
    )
    def hand(self, kind, plate, step, age):
        self.made.add(self.now_s - age, kind, plate, step)

    @rule(plate=st.sampled_from(PLATES))
    def one_step_on(self, plate):
        """Do what fits, so that runs get far."""
        state = fold(self.made.events, now=START + timedelta(seconds=self.now_s)).plate(plate)
        if state.current is not None:
            running = state.step(state.current).state == "running"
            kind = "step_ended" if running else "step_begun"
            self.made.add(self.now_s, kind, plate, state.current)
            self.now_s += 3

    @rule(plate=st.sampled_from(PLATES), step=st.sampled_from(STEPS))
    def left_out(self, plate, step):
        self.made.add(self.now_s, "step_skipped", plate, step)

    @rule(
        plate=st.sampled_from(PLATES),
        step=st.sampled_from(STEPS),
        age=st.sampled_from([0, 0, 2, 15]),
    )
    def done_once_more(self, plate, step, age):
        self.made.add(self.now_s - age, "step_redone", plate, step)

    @rule(
        kind=st.sampled_from(["paused", "resumed"]),
        plate=st.sampled_from([None, *PLATES]),
        age=st.sampled_from([0, 4]),
    )
    def clock(self, kind, plate, age):
        self.made.add(self.now_s - age, kind, plate)

    @rule(caution=st.sampled_from(["dust", "vapour"]))
    def caution(self, caution):
        self.made.add(self.now_s, "caution_shown", None, "buff", {"caution": caution})

    @rule(plate=st.sampled_from(PLATES), sure=st.integers(0, 5))
    def given_up(self, plate, sure):
        if sure == 0:
            self.made.add(self.now_s, "plate_abandoned", plate)

    @rule(sure=st.integers(0, 9))
    def closed(self, sure):
        if sure == 0:
            self.made.add(self.now_s, "run_closed")

    @precondition(lambda self: len(self.made.events) > 1)
    @rule(which=st.integers(0), earlier=st.sampled_from([None, None, 3, 11]), age=st.integers(0, 9))
    def corrected(self, which, earlier, age):
        target = self.made.events[1 + which % (len(self.made.events) - 1)]
        body = {"event": target.id}
        if earlier is None:
            body["withdrawn"] = True
        else:
            body["at"] = (target.at - timedelta(seconds=earlier)).isoformat()
        self.made.add(self.now_s - age, "corrected", body=body)

    def teardown(self):
        events = self.made.events
        now = START + timedelta(seconds=self.now_s)
        state = fold(events, now=now)
        again = [*events, *events[::3]]
        random.Random(len(events)).shuffle(again)
        assert fold(again, now=now) == state
        steps, flags, gone, shown, flagged, again = model(events, self.now_s)
        told = "closed" if flags["closed"] else "paused" if flags["run"] else "open"
        assert state.state == told
        assert set(state.shown) == shown
        assert {odd.event for odd in state.odd if odd.counted} == flagged
        for plate in state.plates:
            assert (plate.state == "abandoned") == (plate.id in gone)
            going = plate.state == "open" and not flags["closed"]
            redone = [(plate.id, one.step, seconds(one.at)) for one in plate.redone]
            assert redone == [one for one in again if one[0] == plate.id]
            for step in plate.steps:
                expected = steps[plate.id, step.key]
                first = going and step.key == plate.current and expected["state"] == "waiting"
                assert step.state == ("ready" if first else expected["state"])
                assert step.elapsed_s == expected["elapsed"] >= 0
                assert step.left_s == step.planned_s - step.elapsed_s
            self.in_order(plate)
        self.as_if_so_from_the_start(events, now)

    @staticmethod
    def in_order(plate):
        begun = [step.begun for step in plate.steps if step.begun is not None]
        assert begun == sorted(begun)
        ends = [step.ended for step in plate.steps if step.state == "done"]
        assert ends == sorted(ends)
        assert sum(step.state in ("running", "ready") for step in plate.steps) <= 1

    @staticmethod
    def as_if_so_from_the_start(events, now):
        """A corrected run is the run in which the right thing was said at once."""
        plain, _ = effective(events)
        seen, straight = fold(events, now=now), fold(plain, now=now)
        assert straight.plates == seen.plates
        assert (straight.state, straight.shown, straight.closed) == (
            seen.state,
            seen.shown,
            seen.closed,
        )


TestAnyRun = AnyRun.TestCase
TestAnyRun.settings = settings(
    max_examples=150,
    stateful_step_count=40,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


def at(seconds_after):
    return START + timedelta(seconds=seconds_after)


def test_pause_by_hand():
    made = Made()
    made.add(10, "step_begun", "a", "buff")
    made.add(40, "paused", "a")
    made.add(60, "paused")
    made.add(90, "resumed", "a")
    made.add(100, "resumed")
    # 10 to 40 and 100 to 130: sixty seconds
    assert fold(made.events, now=at(130)).plate("a").step("buff").elapsed_s == 60.0


def test_keeping_limit_runs_through_a_pause():
    made = Made()
    made.add(10, "step_begun", "a", "buff")
    made.add(20, "step_ended", "a", "buff")
    made.add(25, "paused")
    step = fold(made.events, now=at(50)).plate("a").step("iodise")
    assert step.state == "ready"
    assert step.keep_left_s == 60.0 - 30.0


def done(made, plate, step, begun_s, ended_s):
    made.add(begun_s, "step_begun", plate, step)
    made.add(ended_s, "step_ended", plate, step)


def test_a_step_done_once_more_begins_again_with_all_later_ones():
    made = Made()
    done(made, "a", "buff", 10, 20)
    made.add(21, "check_answered", "a", "buff", {"answer": "right"})
    done(made, "a", "iodise", 30, 40)
    made.add(41, "check_answered", "a", "iodise", {"answer": "wrong", "value": 2, "words": "pale"})
    made.add(42, "duration_changed", "a", "expose", {"planned_s": 70.0, "why": "brighter"})
    before = fold(made.events, now=at(45)).plate("a")
    redo = made.add(45, "step_redone", "a", "iodise", {"why": "pale"})
    plate = fold(made.events, now=at(50)).plate("a")
    buff, coat, shot = plate.steps
    assert buff == before.step("buff")
    assert (coat.state, coat.begun, coat.ended, coat.waited_s) == ("ready", None, None, None)
    assert (coat.answer, coat.answer_value, coat.answer_words) == (None, None, "")
    assert coat.keep_left_s == 60.0 - (50 - 20), "from the end of the buffing"
    assert (shot.planned_s, len(shot.changes)) == (70.0, 1), "what is known of its length stays"
    assert [(one.event, one.step, one.at, one.why) for one in plate.redone] == [
        (redo, "iodise", at(45), "pale")
    ]
    done(made, "a", "iodise", 55, 85)
    coat = fold(made.events, now=at(90)).plate("a").step("iodise")
    assert (coat.elapsed_s, coat.waited_s) == (30.0, 35.0)
    made.add(91, "corrected", body={"event": redo, "withdrawn": True})
    restored = fold(made.events, now=at(91)).plate("a")
    assert restored.redone == ()
    assert restored.step("iodise") == before.step("iodise"), "as if never gone back"


REFUSED = {
    "not begun": ([], "buff", "it was not done yet"),
    "in hand": ([("step_begun", "buff")], "buff", "a step of this plate is still going on"),
    "a later one in hand": (
        [("step_begun", "buff"), ("step_ended", "buff"), ("step_begun", "iodise")],
        "buff",
        "a step of this plate is still going on",
    ),
    "twice": (
        [("step_skipped", "buff"), ("step_redone", "buff")],
        "buff",
        "it waits to be done again already",
    ),
    "exposed": (
        [("step_skipped", "buff"), ("step_skipped", "iodise"), ("step_begun", "expose")],
        "iodise",
        "an exposed plate is given up and begun again as a new making",
    ),
    "given up": (
        [("step_skipped", "buff"), ("plate_abandoned", None)],
        "buff",
        "the plate was given up",
    ),
    "over": ([("step_skipped", "buff"), ("run_closed", None)], "buff", "the run was over"),
}


@pytest.mark.parametrize(("before", "step", "why"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_done_once_more_is_odd_and_changes_nothing(before, step, why):
    made = Made()
    for caution in ("dust", "vapour"):
        made.add(1, "caution_shown", None, "buff", {"caution": caution})
    for second, (kind, key) in enumerate(before, 10):
        made.add(second, kind, None if kind == "run_closed" else "a", key)
    was = fold(made.events, now=at(60))
    redo = made.add(50, "step_redone", "a", step)
    state = fold(made.events, now=at(60))
    assert [(odd.event, odd.why, odd.counted) for odd in state.odd] == [(redo, why, False)]
    assert state.plates == was.plates


def test_an_exposure_left_out_hinders_nothing():
    made = Made()
    done(made, "a", "buff", 10, 20)
    made.add(21, "step_skipped", "a", "iodise")
    made.add(22, "step_skipped", "a", "expose")
    made.add(30, "step_redone", "a", "buff")
    assert [s.state for s in fold(made.events).plate("a").steps] == ["ready", "waiting", "waiting"]


def test_a_correction_of_a_correction_of_a_correction():
    made = Made()
    begun = made.add(10, "step_begun", "a", "buff")
    target = begun
    for depth in range(1, 6):
        target = made.add(20 + depth, "corrected", body={"event": target, "withdrawn": True})
        state = fold(made.events, now=at(60)).plate("a").step("buff").state
        assert state == ("ready" if depth % 2 else "running")


def test_two_corrections_of_one_another_have_one_answer():
    made = Made()
    begun = made.add(10, "step_begun", "a", "buff")
    first = made.add(20, "corrected", body={"event": "00000003", "withdrawn": True})
    made.add(21, "corrected", body={"event": first, "withdrawn": True})
    made.add(22, "corrected", body={"event": begun, "at": at(5).isoformat()})
    assert fold(made.events, now=at(30)).plate("a").step("buff").elapsed_s == 25.0


def test_a_correction_that_gives_no_time_leaves_the_time():
    made = Made()
    begun = made.add(10, "step_begun", "a", "buff")
    wrong = made.add(20, "corrected", body={"event": begun, "at": "noon"})
    state = fold(made.events, now=at(30))
    assert state.plate("a").step("buff").elapsed_s == 20.0
    assert [odd.event for odd in state.odd if not odd.counted] == [wrong]


def test_of_two_unequal_copies_the_stored_one_counts():
    made = Made()
    made.add(10, "step_begun", "a", "buff")
    stored = made.events[-1]
    own = Event(stored.id, RUN, "step_begun", at(4), "a", "buff", {}, "me", seq=0)
    for events in ([*made.events, own], [own, *made.events]):
        assert fold(events, now=at(30)).plate("a").step("buff").elapsed_s == 20.0


def test_a_stored_body_never_breaks_the_fold():
    rubbish = [None, 7, "x", [], {}, [1, None, {"id": 3}], {"a": 1}, float("1e308")]
    for value in rubbish:
        made = Made()
        for name in ("steps", "plates", "place", "constants"):
            body = {**body_of_opening(), name: value}
            opened = Event("00000000", RUN, "run_opened", START, body=body)
            state = fold([opened], now=at(9))
            assert state_dict(state)["title"] == "A run"
        for kind in ("duration_changed", "check_answered", "reading_taken", "corrected"):
            body = dict.fromkeys(("event", "planned_s", "answer", "what", "value", "at"), value)
            made.add(2, kind, "a", "buff", body)
        assert fold(made.events, now=at(9)).title == "A run"


@pytest.mark.parametrize("events", [[], [Event("x", RUN, "step_begun", START, "a", "buff")]])
def test_no_opening_no_run(events):
    state = fold(events, now=START)
    assert state.state == "none"
    assert state.plates == ()
    assert len(state.odd) == len(events)


def test_a_run_over_the_spring_change_of_clocks_counts_every_second():
    made = Made()
    made.add(0, "step_begun", "a", "buff")
    made.add(5400, "step_ended", "a", "buff")  # an hour and a half over the change at 01:00 UTC
    assert fold(made.events).plate("a").step("buff").elapsed_s == 5400.0


@pytest.mark.parametrize(
    ("plate", "body"),
    [("c", {}), ("c", {"label": ""}), ("c", {"label": 7}), (None, {"label": "C"})],
)
def test_a_plate_that_is_added_has_an_id_and_a_label(plate, body):
    made = Made()
    event = made.add(60, "plate_added", plate, body=body)
    state = fold(made.events)
    assert [one.id for one in state.plates] == list(PLATES)
    assert [(one.event, one.why) for one in state.odd] == [
        (event, "the plate has no id or no label")
    ]


def test_a_plate_that_is_added_stands_after_the_others():
    made = Made()
    made.add(60, "plate_added", "c", body={"label": "C"})
    assert [(one.id, one.label) for one in fold(made.events).plates][-1] == ("c", "C")


def test_a_check_of_a_step_that_goes_on_is_asked_from_its_minute_on():
    made = Made()
    asked = [{"when": "during", "text": text, "at_minutes": at} for text, at in CHECKS_DURING]
    made.events[0].body["steps"][0]["checks"] = asked
    made.add(0, "step_begun", "a", "buff")

    def ask(at_s):
        now = START + timedelta(seconds=at_s)
        step = fold(made.events, now=now).plates[0].step("buff")
        return None if step.ask is None else step.ask.text

    assert [ask(at_s) for at_s in (0, 119, 120, 299, 300)] == [
        None, None, "Warm?", "Warm?", "Hot?",
    ]  # fmt: skip
