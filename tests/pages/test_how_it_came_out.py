"""How a plate came out, asked on the bench: four presses for a lost plate with one defect."""

import json

import pytest

from argentry.bench.hands import Hands, hands_free
from argentry.bench.questions import (
    OVER,
    answered,
    body,
    choices,
    new_form,
    question,
    remarked,
)
from argentry.book.makings import makings

PHONE, TABLET, SIDE = (390, 844), (820, 1180), (844, 390)


def finished(server, *labels):
    """Open a run whose plates are finished, by another device."""
    run = server.open_run(*labels)
    for order in range(len(labels)):
        plate = server.up_to(run, "label", order)
        server.send(run, "step_begun", plate, "label")
        server.send(run, "step_ended", plate, "label")
    return run


def grading(server, run, order=0):
    return server.state(run).plates[order].grading


@pytest.mark.parametrize("size", [TABLET, SIDE], ids=["tablet", "side"])
def test_four_presses_for_a_lost_plate_with_one_defect(server, tablets, until, size):
    run = finished(server, "One")
    glass = tablets(run, size)
    assert glass.say(".plate") == "How did One come out?"
    for words in ("Lost", "Development", "Grey veil overall", "Under"):
        assert glass.red(f"before {words}") == 255
        row = glass.page.locator(".row button").all_inner_texts()
        assert row[-1].strip("› ") == "Later", "later is always the last choice"
        glass.tap(f"button:has-text({words!r})")
    until(lambda: grading(server, run))
    told = grading(server, run)
    assert (told.grade, told.verdict, told.defects) == ("lost", "under", (("fog", "development"),))
    # coat and exposure lasted a moment by the bench's clock: it does not call them well
    assert dict(told.stages) == {"polish": "ok", "development": "fault"}
    glass.wait_words("lost, grey veil overall")
    glass.act("undo")
    until(lambda: server.state(run).plates[0].grade_due)
    assert glass.say(".plate") == "How did One come out?"
    assert glass.errors == []


def test_by_numbers_and_back(server, tablets, until):
    run = finished(server, "One")
    glass = tablets(run, PHONE)
    glass.press("3")  # good
    assert "which stage" in glass.say(".plate")
    glass.press("Backspace")
    assert glass.say(".plate") == "How did One come out?"
    glass.press("4")  # fine: only the exposure is asked
    assert "how was the exposure" in glass.say(".plate")
    glass.press("3")
    until(lambda: grading(server, run))
    assert (grading(server, run).grade, grading(server, run).verdict) == ("fine", "right")


def test_by_pedal_every_answer_is_reached_and_later_is_the_first(server, tablets, until):
    run = finished(server, "One")
    glass = tablets(run, PHONE)
    assert glass.say(".row .chosen").strip("› ") == "Later"
    for _ in range(2):
        glass.press("PageUp")
    assert glass.say(".choices .chosen") == "Study"
    glass.press("PageDown")
    for _ in range(1):
        glass.press("ArrowLeft")
    glass.press("Space")  # polish
    for _ in range(11):  # past the first page of ten
        glass.press("ArrowLeft")
    assert glass.page.locator(".choices .chosen").count() == 1
    assert "2 of 2" in glass.say(".row")
    glass.press("Space")
    glass.press("Space")
    until(lambda: server.state(run).plates[0].put_off)
    assert grading(server, run) is None


def test_later_is_kept_and_the_plate_is_graded_from_the_closed_run(server, tablets, until):
    run = finished(server, "One", "Two")
    glass = tablets(run, PHONE)
    glass.tap("text=Later")
    until(lambda: server.state(run).plates[0].put_off)
    glass.tap("text=Fine")
    glass.tap("text=Right")
    glass.act("closeNow")
    until(lambda: server.state(run).state == "closed")
    other = tablets(run, TABLET, begin=False)
    assert "This run is over." in other.say("h1")
    other.act("start")
    other.wait_words("One: not graded yet")
    other.red("not graded yet")
    other.act("plates")
    other.tap(".choices button:nth-child(1)")
    other.tap("text=Study")
    other.tap("text=Cannot say")
    other.tap("text=Over")
    until(lambda: grading(server, run))
    assert (grading(server, run).grade, grading(server, run).verdict) == ("study", "over")
    other.act("plates")  # and again: the newest counts
    other.tap(".choices button:nth-child(1)")
    other.tap("text=Good")
    other.tap("text=Finish")
    other.tap("text=Brown spots")
    other.tap("text=Right")
    until(lambda: grading(server, run).grade == "good")
    assert grading(server, run).defects == (("brown_spots", "finish"),)


def test_a_remark_that_names_a_defect_becomes_it(server, tablets, until):
    run = finished(server, "One")
    plate = server.state(run).plates[0].id
    server.send(run, "remark_made", plate, "iodise", words="an uneven coat, I fear")
    glass = tablets(run, PHONE)
    glass.wait_words("How did One come out?")
    glass.tap("text=Lost")
    glass.tap("text=Noted: light middle or edge")
    glass.tap("button:has-text('Remark')")
    glass.page.fill("input.words", "Fog, and the sun was low")
    glass.press("Enter")
    assert "is that the defect “grey veil overall”?" in glass.say(".plate")
    glass.tap("text=Yes, note it")
    glass.tap("text=Cannot say")
    until(lambda: grading(server, run))
    told = grading(server, run)
    assert told.defects == (("uneven_coat", "coat"), ("fog", "coat"))
    assert told.words == "Fog, and the sun was low"


def test_without_a_link_it_asks_in_the_same_words_and_tells_afterwards(server, tablets, until):
    run = finished(server, "One")
    glass = tablets(run, PHONE)
    glass.page.context.set_offline(True)
    glass.wait_words("no link")
    for words in ("Study", "Exposure", "Out of focus", "Right"):
        glass.tap(f"button:has-text({words!r})")
    glass.wait_words("1 kept here")
    assert grading(server, run) is None
    glass.page.context.set_offline(False)
    until(lambda: grading(server, run))
    assert grading(server, run).defects == (("out_of_focus", "exposure"),)


def test_what_waits_stands_on_the_first_page_until_it_is_graded_on_the_bench(
    server, tablets, until
):
    run = finished(server, "One")
    glass = tablets(run, PHONE)
    glass.tap("text=Later")
    until(lambda: server.state(run).plates[0].put_off)
    desk = glass.page.context.new_page()
    base = glass.page.url.split("/bench/")[0]
    desk.goto(f"{base}/")
    assert "Waits for a grade" in desk.inner_text("body")
    glass.act("plates")
    glass.tap(".choices button:nth-child(1)")
    for words in ("Lost", "Coat", "Streaks in the coat", "Under"):
        glass.tap(f"button:has-text({words!r})")
    until(lambda: grading(server, run))
    desk.goto(f"{base}/")
    assert "Waits for a grade" not in desk.inner_text("body")
    (making,) = makings(server.book, server.state(run).plates[0].id)
    assert (making.run, making.grade, making.verdict) == (run, "lost", "under")
    assert making.defects == (("iodine_streaks", "coat"),)
    assert making.stages["coat"] == "fault"


PATHS = [
    (False, ["lost", "development", "fog", "another", "coat", "blues", "under"], ""),
    (False, ["lost", "uneven_coat coat", "another", "exposure", "unsaid", "unsaid"], ""),
    (False, ["fine", "right"], "fog and bubbles"),
    (False, ["good", "unsaid", "over"], ""),
    (False, ["study", "later"], ""),
    (True, ["no_time"], ""),
    (True, ["fault", "uneven_coat coat"], ""),
    (True, ["fault", "finish", "another", "polish", "scratches"], ""),
]


def test_the_page_asks_as_the_terminal_does(server, tablets):
    """The same questions, choices and events from both, answer by answer."""
    run = finished(server, "One")
    plate = server.state(run).plates[0].id
    server.send(run, "remark_made", plate, "iodise", words="uneven coat")
    state = server.state(run)
    glass = tablets(run, PHONE)
    glass.wait_words("How did One come out?")
    found = glass.page.evaluate(TWIN, [run, plate, PATHS])
    for (gives_up, keys, words), told in zip(PATHS, found, strict=True):
        form = new_form(state, plate, gives_up=gives_up)
        asked = []
        for key in keys:
            asked.append(
                [question(form), [list(one) for one in choices(form) if one[0] != "later"]]
            )
            form = answered(form, key)
            if words and form.asking == "exposure":
                form = remarked(form, words)
                while form.asking == "named":
                    asked.append([question(form), [list(o) for o in choices(form)][:2]])
                    form = answered(form, "yes")
        assert form.asking in OVER
        own = {} if form.asking == "later" else body(form, state.plates[0], state)
        assert told == json.loads(json.dumps([asked, own]))
    assert glass.page.evaluate(FREE_TWIN, WANTS) == [
        not hands_free([Hands(plate="B", label="B", action="", left_s=None, keep_left_s=None,
                              waits_for=None, **one)])
        for one in WANTS
    ]  # fmt: skip


WANTS = [
    {"step": "iodise", "want": want, "in_s": in_s, "planned_in_s": planned_s, "check": check}
    for want, in_s, planned_s, check in (
        ("begin", 0.0, 1201.0, None), ("begin", 0.0, 1199.0, None), ("begin", 0.0, None, None),
        ("begin", 0.0, 1201.0, "buff"), ("begin", 0.0, 1201.0, "iodise"),
        ("wait", 1201.0, None, None), ("wait", 1199.0, None, None), ("left_out", None, None, None),
        ("paused", None, None, None), ("ripe", -1.0, None, None), ("busy", 0.0, None, None),
    )
]  # fmt: skip
FREE_TWIN = """async (wants) => {
  const { inHand } = await import("/static/bench/glance.js");
  const due = [{ grade_due: true, put_off: false }];
  return wants.map((want) => inHand({ hands: [want], plates: due }, null) !== null);
}"""


TWIN = """async ([run, plate, paths]) => {
  const { answered, choices, newForm, question, remarked, toldBy } = await import(
    "/static/bench/questions.js");
  const { fold } = await import("/static/bench/fold.js");
  const { events } = await (await fetch(`/api/runs/${run}`)).json();
  const state = fold(events);
  return paths.map(([givesUp, keys, words]) => {
    let form = newForm(state, plate, givesUp);
    const asked = [];
    for (const key of keys) {
      asked.push([question(form), choices(form)]);
      form = answered(form, key);
      if (words && form.asking === "exposure") {
        form = remarked(form, words);
        while (form.asking === "named") {
          asked.push([question(form), choices(form)]);
          form = answered(form, "yes");
        }
      }
    }
    return [asked, toldBy(form, state).body];
  });
}"""


CAME = """async (plates) => {
  const { overWords } = await import("/static/bench/screens.js");
  return plates.map((plate) => overWords({ grading: null, grade_due: false, ...plate }));
}"""


def test_a_plate_that_a_closed_run_never_finished_is_not_said_to_be(blank):
    """The second of two, never begun, was "finished" once the run was closed."""
    plates = [
        {"state": "open", "begun": False},
        {"state": "open", "begun": True},
        {"state": "done", "begun": True},
        {"state": "done", "begun": True, "grade_due": True},
        {"state": "abandoned", "begun": True, "why": "scratched"},
    ]
    said = ["not begun", "not finished", "finished", "not graded yet", "given up: scratched"]
    assert blank.evaluate(CAME, plates) == said
