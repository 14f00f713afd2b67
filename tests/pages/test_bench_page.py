"""What a hand can do on the bench page, and what it says."""

from datetime import UTC, datetime, timedelta

PHONE = (390, 844)
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


def to_scour(glass):
    """Prepare the room, see the cautions of the first plate step."""
    for _ in range(6):
        glass.tap(GO)


def test_presses_nearer_than_a_third_of_a_second_and_held_keys_count_once(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE, fast=False)
    keyboard = glass.page.keyboard
    glass.page.wait_for_timeout(350)
    keyboard.press("Space")
    keyboard.press("Space")
    keyboard.press("Enter")
    glass.page.wait_for_timeout(350)
    keyboard.down("Space")
    for _ in range(5):
        keyboard.down("Space")  # a held key repeats
    glass.page.wait_for_timeout(350)
    keyboard.down("Space")
    keyboard.up("Space")
    until(lambda: "step_begun" in server.kinds(run))
    glass.page.wait_for_timeout(200)
    assert server.kinds(run)[-2:] == ["caution_shown", "step_begun"]


def test_a_touched_target_does_not_take_the_pedal(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.act("seen")
    glass.act("undo")  # by finger; then the pedal must not press undo again
    glass.press("Space")
    until(lambda: server.kinds(run).count("caution_shown") == 2)
    assert server.kinds(run).count("corrected") == 1
    assert server.state(run).shown == ("general",)


def test_undo_by_key_and_touch_within_ten_seconds(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE, clock=True)
    glass.tap(GO)
    glass.tap(GO)
    until(lambda: "step_begun" in server.kinds(run))
    glass.wait("document.querySelector('[data-act=undo]').innerText.includes('Begun')")
    glass.press("Backspace")
    until(lambda: server.state(run).plates[0].step("ready_room").state == "ready")
    glass.page.wait_for_selector("[data-act=begin]")
    glass.tap(GO)
    until(lambda: server.kinds(run).count("step_begun") == 2)
    glass.later(11)
    assert "off" in glass.page.get_attribute("[data-act=undo]", "class")
    glass.press("u")
    glass.later(1)
    glass.page.wait_for_timeout(300)
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


def test_cautions_come_first_and_each_is_asked_once(server, tablets, until):
    run = server.open_run("One", "Two")
    glass = tablets(run, PHONE)
    assert glass.page.locator("[data-act=begin]").count() == 0
    to_scour(glass)
    glass.act("plates")
    glass.tap(".choices button:nth-child(2)")
    glass.page.wait_for_selector("[data-act=begin]")  # seen for plate One, so seen for Two
    until(lambda: server.kinds(run).count("caution_shown") == 3)


def test_the_check_by_the_second_pedal_and_by_number(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    for _ in range(3):
        glass.press("Space")
    glass.press("ArrowLeft")
    assert glass.say(".choices .chosen") == "Doubtful"
    glass.press("PageDown")
    until(lambda: server.state(run).plates[0].step("ready_room").answer == "doubtful")
    glass.press("Backspace")
    glass.press("3")
    until(lambda: server.state(run).plates[0].step("ready_room").answer == "wrong")
    assert "Give this plate up?" in glass.say("h1")
    glass.act("giveUp")
    glass.tap(".choices button:nth-child(5)")
    until(lambda: server.state(run).plates[0].state == "abandoned")
    assert server.state(run).plates[0].why == "Broken"


def test_a_cold_box_lengthens_the_fuming_and_says_by_how_much(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    for _ in range(60):
        if "Coat over iodine" in glass.say("h1"):
            break
        glass.tap(GO)
    before = server.state(run).plates[0].step("iodise").planned_s
    glass.press("r")
    glass.tap(".choices button:nth-child(1)")
    for key in ("9", "Backspace", "1", "4", ",", "5"):
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
    for _ in range(120):
        if "End it early" in glass.page.inner_text("body"):
            break
        if glass.say("h1").startswith("Develop under") and "One" in glass.say(".plate"):
            glass.tap(GO)
            glass.act("plates")
            glass.tap(".choices button:nth-child(1)")
            continue
        glass.tap(GO)
    glass.act("end")
    assert "Press again" in glass.say(".action")
    plate = server.state(run).plates[0]
    assert plate.step("develop").state == "running"
    glass.act("end")
    until(lambda: server.state(run).plates[0].step("develop").state == "done")


def test_pause_and_late_entry(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.tap(GO)
    glass.tap(GO)
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
    assert step().ended <= pressed - timedelta(seconds=89)  # a minute and a half late
    assert step().elapsed_s == (step().ended - step().begun).total_seconds()


def test_silent_until_asked_then_the_words_of_each_step(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE, script=VOICE, clock=True)
    glass.tap(GO)
    glass.tap(GO)
    glass.later(2)
    assert glass.page.evaluate("said") == []
    glass.press("v")
    glass.later(1)
    glass.tap(GO)
    glass.tap(GO)  # the check
    glass.later(1)
    while "Scour" not in glass.say("h1"):
        glass.tap(GO)
        glass.later(0.5)
    glass.tap(GO)
    glass.later(1)
    said = glass.page.evaluate("said")
    assert said[0] == ["Voice on.", "Test"]
    rule = server.state(run).step("scour")
    assert [rule.speak, "Test"] in said
    assert any(words.startswith("Polish wet") for words, _ in said)
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
    glass.act("seen")
    glass.act("begin")
    glass.wait("tones.length >= 2")
    assert all(100 < hertz < 2000 for hertz in glass.page.evaluate("tones"))


def test_the_wall_clock_may_jump_and_the_time_left_does_not(server, tablets):
    jump = "window.jump = 0; const now = Date.now; Date.now = () => now() + window.jump;"
    run = server.open_run("One")
    glass = tablets(run, PHONE, script=jump)
    glass.tap(GO)
    glass.tap(GO)
    before = glass.say(".time")
    for hours in (1, -2, 24):
        glass.page.evaluate(f"jump = {hours} * 3600e3")
        glass.page.wait_for_timeout(400)
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
    glass.tap(GO)
    glass.wait_words("Turned down: the bottle is empty.")
    glass.red("turned down")
    glass.page.unroute("**/api/runs/*/events")
    glass.page.reload()
    glass.page.wait_for_selector("[data-act=start]")
    glass.act("start")
    glass.wait_words("turned down 1")
    for act in ("more", "older", "turned", "offer"):
        glass.act(act)
    glass.page.wait_for_selector("[data-act=begin]")
    glass.wait("!document.body.innerText.includes('urned down')")


def test_words_from_people_are_never_markup(server, tablets, until):
    run = server.open_run("<b>One</b>")
    glass = tablets(run, PHONE)
    assert glass.say(".plate").endswith(
        "<b>One</b>: before “Prepare the room; write down light and air”"
    )
    glass.act("more")
    glass.act("remarks")
    glass.page.fill("input.words", "<img src=x onerror=alert(1)>")
    glass.press("Enter")
    until(lambda: "remark_made" in server.kinds(run))
    glass.act("more")
    glass.act("list")
    assert "<img src=x" in glass.say(".choices")
    assert glass.page.locator("main img, main b").count() == 0
