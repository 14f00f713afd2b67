"""The plan of the day on the bench page: planned times, latest starts, a new plan taken or not."""

from contextlib import nullcontext
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from argentry.bench.off_plan import off_plan, told_of
from argentry.bench.state_json import iso
from argentry.bench.words import plan_words, planned_words
from argentry.book.log import append
from argentry.desk.bench.run import open_run
from argentry.records.day import Appointment
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.wishes import Sitter, Wishes

PHONE, TABLET, SIDE, SMALL = (390, 844), (820, 1180), (844, 390), (360, 640)
_spec = spec_from_file_location("day_fixture", Path(__file__).parents[1] / "out" / "day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)
MADRID = ZoneInfo("Europe/Madrid")


@pytest.fixture
def planned(server):
    """Open a run of some plates with a plan that begins so many minutes from now."""

    def make(*labels, begins_in=5.0, sitter=None):
        house = server.app.state.house
        begin = datetime.now(UTC) + timedelta(minutes=begins_in)
        day = (begin.year, begin.month, begin.day)
        plan = fixture.make_plan(len(labels), date=day, zone="UTC", begin=f"{begin:%H:%M}")
        if sitter is not None:
            seen = (Appointment(plan.begin, sitter.name, 1, plan.begin, plan.begin),)
            plan = replace(plan, appointments=seen, wishes=Wishes(sitters=(sitter,)))
        run = open_run(house.book, house.studio, labels, clock=house.clock, plan=plan, title="Day")
        keys = [caution.key for caution in server.state(run).cautions_unread()]
        server.send(run, "cautions_read", cautions=keys)
        return run

    return make


@pytest.mark.parametrize("size", [TABLET, SIDE])
def test_the_step_in_hand_says_when_it_is_planned_and_what_is_to_spare(
    server, tablets, planned, size
):
    run = planned("One", "Two")
    glass = tablets(run, size)
    glass.wait_words("to spare")
    said = glass.say("[data-live=plan]")
    first = server.state(run).plates[0].step("ready_room")
    local = first.plan.start.astimezone(MADRID)  # the studio's, not the tablet's
    assert said.startswith(f"{local:%H:%M}, latest ")
    hidden = "(() => { const at = document.querySelector('.hand'),"
    hidden += " line = document.querySelector('[data-live=plan]');"
    hidden += (
        " return line.getBoundingClientRect().bottom - at.getBoundingClientRect().bottom; })()"
    )
    assert glass.page.evaluate(hidden) <= 1
    glass.red("planned")
    glass.act("plates")
    glass.wait_words("to spare; then Scour")
    glass.red("planned plates")


def test_the_frame_is_named_where_a_plate_goes_into_it(server, tablets, planned):
    """A studio may have a frame in the sun and one under a lamp; the terminal names it too."""
    run = planned("One", sitter=Sitter("14:30", "Inés", f_number=5.6))
    glass = tablets(run, PHONE)
    glass.wait_words("to spare; for Inés at 14:30, f/5.6")
    assert "; in " not in glass.say("[data-live=plan]")
    server.up_to(run, "to_frame")
    state = server.state(run)
    frame = state.plates[0].step("develop").plan.held
    assert f"; in {frame}; then " in plan_words(state, state.plates[0])
    glass.wait_words(f"; in {frame}")
    glass.act("plates")
    glass.wait_words(f"; in {frame}; then Develop")


def test_a_step_that_is_late_says_by_how_much(server, tablets, planned):
    run = planned("One", begins_in=-60.0)
    glass = tablets(run, PHONE)
    glass.wait_words("late by 2")  # its latest start was 35 min after its planned one
    assert glass.page.locator(".call[data-live=plan]").count() == 1
    server.up_to(run, "ready_room")
    server.send(run, "step_begun", server.state(run).plates[0].id, "ready_room")
    glass.wait_words(", now until ")  # beside 20 min left, "planned until" 40 min ago misled
    state = server.state(run)
    assert ", now until " in planned_words(state.plates[0].step("ready_room"), MADRID, state.now)


def offer(server, run, *lines, **more):
    """Let the house offer a plan that begins every step of the second plate an hour later."""
    state = server.state(run)
    rows = {}
    for step in state.plates[-1].steps:
        if step.plan is not None and step.state in ("waiting", "ready"):
            later = {"start": step.plan.start, "end": step.plan.end, "latest": step.plan.latest}
            hour = timedelta(hours=1)
            rows[step.key] = {name: iso(at + hour) for name, at in later.items() if at}
    body = {
        "plan": {state.plates[-1].id: rows}, "lines": list(lines), "left_out": [],
        "moved": [[state.plates[-1].id, key] for key in rows], "why": "Two is 60 min late",
        "kept_share": 0.5, "share": 0.75, "knows": {}, **more,
    }  # fmt: skip
    event = Event(
        new_id(), run, "plan_offered", server.app.state.house.clock.now(), body=body, device="house"
    )
    append(server.book, [event])
    server.app.state.broadcast.ring_soon()
    return event.id


# targets of which one lies over another; three of 120 px in a row are more than 360 px
OVERLAPS = """() => {
  const all = [...document.querySelectorAll("button")].map((node) => node.getBoundingClientRect());
  return all.flatMap((a, i) => all.slice(i + 1).filter((b) =>
    Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5).map((b) => [a.left, b.left]));
}"""
ANSWERS = ("takePlan", "keepPlan", "begin", "undo")
LINES = ("Plate Two no longer fits: leave it for another day.", "The last plate is done at 17:10.")


def in_sight(glass, *targets):
    """Assert that targets lie whole on the glass and are large enough, and the time is whole."""
    seen = "(what => { const at = document.querySelector(what)"
    seen += ".getBoundingClientRect(); return [at.top, at.bottom, innerHeight, at.width]; })"
    for what in targets:
        top, bottom, height, width = glass.page.evaluate(f"{seen}('{what}')")
        assert top >= 0, what
        assert bottom <= height + 1, what
        assert width >= 96, what
    # the figures end well above the end of their line
    whole = "document.querySelector('.time').getBoundingClientRect().bottom"
    whole += " <= document.querySelector('.hand').getBoundingClientRect().bottom + 8"
    assert glass.page.evaluate(whole)


@pytest.mark.parametrize("size", [TABLET, SIDE])
def test_a_new_plan_stands_under_a_step_that_goes_on(server, tablets, planned, until, size):
    run = planned("One", "Two", "Three", "Four", "Five")
    glass = tablets(run, size)
    glass.begin()
    glass.page.wait_for_selector("[data-act=endWith]")
    made = offer(server, run, *LINES)
    glass.page.wait_for_selector("[data-act=takePlan]")
    glass.red("new plan in work")
    in_sight(glass, ".offer", "[data-act=takePlan]", "[data-act=endWith]", "[data-act=undo]")
    glass.press("k")
    until(lambda: server.state(run).turned_down == (made,))
    assert server.state(run).plates[0].step("ready_room").state == "running"


@pytest.mark.parametrize("size", [PHONE, SIDE])
def test_a_new_plan_is_one_line_and_taken_by_one_touch(server, tablets, planned, until, size):
    run = planned("One", "Two")
    glass = tablets(run, size)
    before = server.state(run).plates[1].step("scour").plan.start
    made = offer(server, run, *LINES)
    glass.page.wait_for_selector("[data-act=takePlan]")
    line = glass.say(".offer")
    assert line.startswith("New plan: Plate Two no longer fits")
    assert "One more change. All finished: 75 % instead of 50 %." in line
    glass.red("new plan")
    in_sight(glass, ".offer", ".time", *(f"[data-act={one}]" for one in ANSWERS))
    glass.act("takePlan")
    until(lambda: server.state(run).standing == made)
    glass.wait("!document.querySelector('.offer')")
    assert server.state(run).plates[1].step("scour").plan.start == before + timedelta(hours=1)
    glass.act("undo")
    until(lambda: server.state(run).standing == "")
    glass.page.wait_for_selector("[data-act=takePlan]")


@pytest.mark.parametrize(("key", "kind"), [("t", "plan_taken"), ("k", "plan_declined")])
def test_a_new_plan_is_answered_by_one_key(server, tablets, planned, until, key, kind):
    run = planned("One", "Two")
    glass = tablets(run, PHONE)
    glass.press(key)  # nothing waits yet
    made = offer(server, run, LINES[0])
    glass.page.wait_for_selector("[data-act=takePlan]")
    glass.press(key)
    glass.wait("!document.querySelector('.offer')")
    until(lambda: kind in server.kinds(run))
    [said] = [event for event in server.events(run) if event.kind == kind]
    assert said.body == {"offer": made}
    glass.press("Space")  # the one key still begins the step
    until(lambda: server.state(run).plates[0].step("ready_room").state == "running")


def test_one_plate_more_is_taken_by_one_key_and_once(server, tablets, planned, until):
    run = planned("One")
    glass = tablets(run, PHONE)
    more = {"id": new_id(), "label": "Late one", "once": ["ready_room"]}
    told = "One more plate may be begun after “Seal the plate; note what lies in it” of plate "
    told += "2026-06-21/1 until 14:30: begun on 95 % of days, finished on 88 %."
    offer(server, run, told, more=more)
    glass.page.wait_for_selector("[data-act=addPlate]")
    glass.red("one more plate")
    in_sight(glass, ".offer", ".time", *(f"[data-act={one}]" for one in ("addPlate", *ANSWERS[1:])))
    glass.press("o")
    glass.press("o")
    glass.wait("!document.querySelector('[data-act=addPlate]')")
    until(lambda: [plate.label for plate in server.state(run).plates] == ["One", "Late one"])
    assert server.kinds(run).count("plate_added") == 1
    assert server.state(run).plates[1].current == "scour"
    assert glass.say(".plate").startswith("One"), "what the plan holds comes before it"
    assert glass.page.locator(".offer").count() == 0, "its line told of this plate alone"
    glass.act("undo")
    until(lambda: len(server.state(run).plates) == 1)


HIDDEN = "(() => { const at = document.querySelector('.hand');"
HIDDEN += " return at.scrollHeight - at.clientHeight; })()"
FURTHER = "One more plate may be begun after “Develop under the red filter” of plate 2026-06-21/1 "
FURTHER += "until 14:11: begun on 56 % of days, finished on 50 %."


@pytest.mark.parametrize("size", [TABLET, SMALL], ids=["tablet", "small"])
@pytest.mark.parametrize(("step", "lines"), [("develop", LINES), ("load", (FURTHER,))])
def test_what_to_look_for_is_whole_under_a_new_plan(server, tablets, planned, step, lines, size):
    """Time, length, what to look for, a caution and every target, with one plate more on offer."""
    run = planned("One")
    plate = server.up_to(run, step)
    server.send(run, "step_begun", plate, step)
    offer(server, run, *lines, more={"id": new_id(), "label": "Late one", "once": ["ready_room"]})
    glass = tablets(run, size)
    glass.page.wait_for_selector("[data-act=addPlate]")
    assert server.state(run).step(step).look_for in glass.say(".hand")
    assert glass.say(".next")
    glass.red("new plan over what to look for")
    assert glass.page.evaluate(HIDDEN) <= 1
    look = ["[data-act=lookAtRipening]"] if step == "develop" else []
    in_sight(glass, ".offer", "[data-act=addPlate]", "[data-act=keepPlan]", ".action", *look)
    assert glass.page.evaluate("document.documentElement.scrollWidth") <= size[0]


@pytest.mark.parametrize("size", [SMALL, SIDE], ids=["small", "on its side"])
def test_odds_a_changed_exposure_and_what_to_look_for_stand_whole_on_every_phone(
    server, tablets, planned, size
):
    """On a phone of 360 by 640 the exposure that the sun had changed lay below the edge."""
    run = planned("2026-06-21/1", "2026-06-21/2")
    plate = server.up_to(run, "expose")
    told = "57 % good (26–85; 3 plates, mostly starting assumptions). Continue."
    server.advise(run, plate, "expose", told)
    body = {"planned_s": 911.0, "low_s": 420.0, "high_s": 1860.0}
    body |= {"why": "the sun as it stands: 15 min 11 s instead of 10 min 38 s"}
    now = server.app.state.house.clock.now()
    append(server.book, [Event(new_id(), run, "duration_changed", now, plate, "expose", body)])
    glass = tablets(run, size)
    for what in ("57 % good", "15 min 11 s instead", server.state(run).step("expose").look_for):
        glass.wait_words(what)
    glass.wait(HIDDEN + " <= 1")
    in_sight(glass, "[data-act=begin]", "[data-act=undo]", "[data-act=more]")
    offer(server, run, *LINES)
    glass.page.wait_for_selector("[data-act=takePlan]")
    glass.wait(HIDDEN + " <= 1")
    glass.red("a changed exposure under a new plan")
    in_sight(glass, ".offer", *(f"[data-act={one}]" for one in ANSWERS))


def test_no_target_lies_over_another_on_a_narrow_phone(server, tablets):
    glass = tablets(server.open_run("One", "Two"), SMALL)
    glass.page.wait_for_selector("[data-act=plates]")
    assert glass.page.evaluate(OVERLAPS) == []
    glass.begin()
    glass.page.wait_for_selector("[data-act=endWith]")
    assert glass.page.evaluate(OVERLAPS) == []


def test_a_plate_begun_long_before_its_plan_is_said_to_wait(server, tablets, planned, until):
    """One key would begin it two hours early, and the day's odds fell from 72 to 48 %."""
    run = planned("One", "Two")
    glass = tablets(run, PHONE)
    glass.wait_words("latest")
    assert "wait too long" not in glass.say("main"), "nothing else is on its way"
    plate = server.up_to(run, "develop")
    server.send(run, "step_begun", plate, "develop")
    glass.wait_words("Scour the silver")
    glass.wait_words("Begun earlier, the plate may wait too long later.")
    glass.wait(HIDDEN + " <= 1")
    second = server.state(run).plates[1].step("scour").plan.start.astimezone(MADRID)
    assert f"{second:%H:%M}. Begun earlier" in glass.say("main")

    def agrees():  # the clock beside the time left
        develop = server.state(run).plates[0].step("develop")
        end = datetime.now(UTC) + timedelta(seconds=develop.left_s)
        assert abs(end - develop.plan.end) > timedelta(minutes=3), "the plan has it at another time"
        about = [(end + timedelta(minutes=one)).astimezone(MADRID) for one in (-1, 0, 1)]
        told = glass.say("[data-live=left0]").split(" · ")[0]
        return told in [f"{one:%H:%M}" for one in about]

    until(agrees)


def test_a_caution_and_a_check_stand_whole_beside_a_plan_and_a_plate_that_waits(
    server, tablets, planned
):
    """What explodes is the last line of the caution over iodine; it was below the edge."""
    run = planned("2026-06-21/1", "2026-06-21/2")
    plate = server.state(run).plates[0].id
    for step in server.state(run).plates[0].steps:
        if step.key == "iodise":
            break
        for caution in server.state(run).cautions_due(step.key):
            server.send(run, "caution_shown", None, step.key, caution=caution.key)
        server.send(run, "step_begun", plate, step.key)
        server.send(run, "step_ended", plate, step.key)
        if any(check.when == "after" for check in server.state(run).step(step.key).checks):
            server.send(run, "check_answered", plate, step.key, answer="right")
    glass = tablets(run, PHONE)
    glass.wait_words("explodes at a touch")
    glass.wait(HIDDEN + " <= 1")
    for caution in server.state(run).cautions_due("iodise"):
        server.send(run, "caution_shown", None, "iodise", caution=caution.key)
    server.send(run, "step_begun", plate, "iodise")
    server.send(run, "step_ended", plate, "iodise")
    glass.wait_words("one second of weak light")
    glass.wait(HIDDEN + " <= 1")
    last = "document.querySelector('.choices button:last-child').getBoundingClientRect().bottom"
    assert glass.page.evaluate(f"{last} <= innerHeight")


def test_over_iodine_the_colour_to_look_for_stands_alone(server, tablets, planned):
    run = planned("One")
    plate = server.up_to(run, "iodise")
    server.send(run, "step_begun", plate, "iodise")
    offer(server, run, *LINES)
    glass = tablets(run, PHONE)
    glass.page.wait_for_selector("[data-act=end]")
    assert server.state(run).step("iodise").look_for in glass.say(".hand")
    assert glass.page.evaluate(HIDDEN) <= 1
    assert glass.page.locator(".offer").count() == 0


def test_a_plan_answered_on_another_device_goes_from_this_one(server, tablets, planned):
    run = planned("One", "Two")
    glass = tablets(run, PHONE)
    made = offer(server, run, LINES[0])
    glass.page.wait_for_selector("[data-act=takePlan]")
    server.send(run, "plan_declined", offer=made)
    glass.wait("!document.querySelector('.offer')")


def test_only_a_plan_in_sight_is_answered(server, tablets, planned):
    run = planned("One")
    offer(server, run, LINES[0])
    glass = tablets(run, PHONE)
    glass.page.wait_for_selector("[data-act=takePlan]")
    glass.act("plates")
    glass.press("t")
    glass.act("back")
    glass.page.wait_for_selector("[data-act=takePlan]")
    assert "plan_taken" not in server.kinds(run)


class Planner:
    """Answers as the process beside the server would, with one line."""

    def __init__(self, server):
        self.server, self.asked = server, 0

    async def ask(self, asked):
        self.asked += 1
        off = off_plan(self.server.state(asked["replan"]))
        return {
            "plan": {}, "lines": [LINES[1]], "moved": [], "left_out": [], "why": "One is late",
            "kept_share": 0.5, "share": 0.6, "knows": dict(told_of(off)),
        }  # fmt: skip

    def still(self):
        return nullcontext()

    async def close(self):
        pass


def test_the_server_offers_a_plan_by_itself_and_a_restart_goes_on(server, tablets, planned, until):
    """A press after a late hour is answered at once; the plan comes by itself, and once."""
    planner = server.app.state.replanner.helper = Planner(server)
    run = planned("One", "Two", begins_in=-60.0)
    glass = tablets(run, PHONE)
    glass.begin()
    until(lambda: server.state(run).plates[0].step("ready_room").state == "running")
    glass.page.wait_for_selector("[data-act=takePlan]")
    assert LINES[1] in glass.say(".offer")
    server.stop()
    glass.wait("document.querySelector('.top .cut')")
    glass.press("t")  # taken while the server is away: the page goes on by itself
    glass.wait("!document.querySelector('.offer')")
    server.start()
    server.app.state.replanner.helper = planner
    until(lambda: server.state(run).standing != "")
    glass.wait("!document.querySelector('.top .cut')")
    assert server.kinds(run).count("plan_offered") == 1
    assert glass.page.locator(".offer").count() == 0


def test_a_phone_that_was_away_takes_the_plan_that_it_saw(server, tablets, planned, until):
    run = planned("One", "Two")
    glass = tablets(run, PHONE, clock=True)
    first = offer(server, run, LINES[0])
    glass.page.wait_for_selector("[data-act=takePlan]")
    glass.page.context.set_offline(True)
    glass.later(6.0)
    glass.link_brings(lambda: glass.page.locator(".top .cut").count())
    glass.press("t")
    glass.wait("!document.querySelector('.offer')")
    glass.later(60.0)
    second = offer(server, run, LINES[1])  # the house knows nothing of the answer
    glass.page.context.set_offline(False)
    glass.later(6.0)
    glass.link_brings(lambda: server.state(run).standing == first)
    glass.link_brings(lambda: LINES[1] in glass.say("body"))
    assert server.state(run).offer.event == second
    assert server.state(run).odd == ()


def test_one_more_plate_is_offered_when_the_last_one_was_given_up(server, tablets, planned, until):
    run = planned("One")
    glass = tablets(run, PHONE)
    [plate] = server.state(run).plates
    server.send(run, "plate_abandoned", plate.id, reason="outward", outward="other")
    glass.wait_words("Every plate is finished or given up.")
    more = {"id": new_id(), "label": "In its place", "once": ["ready_room"]}
    offer(server, run, "One more plate, In its place, is finished by 17:10.", more=more)
    glass.page.wait_for_selector("[data-act=addPlate]")
    glass.red("one more at the end")
    glass.press("o")
    until(lambda: [one.label for one in server.state(run).plates] == ["One", "In its place"])
    glass.wait_words("In its place")
