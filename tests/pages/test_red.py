"""No pixel of the bench has green or blue in it, whatever happens; targets fit gloves."""

import pytest

PHONE, TABLET, SIDE = (390, 844), (820, 1180), (844, 390)
SIZES = pytest.mark.parametrize("size", [TABLET, SIDE], ids=["tablet", "side"])
# 20 mm at 150 px to the inch; a phone on its side has room for 16 mm only
SMALLEST = {PHONE: 120, TABLET: 120, SIDE: 96}
TARGETS = """() => [...document.querySelectorAll("button")].map((node) => {
  const box = node.getBoundingClientRect();
  return [node.dataset.act, box.width, box.height, box.left >= -0.5 && box.top >= -0.5
    && box.right <= innerWidth + 0.5 && box.bottom <= innerHeight + 0.5];
})"""


def fits(glass, size):
    for act, width, height, inside in glass.page.evaluate(TARGETS):
        assert min(width, height) >= SMALLEST[size] - 0.5, act
        # a long list may be pushed by a finger on a low screen
        assert inside or size == SIDE, act


@SIZES
def test_every_screen_is_pure_red_and_fits(server, tablets, size):
    run = server.open_run("One", "Two", "Three", read=False)
    glass = tablets(run, size, begin=False)

    def look(name):
        assert glass.red(name) == 255
        fits(glass, size)

    look("ready")
    glass.act("start")
    while glass.page.locator("[data-act=readAll]").count():
        look("cautions of the day")
        glass.act("readAll")
    look("begin")
    glass.act("begin")
    look("running")
    glass.tap("[data-act=endWith] >> nth=2")
    look("wrong")
    glass.act("giveUp")
    look("give up")
    glass.tap("text=Something was wrong")
    look("give up, defects")
    for act in ("formBack", "formBack", "keepOn"):
        glass.act(act)
    look("caution")
    for way in (["plates"], ["more"], ["more", "readings"], ["more", "remarks"], ["more", "list"],
                ["more", "redo"], ["more", "skip"], ["more", "older"],
                ["more", "older", "daylight"], ["more", "older", "close"]):  # fmt: skip
        for act in way:
            glass.act(act)
        look(" ".join(way))
        if way[-1] == "close":  # which plates, and what each waits for
            assert {"One", "Two", "Three"} <= set(glass.say(".waiting").split())
        glass.act("back")
    glass.act("more")
    glass.act("readings")
    glass.tap("text=Iodine box")
    look("pad")
    for key in "14.5":
        glass.page.keyboard.press(key)
    look("pad filled")
    glass.act("write")
    look("after a reading")
    glass.act("more")
    glass.act("list")
    glass.act("event")
    look("event")
    assert glass.errors == []


@SIZES
def test_going_back_is_pure_red_and_fits(server, tablets, size):
    run = server.open_run("One", "Two", "Three")
    plate = server.up_to(run, "load")
    line = "38 % good (22–55; 116 plates). Redo the coat."
    server.advise(run, plate, "load", line, back_to="rouge_buff", stage="coat")
    glass = tablets(run, size)

    def look(name):
        assert glass.red(name) == 255
        fits(glass, size)

    glass.wait_words("38 % good")
    look("again as advised")
    glass.press("ArrowLeft")
    look("again chosen")
    while glass.page.evaluate("document.activeElement.dataset?.act") != "redoNow":
        glass.page.keyboard.press("Tab")
    look("again in focus")
    for act in ("more", "redo"):
        glass.act(act)
    look("again from")
    glass.act("older")
    look("again from, further")
    glass.tap(".choices button:nth-child(1)")
    look("gone back")
    for act in ("more", "list"):
        glass.act(act)
    look("what happened, gone back")
    assert glass.errors == []


def test_the_written_remark_its_caret_and_choice_of_text_are_red(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.act("more")
    glass.act("remarks")
    field = glass.page.locator("input.words")
    # in the dark the tablet's own bright keyboard must stay away
    assert field.get_attribute("inputmode") == "none"
    field.focus()
    glass.red("caret and placeholder")
    glass.page.keyboard.type("a long streack, upper left")
    glass.page.keyboard.press("Control+A")
    glass.red("chosen text")
    glass.press("Enter")
    until(lambda: "remark_made" in server.kinds(run))
    assert server.state(run).remarks[0].words == "a long streack, upper left"


def test_while_it_loads_it_is_black(server, tablets, until):
    run = server.open_run("One")
    seen = tablets(run, PHONE)
    page = seen.page
    waiting = []

    def hold(route):
        waiting.append(route)

    for held in ("**/bench.css", "**/bench.js", "**/api/runs/**"):
        page.route(held, hold)
        page.goto(page.url, wait_until="commit")
        until(lambda: waiting)
        seen.red(f"held {held[3:8]}")
        for route in waiting:
            route.continue_()
        waiting.clear()
        page.unroute(held)
        page.wait_for_selector("[data-act=start]")


def test_without_its_look_it_shows_words_only(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    glass.page.route("**/bench.css", lambda route: route.abort())
    glass.page.reload()
    glass.wait_words("did not load")
    assert glass.page.locator("button").count() == 0
    glass.red("no look")


@pytest.mark.parametrize("media", ["forced", "light", "dark", "contrast"])
def test_the_tablets_own_wishes_do_not_break_it(server, tablets, media):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    wish = {
        "forced": {"forced_colors": "active"},
        "light": {"color_scheme": "light"},
        "dark": {"color_scheme": "dark"},
        "contrast": {"contrast": "more"},
    }[media]
    glass.page.emulate_media(**wish)
    glass.red(media)
    glass.act("more")
    glass.red(media)


def test_errors_and_pairing_are_red(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    base = glass.page.url.split("/bench/")[0]
    for path in (f"/bench/{run[:-4]}0000", "/bench/none", "/pair"):
        glass.page.goto(base + path)
        glass.red(path[:7])
    glass.page.focus("input")
    glass.red("pairing focus")
    # the run vanishes for a page that is open: shown by the page itself
    glass.page.route(
        "**/api/runs/*",
        lambda route: route.fulfill(status=404, json={"error": "There is no run like that."}),
    )
    glass.page.goto(f"{base}/bench/{run}")
    glass.wait_words("There is no run like that.")
    glass.red("no such run")


def test_dimming_has_four_levels_and_is_remembered(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE, begin=False)
    levels = [glass.red("full")]
    for _ in range(3):
        glass.act("dim")
        levels.append(glass.red("dimmed"))
    assert levels == [255, 160, 84, 36]
    glass.page.reload()
    glass.page.wait_for_selector("[data-act=start]")
    assert glass.red("dimmed after a reload") == 36
    glass.act("dim")
    assert glass.red("full again") == 255


def test_daylight_look_only_on_purpose_and_never_after_a_reload(server, tablets):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    for act in ("more", "older", "daylight"):
        glass.act(act)
    glass.red("asked first")
    glass.act("paper")
    picture = glass.picture("paper")
    assert picture.getpixel((3, 3)) == (247, 243, 233)
    glass.page.reload()
    glass.page.wait_for_selector("[data-act=start]")
    glass.red("black again")


@SIZES
def test_time_is_the_largest_and_words_can_be_read(server, tablets, size):
    run = server.open_run("One", "Two")
    glass = tablets(run, size)
    glass.begin()
    sizes = glass.page.evaluate("""() => {
      const px = (node) => parseFloat(getComputedStyle(node).fontSize);
      const of = (what) => px(document.querySelector(what));
      const all = [...document.querySelectorAll("main *")].filter((one) => one.textContent);
      return { time: of(".time"), word: of(".word"), rest: Math.min(...all.map(px)),
        largest: Math.max(...all.filter((one) => !one.matches(".time")).map(px)),
        smaller: Math.min(innerWidth, innerHeight) };
    }""")
    assert sizes["time"] >= 0.18 * sizes["smaller"]
    assert sizes["time"] > 1.5 * sizes["largest"]
    assert sizes["word"] == sizes["largest"] or size == SIDE
    assert sizes["rest"] >= 20
