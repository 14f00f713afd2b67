"""What a hand can do on the bench page, and what it says."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from argentry.book.log import append
from argentry.book.readings import add_readings
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Reading

PHONE, TABLET, SIDE = (390, 844), (820, 1180), (844, 390)
GO = ".action, .choices button.chosen"
# A browser with a voice: what is said is written down.
VOICE = """
  window.said = [];
  const voice = { lang: "en-GB", localService: true, name: "Test" };
  const stub = new EventTarget();
  Object.assign(stub, {
    speaking: false, pending: false, getVoices: () => [voice], cancel() {},
    speak(call) { said.push([call.text, call.voice?.name]); call.onstart?.(); },
  });
  Object.defineProperty(window, "speechSynthesis", { value: stub, configurable: true });
  window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
"""
# A browser whose voice never comes, and an ear for its tones.
MUTE = (
    VOICE.replace("speak(call) {", "speak() {}, unused(call) {")
    + """
  window.tones = [];
  class Part { connect(next) { return next; } start() {} stop() {} }
  class Sound {
    currentTime = 0;
    destination = new Part();
    resume() {}
    createGain() { const part = new Part();
      part.gain = { setValueAtTime() {}, linearRampToValueAtTime() {} }; return part; }
    createOscillator() { const part = new Part();
      part.frequency = { set value(hertz) { tones.push(hertz); } }; return part; }
  }
  window.AudioContext = Sound;
"""
)


STAMP = """window.stamp = 1000;
Object.defineProperty(Event.prototype, "timeStamp", { get() { return window.stamp; } });"""


def test_presses_nearer_than_a_third_of_a_second_and_held_keys_count_once(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE, fast=False, script=STAMP, begin=False)
    glass.press("Space")
    glass.page.wait_for_selector("[data-act=begin]")
    glass.page.evaluate("stamp += 400")
    glass.press("Space")
    for soon in (100, 100, 50):
        glass.page.evaluate(f"stamp += {soon}")
        glass.press("Enter")
    glass.page.evaluate("stamp += 400")
    keyboard = glass.page.keyboard
    glass.heard(lambda: keyboard.down("Space"))
    for _ in range(5):
        glass.page.evaluate("stamp += 400")
        glass.heard(lambda: keyboard.down("Space"))  # a held key repeats
    keyboard.up("Space")
    until(lambda: server.kinds(run)[-1] == "check_answered")
    assert server.kinds(run)[-3:] == ["step_begun", "step_ended", "check_answered"]


def test_a_touched_target_does_not_take_the_pedal(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.begin()
    glass.act("undo")  # by finger; then the pedal must not press undo again
    glass.press("Space")
    until(lambda: server.kinds(run).count("step_begun") == 2)
    assert server.kinds(run).count("corrected") == 1
    assert server.state(run).plates[0].step("ready_room").state == "running"


def test_undo_by_key_and_touch_within_ten_seconds(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE, clock=True)
    glass.begin()
    until(lambda: "step_begun" in server.kinds(run))
    glass.wait("document.querySelector('[data-act=undo]').innerText.includes('Begun')")
    glass.press("Backspace")
    until(lambda: server.state(run).plates[0].step("ready_room").state == "ready")
    glass.page.wait_for_selector("[data-act=begin]")
    glass.begin()
    until(lambda: server.kinds(run).count("step_begun") == 2)
    glass.later(11)
    assert "off" in glass.page.get_attribute("[data-act=undo]", "class")
    glass.press("u")
    glass.later(1)
    assert server.kinds(run).count("corrected") == 1
    # later it is taken back by the list, and counted again by the list
    for act in ("more", "list"):
        glass.act(act)
    glass.tap(".choices button:nth-child(1)")
    assert "Begun" in glass.say("h1")
    glass.act("withdraw")
    until(lambda: server.state(run).plates[0].step("ready_room").state == "ready")
    glass.tap(".choices button:nth-child(2)")
    assert "Count it again" in glass.say(".action")
    glass.act("withdraw")
    until(lambda: server.state(run).plates[0].step("ready_room").state == "running")


def test_one_press_is_undone_by_one(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.begin()
    glass.tap("[data-act=endWith]")
    until(lambda: server.state(run).plates[0].step("ready_room").answer == "right")
    assert glass.say("[data-act=undo]").splitlines()[1].startswith("Done")
    glass.act("undo")
    until(lambda: server.state(run).plates[0].step("ready_room").state == "running")
    assert server.kinds(run).count("corrected") == 2


def test_the_parts_of_a_range_are_under_more(server, tablets):
    run = server.open_run("One")
    server.up_to(run, "iodise")
    glass = tablets(run, PHONE)
    glass.act("more")
    glass.act("range")
    glass.wait_words("made of iodine box")
    made_of = server.state(run).plates[0].step("iodise").made_of
    assert made_of in glass.say("main")
    glass.red("range")
    assert glass.page.evaluate("document.documentElement.scrollHeight") <= PHONE[1]
    glass.act("back")


@pytest.mark.parametrize(("size", "screens"), [(TABLET, 2), (SIDE, 6)])
def test_the_cautions_of_the_day_are_read_together(server, tablets, until, size, screens):
    run = server.open_run("One", "Two", read=False)
    glass = tablets(run, size)
    keys = [caution.key for caution in server.state(run).cautions_unread()]
    for _ in range(screens):
        assert glass.page.locator("[data-act=begin]").count() == 0
        assert glass.red("cautions of the day") == 255
        hidden = "(() => { const at = document.querySelector('.hand');"
        assert glass.page.evaluate(hidden + " return at.scrollHeight - at.clientHeight; })()") <= 1
        told = re.search(r"Cautions of the day, (\d+)(?: to (\d+))? of \d+", glass.say("main"))
        assert told[1] != told[2], "the last one alone"
        glass.act("readAll")
    glass.page.wait_for_selector("[data-act=begin]")
    until(lambda: server.kinds(run).count("cautions_read") == screens)
    assert list(server.state(run).read) == keys
    assert "caution_shown" not in server.kinds(run)


def test_each_caution_stands_in_sight_at_its_step_and_what_burns_asks_again(server, tablets, until):
    run = server.open_run("One", "Two")
    plate = server.up_to(run, "rouge_buff")
    glass = tablets(run, PHONE)
    assert "A power buff grabs" in glass.say(".next")
    glass.page.wait_for_selector("[data-act=begin]")
    glass.begin()
    assert "A power buff grabs" in glass.say(".next")
    other = server.open_run("Three", "Four")
    glass = tablets(other, PHONE)
    glass.begin()
    glass.tap("[data-act=endWith]")
    assert "Alcohol burns" in glass.say("h1")
    assert glass.say(".action") == "Seen. Begin"
    glass.act("seen")
    until(lambda: server.state(other).plates[0].step("scour").state == "running")
    assert server.state(other).shown == ("alcohol",)
    glass.act("plates")
    glass.tap(".choices button:nth-child(2)")
    glass.page.wait_for_selector("[data-act=begin]")  # seen for plate Three, so seen for Four
    assert server.state(run).plate(plate).current == "rouge_buff"


def test_the_check_by_the_second_pedal_and_by_number(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.press("Space")
    glass.page.wait_for_selector("[data-act=endWith]")
    glass.press("ArrowLeft")
    assert glass.say(".choices .chosen") == "Done. Doubtful"
    glass.press("PageDown")
    until(lambda: server.state(run).plates[0].step("ready_room").answer == "doubtful")
    glass.press("Backspace")
    glass.page.wait_for_selector("[data-act=endWith]")
    glass.press("3")
    until(lambda: server.state(run).plates[0].step("ready_room").answer == "wrong")
    assert glass.say("h1") == "The check was wrong."
    told = [
        words.splitlines()[0] for words in glass.page.locator(".choices button").all_inner_texts()
    ]
    assert told == ["Go on with it", "Do it again", "Give it up"]
    glass.act("giveUp")
    glass.tap(".choices button:nth-child(2)")
    until(lambda: server.state(run).plates[0].state == "abandoned")
    given_up = server.state(run).plates[0].given_up
    assert (given_up.reason, given_up.outward, given_up.stage) == ("outward", "no_time", "polish")


def test_after_a_wrong_check_the_step_is_done_again(server, tablets, until):
    run = server.open_run("One")
    server.up_to(run, "final_buff")
    glass = tablets(run, PHONE)
    glass.begin()
    glass.tap("[data-act=endWith] >> nth=2")
    assert glass.red("wrong") == 255
    assert glass.page.locator(".choices button").count() == 4
    until(lambda: server.kinds(run)[-1] == "check_answered")
    server.send(run, "corrected", event=server.events(run)[-1].id, withdrawn=True)
    glass.page.wait_for_selector("[data-act=answer]")  # taken back on another device
    glass.tap("[data-act=answer] >> nth=2")
    glass.act("redoNow")
    until(lambda: [one.step for one in server.state(run).plates[0].redone] == ["final_buff"])
    assert server.state(run).plates[0].redone[0].why == "the check was wrong"
    glass.page.wait_for_selector("[data-act=begin]")


def test_the_clock_outweighs_an_answer_and_the_page_says_so(server, tablets):
    run = server.open_run("One")
    plate = server.up_to(run, "to_frame")  # coat and exposure lasted a moment
    glass = tablets(run, PHONE)
    glass.wait_words("only 0 s of")
    assert glass.red("too short") == 255
    steps = {step.key: step for step in server.state(run).plate(plate).steps}
    assert steps["expose"].short
    assert steps["iodise"].answer == "right"
    assert not steps["rouge_buff"].short, "the length of a buffing is the maker's own"


def test_giving_up_asks_what_was_wrong_in_the_books_own_words(server, tablets, until):
    run = server.open_run("One", "Two")
    plate = server.up_to(run, "load")
    glass = tablets(run, PHONE)
    for act in ("more", "giveUp"):
        glass.act(act)
    assert glass.say(".plate") == "Give One up: why?"
    glass.press("Space")  # the one key leaves, it never gives a plate up
    assert server.state(run).plate(plate).state == "open"
    for act in ("more", "giveUp"):
        glass.act(act)
    glass.press("1")
    assert glass.say(".plate") == "One, exposure: what is seen?"
    glass.tap("text=Another stage")
    glass.tap("text=Coat")
    glass.red("defects of the coat")
    glass.tap("text=Streaks in the coat")
    until(lambda: server.state(run).plate(plate).state == "abandoned")
    given_up = server.state(run).plate(plate).given_up
    assert (given_up.stage, given_up.defect) == ("coat", "iodine_streaks")
    glass.act("undo")
    until(lambda: server.state(run).plate(plate).state == "open")
    server.correct_last(run, "iodise", answer="wrong")  # it stands at the coat
    glass.page.reload()
    glass.act("start")
    glass.press("x")
    glass.press("1")
    assert glass.say(".plate") == "One, coat: what is seen?"
    for key in ("p", "Backspace", "Backspace"):  # no letter leaves a question
        glass.press(key)
    for key in ("n", "x", "2"):  # of two plates the one given up is in hand again when it is undone
        glass.press(key)
    glass.wait_words("Given up")
    glass.press("u")
    glass.wait("document.querySelector('.plate').innerText.startsWith('Two')")
    glass.press("n")
    for state in ("paused", "open"):  # as in the terminal
        glass.press("p")
        until(lambda state=state: server.state(run).state == state)


def test_a_cold_box_lengthens_the_fuming_and_says_by_how_much(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    server.up_to(run, "iodise")
    glass.wait_words("Iodine vapour burns")
    before = server.state(run).plates[0].step("iodise").planned_s
    glass.press("r")
    glass.tap("text=Iodine box")
    for key in "610":
        glass.page.keyboard.press(key)
    glass.act("write")  # told on the pad, which stays open
    glass.wait_words("610 °C is not possible: it is outside -10 to 60 °C.")
    for key in ("Backspace", "Backspace", "Backspace", "9", "Backspace", "1", "4", ",", "5"):
        glass.page.keyboard.press(key)
    assert glass.say(".said") == "14.5 °C"
    glass.act("write")
    until(lambda: "box_c" in {reading.what for reading in server.state(run).readings})
    until(lambda: server.state(run).plates[0].step("iodise").planned_s > 1.2 * before)
    why = server.state(run).plates[0].step("iodise").changes[-1].why
    glass.wait_words(why[1:20])
    glass.red("cold box")


def test_a_step_that_works_alone_is_not_ended_early_by_one_press(server, tablets, until):
    run = server.open_run("One", "Two")
    glass = tablets(run, PHONE)
    plate = server.up_to(run, "develop")
    server.send(run, "step_begun", plate, "develop")
    glass.act("plates")
    glass.tap(".choices button:nth-child(1)")
    glass.wait_words("End it early")
    glass.act("end")
    assert "Press again" in glass.say(".action")
    plate = server.state(run).plates[0]
    assert plate.step("develop").state == "running"
    glass.act("end")
    until(lambda: server.state(run).plates[0].step("develop").state == "done")


def test_pause_and_late_entry(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.begin()
    glass.act("more")
    glass.act("pauseRun")
    until(lambda: server.state(run).state == "paused")
    assert "whole run is paused" in glass.say(".hand")
    glass.red("paused")
    glass.act("resumeRun")
    until(lambda: server.state(run).state == "open")
    server_begun = server.state(run).plates[0].step("ready_room").begun
    for act in ("more", "list"):
        glass.act(act)
    for place in range(1, 6):
        row = glass.page.locator(f".choices button:nth-child({place})")
        if "Begun" in row.inner_text():
            glass.tap(f".choices button:nth-child({place})")
            break
    glass.act("earlier")
    glass.page.keyboard.type("3")
    glass.press("Enter")
    step = lambda: server.state(run).plates[0].step("ready_room")  # noqa: E731
    until(lambda: step().begun < server_begun)
    assert (server_begun - step().begun).total_seconds() == 180.0
    glass.act("back")
    glass.act("more")
    glass.act("late")
    glass.page.keyboard.type("1.5")
    glass.press("Enter")
    pressed = datetime.now(UTC)
    until(lambda: step().state == "done")
    assert step().check_due
    assert step().ended <= pressed - timedelta(seconds=89)  # a minute and a half late
    assert step().elapsed_s == (step().ended - step().begun).total_seconds()


def test_silent_until_asked_then_the_words_of_each_step(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE, script=VOICE, clock=True)
    glass.begin()
    glass.later(2)
    assert glass.page.evaluate("said") == []
    glass.press("v")
    glass.later(1)
    glass.tap(GO)  # done, and its check is right
    glass.later(1)
    glass.begin()  # the alcohol is seen
    glass.later(1)
    said = glass.page.evaluate("said")
    assert said[0] == ["Voice on.", "Test"]
    rule = server.state(run).step("scour")
    assert [rule.speak, "Test"] in said
    assert any(words.startswith("Alcohol burns") for words, _ in said)
    server.stop()  # so that only the page's own clock counts
    glass.later(rule.planned_s + 5)
    until(lambda: glass.say(".time").startswith("+0:"))
    until(lambda: any("Time is up" in words for words, _ in glass.page.evaluate("said")))
    glass.red("over its time")


def test_without_a_voice_it_sounds_tones_and_says_so(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE, script=MUTE, begin=False)
    glass.act("sound")
    glass.wait_words("tones instead")
    glass.act("start")
    glass.act("begin")
    glass.wait("tones.length >= 2")
    assert all(100 < hertz < 2000 for hertz in glass.page.evaluate("tones"))


def test_the_wall_clock_may_jump_and_the_time_left_does_not(server, tablets):
    jump = "window.jump = 0; const now = Date.now; Date.now = () => now() + window.jump;"
    run = server.open_run("One")
    glass = tablets(run, PHONE, script=jump)
    glass.begin()
    before = glass.say(".time")
    for hours in (1, -2, 24):
        glass.page.evaluate(f"jump = {hours} * 3600e3")
        drawn = glass.say(".time")
        glass.wait(f"document.querySelector('.time').innerText !== {drawn!r}")
        minutes, seconds = (int(part) for part in glass.say(".time").split(":"))
        left = 60 * minutes + seconds
        minutes, seconds = (int(part) for part in before.split(":"))
        assert 0 <= 60 * minutes + seconds - left < 30


def test_the_clock_of_the_page(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    found = glass.page.evaluate("""async () => {
      const { makeClock } = await import("/static/bench/clock.js");
      let perf = 1000, wall = 5e12;
      const clock = makeClock({ perf: () => perf, wall: () => wall });
      const told = {};
      clock.learn(9e12, clock.steady());
      const made = clock.moment();
      perf += 60000; wall += 60000;
      told.age = clock.age(made);
      wall += 3600e3;                       // somebody sets the wall clock
      told.jumped = clock.age(made);
      clock.hidden(); wall += 120e3; perf += 500; clock.shown();   // the tablet slept two minutes
      told.slept = clock.age(made);
      clock.learn(clock.now() + 90, clock.steady());               // too near to jump for
      told.now = clock.now();
      const late = clock.moment(30);
      told.late = clock.age(late);
      const other = makeClock({ perf: () => 5, wall: () => wall + 10e3 });
      other.goOnFrom(clock.keep());
      told.reloaded = other.now() - clock.now();
      told.agedOver = other.age(clock.moment());
      return told;
    }""")
    assert found == {
        "age": 60, "jumped": 60, "slept": 180, "now": 9e12 + 180e3, "late": 30,
        "reloaded": 10e3, "agedOver": 10,
    }  # fmt: skip


def test_what_the_server_turns_down_is_told_and_kept(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE)

    def turn_down(route):
        sent = route.request.post_data_json["events"]
        told = [{"id": one["id"], "why": "the bottle is empty."} for one in sent]
        route.fulfill(json={"stored": [], "refused": told})

    glass.page.route("**/api/runs/*/events", turn_down)
    glass.begin()
    glass.wait_words("Refused: the bottle is empty.")
    assert glass.page.locator("[data-act=undo].off").count() == 1, "it never happened"
    glass.red("refused")
    glass.page.unroute("**/api/runs/*/events")
    glass.page.reload()
    glass.page.wait_for_selector("[data-act=start]")
    glass.act("start")
    glass.wait_words("refused 1")
    for act in ("more", "older", "turned", "offer"):
        glass.act(act)
    glass.page.wait_for_selector("[data-act=endWith]")
    glass.wait("!document.body.innerText.includes('efused')")


def test_words_from_people_are_never_markup(server, tablets, until):
    run = server.open_run("<b>One</b>")
    glass = tablets(run, PHONE)
    assert glass.say(".plate") == "<b>One</b>"
    glass.act("more")
    glass.act("remarks")
    glass.page.fill("input.words", "<img src=x onerror=alert(1)>")
    glass.press("Enter")
    until(lambda: "remark_made" in server.kinds(run))
    glass.act("more")
    glass.act("list")
    assert "<img src=x" in glass.say(".choices")
    assert glass.page.locator("main img, main b").count() == 0


def test_what_is_told_before_a_step_is_in_sight_on_a_phone(server, tablets):
    run = server.open_run("One")
    plate = server.up_to(run, "load")  # its coat took no time
    server.correct_last(run, "iodise", answer="wrong")
    server.advise(run, plate, "load", "45 % good (2–84; 116 plates). Stop.")
    glass = tablets(run, PHONE)
    glass.wait_words("45 % good")
    assert "If that is wrong, change the time" in glass.say("main")
    assert "The check of “Coat over iodine" in glass.say("main"), "whoever goes on with it is told"
    hand = "(() => { const at = document.querySelector('.hand');"
    assert glass.page.evaluate(hand + " return at.scrollHeight - at.clientHeight; })()") <= 1


def test_what_can_explode_is_the_first_of_the_cautions_in_sight(server, tablets):
    run = server.open_run("One")
    server.up_to(run, "iodise")
    glass = tablets(run, PHONE)
    told = glass.say(".next")
    assert "ammonia" in told
    assert "asthma" not in told.partition("ammonia")[0]


@pytest.mark.parametrize("size", [PHONE, SIDE], ids=["phone", "on its side"])
def test_over_iodine_the_colour_to_look_for_stands_whole_beside_a_plate_that_waits(
    server, tablets, size
):
    run = server.open_run("One", "Two")
    plate = server.up_to(run, "iodise")
    glass = tablets(run, size)
    for caution in server.state(run).cautions_due("iodise"):
        server.send(run, "caution_shown", None, "iodise", caution=caution.key)
    server.send(run, "step_begun", plate, "iodise")
    glass.wait_words("a few seconds more over")
    over = "document.querySelector('{0}').scrollHeight - document.querySelector('{0}').clientHeight"
    glass.wait(over.format(".hand") + " <= 1")
    glass.wait(over.format(".next") + " <= 1")
    assert glass.say(".next").endswith("."), "no caution is cut"
    glass.act("end")
    glass.page.wait_for_selector("[data-act=answer]")
    assert glass.page.locator(".waiting li").first.is_visible(), "the answers stand in pairs"


@pytest.mark.parametrize("size", [(360, 640), (667, 375)])
def test_every_caution_of_the_day_is_read_whole_on_a_small_screen(server, tablets, size):
    """Of five at once on a phone of 360 by 640 a third lay below the edge."""
    run = server.open_run("One", read=False)
    texts = [one.text for one in server.state(run).cautions_unread()]
    glass = tablets(run, size)
    seen = []
    while glass.page.locator("[data-act=readAll]").count():
        said = glass.say(".hand")
        glass.wait("document.querySelector('.hand').scrollHeight - "
                   "document.querySelector('.hand').clientHeight <= 1")  # fmt: skip
        seen += [text for text in texts if text in said]
        glass.act("readAll")
        glass.wait(f"!document.querySelector('.hand').innerText.includes({seen[-1]!r})")
    assert seen == texts


def test_no_more_is_left_than_was_planned(server, tablets):
    """Of 51.4 s planned, told as 51 s, not 0:52 is left."""
    run = server.open_run("One")
    plate = server.up_to(run, "iodise")
    for caution in server.state(run).cautions_due("iodise"):
        server.send(run, "caution_shown", None, "iodise", caution=caution.key)
    glass = tablets(run, PHONE, clock=True)
    body = {"planned_s": 51.4, "low_s": 30.0, "high_s": 86.0, "why": "box at 20 °C"}
    now = server.app.state.house.clock.now()
    changed = Event(new_id(), run, "duration_changed", now, plate, "iodise", body, "house")
    append(server.book, [changed])
    server.send(run, "step_begun", plate, "iodise")
    glass.wait_words("left of 51 s")
    assert glass.say(".time") <= "0:51"


def test_air_that_a_sensor_read_an_hour_ago_outside_the_run_says_how_warm_a_back_must_be(
    server, tablets
):
    run = server.open_run("One")
    at = server.app.state.house.clock.now() - timedelta(minutes=50)
    for what, value in (("room_c", 10.0), ("room_rh_pct", 80.0)):
        add_readings(server.book, [Reading(new_id(), what, value, "", at, "hygrometer")])
    server.up_to(run, "warm")
    glass = tablets(run, PHONE)
    glass.wait_words("Dew point 7 °C by the air read at")
