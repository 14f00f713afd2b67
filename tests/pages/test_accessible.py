"""Every page in Chromium: axe finds nothing, by keyboard alone, at 320 px, in three looks.

axe-core (MPL-2.0) comes with the package axe-playwright-python; its rules are those of WCAG 2.2 AA
(W3C Recommendation, 2023) as far as a program can judge them.
"""

from __future__ import annotations

import os
import re
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from tests.bench_studio import Table
from tests.browser import picture_of
from tests.exchange.notebook.notebooks import two_forms
from tests.pages.conftest import LAN, Server
from tests.web.test_kept import Taught

from argentry.keeping.stock.baths import new_bath
from argentry.keeping.stock.lots import new_lot
from argentry.out.day.ahead import day_ahead
from argentry.out.day.page import day_view
from argentry.out.drawing.svg import drawing, text
from argentry.out.drawing.type import width as type_width
from argentry.records.material import LotFacts
from argentry.records.plain import plain
from argentry.web.guard import COOKIE

_spec = spec_from_file_location("day_fixture", Path(__file__).parents[1] / "out/day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)

RULES = """() => axe.run(document, { resultTypes: ["violations"], runOnly: { type: "tag",
  values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] } })"""
BUT_CONTRAST = RULES.replace(
    "{ resultTypes", "{ rules: { 'color-contrast': { enabled: false } }, resultTypes"
)
CONTRAST = """() => axe.run(document, { resultTypes: ["violations"],
  runOnly: { type: "rule", values: ["color-contrast"] } })"""
SIZES = [{"width": w, "height": h} for w, h in ((390, 844), (820, 1180), (1440, 900))]
OPEN = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"
# each piece of text with its colour and the ground it stands on, as the style gives them
COLOURS = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), told = [];
  while (walker.nextNode()) {
    const words = walker.currentNode.data.trim(), node = walker.currentNode.parentElement;
    if (!words || !node.getClientRects().length || node.closest("svg, script")) continue;
    let under = node;
    const clear = (one) => getComputedStyle(one).backgroundColor === "rgba(0, 0, 0, 0)";
    while (under.parentElement && clear(under)) under = under.parentElement;
    const ground = getComputedStyle(under).backgroundColor;
    told.push([words.slice(0, 30), getComputedStyle(node).color, ground]);
  }
  return told;
}"""
# all that the contrast of a text depends on, which is dear to judge: it is judged once for each
STYLES = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), told = new Set();
  while (walker.nextNode()) {
    const node = walker.currentNode.parentElement, look = getComputedStyle(node);
    if (!walker.currentNode.data.trim() || !node.getClientRects().length) continue;
    const parts = [look.color, look.fill, look.fontSize, look.fontWeight, look.textShadow];
    for (let under = node; under; under = under.parentElement) {
      const { backgroundColor, backgroundImage, opacity } = getComputedStyle(under);
      parts.push(backgroundColor, backgroundImage, opacity);
    }
    told.add(parts.join("|"));
  }
  return [...told];
}"""
# of each table whose head is shown: how far its heads stand from what they are the heads of
ASKEW = """() => [...document.querySelectorAll("table:has(thead)")].flatMap((table) => {
  const left = (row) => [...row.cells].map((cell) => cell.getBoundingClientRect().left);
  const head = table.tHead.rows[0], row = table.tBodies[0]?.rows[0];
  if (!row || !head.getClientRects().length) return [];
  const under = left(row);
  return left(head).map((x, at) => Math.abs(x - (under[at] ?? x))).filter((far) => far > 1);
})"""
SHOTS = os.environ.get("ARGENTRY_SHOTS", "")
LONG = "Sodium thiosulfate pentahydrate"
PATHS = (
    "/", "/runs", "/plates", "/plates/Q-1", "/learned", "/meter", "/weather", "/devices", "/clock",
    "/studio", "/search?q=q", "/search?q=nothing", "/terms", "/notebook", "/runs/{run}",
    "/materials", "/nothing", "/pair",
)  # fmt: skip
# what a person who uses no mouse meets on a page: where the focus is, and whether it is seen
FOCUS = """() => {
  const node = document.activeElement;
  if (!node || node === document.body) return null;
  const box = node.getBoundingClientRect(), look = getComputedStyle(node);
  return { tag: node.tagName, name: node.textContent.trim().slice(0, 40) || node.id,
    seen: box.width > 0 && look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2 };
}"""
REACHED = """() => [...document.querySelectorAll("main a, main button, main input, main select,"
  + "main textarea, main summary, nav a, footer button")].filter((node) => node.type !== "hidden"
  && node.checkVisibility()).length"""


class Process:
    """Stands for the process that plans."""

    awake = True

    async def ask(self, question):
        plan = fixture.make_plan(2)
        if "ahead" in question:
            return plain(day_ahead(plan)) | {"date": question["ahead"]}
        return plain(day_view(plan, by_rule=question.get("by_rule", False)))

    async def close(self):
        pass


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    server = Server(tmp_path_factory.mktemp("pages") / "studio")
    days = server.app.state.days
    days.helper = days._quick = Process()
    server.app.state.taught._helper = Taught(server.app.state.house)
    house = server.app.state.house
    table = Table(server.book, house.studio)
    table.clock = house.clock
    table.open("Q-1", "Q-2", title="Morning")
    old = house.clock.now().replace(year=2025)
    opened = LotFacts(opened_on=old.date())
    new_lot(server.folder, LONG, 1.0, "kg", received_on=old.date(), facts=opened)
    new_bath(server.folder, "Hypo 7, the tray by the window", "fix", 500.0, mixed_at=old)
    new_lot(server.folder, "Iodine 1", 25.0, "g")
    server.run = table.run
    yield server
    server.close()


def shown(page, served, path, look, width, height):
    """Show a page in a look and a width, and wait until it is whole."""
    base = f"http://localhost:{served.port}"
    page.set_viewport_size({"width": width, "height": height})
    page.context.add_cookies([{"name": "argentry_look", "value": look, "url": base}])
    page.goto(base + path.format(run=served.run))
    if path == "/":
        page.locator("[data-state=whole]").wait_for()
        page.locator("#days [data-left='0']").wait_for()
    if path == "/learned":
        page.locator("#taught:not([data-old])").wait_for()
    return page


@pytest.fixture
def opened(chromium, served):
    """Opens a page in a look and a width."""
    contexts = []

    def go(path, look="light", width=390, height=844):
        context = chromium.new_context(reduced_motion="reduce")
        contexts.append(context)
        return shown(context.new_page(), served, path, look, width, height)

    yield go
    for context in contexts:
        context.close()


@pytest.fixture(scope="module")
def window(chromium):
    """One window for what is only looked at: a process of the browser, which knows axe already."""
    context = chromium.new_context(reduced_motion="reduce")
    yield context.new_page()
    context.close()


def ratio(one, other):
    """Contrast of two colours by WCAG 2.2, "relative luminance" and "contrast ratio"."""

    def luminance(colour):
        parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def violations(page, rules=RULES):
    """Return what axe finds on a page, everything on it opened."""
    page.evaluate(OPEN)
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    return [
        (one["id"], node["html"][:100])
        for one in page.evaluate(rules)["violations"]
        for node in one["nodes"]
    ]


def judged(page, name, *, looks=("dark", "red")):
    """Hold a page that is open against axe, in three widths and three looks, and at 320 px.

    Axe does not judge colours below the layer that keeps a page red: they are computed here.
    """
    page.evaluate(OPEN)
    known = set()
    for size in SIZES:
        page.set_viewport_size(size)
        styles = set(page.evaluate(STYLES))
        rules = BUT_CONTRAST if styles <= known else RULES
        assert violations(page, rules) == [], (name, size)
        known |= styles
        assert page.evaluate(ASKEW) == [], (name, size)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], (name, size)  # baths were 213 px over at 820
        kept(page, name, "light")
    for look in looks:
        page.evaluate("(look) => { document.documentElement.className = look; }", look)
        for size in SIZES if SHOTS else ():
            page.set_viewport_size(size)
            kept(page, name, look)
        if look == "red":
            told = page.evaluate(COLOURS)
            assert [one for one in told if ratio(one[1], one[2]) < 4.5] == [], name
        else:
            assert violations(page, CONTRAST) == [], (name, look)
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320, name
    # letters set to twice their size: an address in a sentence is broken, and so is a time
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320, name


def kept(page, name, look):
    """Keep a picture of a page where ARGENTRY_SHOTS says, to be looked at."""
    if SHOTS:
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        file = (
            f"{name.strip('/').replace('/', '-') or 'today'}-{look}-{page.viewport_size['width']}"
        )
        page.screenshot(path=Path(SHOTS) / f"{file}.png", full_page=True)


def reached(page):
    """Reach every control by the key Tab, and see where the focus is."""
    wanted = page.evaluate(REACHED)
    page.keyboard.press("Tab")
    assert page.evaluate(FOCUS)["name"] == "Skip to the content"
    seen = []
    for _ in range(wanted + 20):
        page.keyboard.press("Tab")
        focus = page.evaluate(FOCUS)
        if focus is None:
            break
        assert focus["seen"], focus
        seen.append(focus["tag"])
    assert len(seen) >= wanted


@pytest.mark.parametrize("path", PATHS)
def test_every_control_is_reached_by_tab_and_axe_finds_nothing_at_any_width_or_look(
    window, served, path
):
    page = shown(window, served, path, "light", 820, 844)
    reached(page)
    judged(page, path.partition("?")[0])


def test_axe_finds_nothing_on_the_bench(opened):
    page = opened("/bench/{run}")
    page.locator("[data-act]").first.wait_for()
    judged(page, "bench", looks=())


def test_axe_finds_nothing_on_the_studio_file_of_a_tablet(chromium, served):
    context = chromium.new_context(viewport=SIZES[0], reduced_motion="reduce")
    cookie = {"name": COOKIE, "value": served.token, "domain": LAN, "path": "/"}
    context.add_cookies([cookie])
    page = context.new_page()
    page.goto(f"http://{LAN}:{served.port}/studio")
    page.locator("pre").wait_for()
    judged(page, "studio of a tablet")
    context.close()


def test_axe_finds_nothing_on_the_columns_of_a_notebook(opened, tmp_path):
    page, notebook = opened("/notebook"), two_forms()
    (tmp_path / notebook.name).write_bytes(notebook.content)
    page.set_input_files("#file", tmp_path / notebook.name)
    page.click("main button")
    page.locator("main select").first.wait_for()
    judged(page, "columns")


def test_axe_would_find_what_is_wrong(opened):
    page = opened("/plates")
    page.evaluate("document.querySelector('label[for=find]').remove()")
    page.evaluate("document.querySelector('h1').style.color = '#cfc7b4'")
    assert {"label", "color-contrast"} <= {rule for rule, _ in violations(page)}


def test_axe_would_find_what_is_hard_to_read_at_one_width_alone(opened):
    page = opened("/nothing")
    page.evaluate("""() => {
      const sheet = new CSSStyleSheet();
      sheet.replaceSync("@media (min-width: 1000px) { h1 { color: #300 !important } }");
      document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
    }""")
    with pytest.raises(AssertionError, match=r"(?s)1440.*color-contrast"):
        judged(page, "nothing")


def test_the_skip_link_leads_past_the_navigation(opened):
    page = opened("/plates")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


@pytest.mark.parametrize("path", ["/", "/runs", "/learned", "/materials", "/meter", "/studio"])
def test_a_red_page_has_neither_green_nor_blue(window, served, path):
    page = shown(window, served, path, "red", 820, 844)
    high = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": 820, "height": high})  # all of it at once
    picture = picture_of(page)
    (_, most_red), green, blue = picture.getextrema()
    assert (most_red, green, blue) == (255, (0, 0), (0, 0))


def test_words_tell_their_meaning(opened):
    page = opened("/")
    word = page.locator("button.term", has_text="good plates").first
    word.scroll_into_view_if_needed()
    assert "fine" in word.get_attribute("title")
    word.focus()
    page.keyboard.press("Enter")
    note = page.locator("[popover]:popover-open")
    assert "Plates graded good or fine" in note.inner_text()
    page.keyboard.press("Escape")
    assert page.locator("[popover]:popover-open").count() == 0
    marked = page.locator("button.term").all_text_contents()
    assert len(marked) == len({text.lower() for text in marked}) > 3
    page.evaluate("document.querySelector('#order').innerHTML = '<p>The dose is told.</p>'")
    page.locator("#order button.term", has_text="dose").wait_for()
    # a drawing's words are as wide as it was drawn for: on a phone of 320 px labels were cut
    small = drawing(340.0, 20.0, "A label", [text(0, 14, "2026-06-21/1", size=12.0)])
    page.evaluate("(svg) => { document.querySelector('#order').innerHTML = svg; }", small)
    page.set_viewport_size({"width": 320, "height": 640})
    wide = page.evaluate("document.querySelector('#order svg text').getBBox().width")
    assert wide == pytest.approx(type_width("2026-06-21/1", 12.0), rel=0.02)


def test_a_wish_plans_again_in_place(opened, served):
    page = opened("/", width=820)
    asked = []
    days = served.app.state.days

    class Slow(Process):
        async def ask(self, question):
            asked.append(question)
            return await super().ask(question)

    days.helper = days._quick = Slow()
    page.locator("input[aria-label='Plates, by a slider']").fill("3")
    page.locator("#plan[aria-busy]").wait_for(state="detached")
    page.locator("[data-state=whole]").wait_for()
    assert page.locator("#plan svg:visible .ghost rect").count() > 4
    kept(page, "ghost", "light")
    assert [(one["plates"], one["by_rule"]) for one in asked] == [(3, True), (3, False)]
    assert page.url.endswith("/?count=3")
    assert page.input_value("#count") == "3"
    page.reload()
    page.locator("[data-state=whole]").wait_for()
    assert page.input_value("#count") == "3"
    assert len(asked) == 2
    assert page.locator(".ghost").count() == 0  # taken: it was shown again since
    page.locator("#start").fill("09:30")
    page.locator("#plan[aria-busy]").wait_for(state="detached")
    page.get_by_role("button", name="Go back to it").click()
    page.locator("#plan[aria-busy]").wait_for(state="detached")
    assert page.url.endswith("/?count=3")
    assert page.locator(".ghost").count() == 0
    asked.clear()
    page.get_by_label("Seal and label another day").select_option("yes")
    page.locator("#plan[aria-busy]").wait_for(state="detached")
    assert asked[-1]["wished"] == {"seal_later": "yes"}
    page.locator("#lamp").fill("x")
    served.app.state.days.helper = served.app.state.days._quick = Refusing()
    page.locator("#lamp").blur()
    page.get_by_role("alert").filter(has_text="is not a lamp").wait_for()


def shown_again(page):
    """Let the first page ask again what it shows, as it does each minute; return what it asked."""
    with page.expect_response("**/today/plan*") as answer:
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.locator("#plan[aria-busy]").wait_for(state="detached")
    return answer.value.url


def test_what_is_read_and_held_stays_when_the_page_shows_itself_again(opened):
    page = opened("/", width=820)
    page.evaluate("window.held = document.querySelector('#plan .parts')")
    page.locator("#plan .parts").first.focus()
    page.keyboard.press("Enter")
    shown_again(page)  # nothing is new: nothing is built anew
    assert page.evaluate("document.activeElement === held")
    assert page.locator("#plan [popover]:popover-open").count() == 1

    rest = page.locator("#order details", has_text="What these figures rest on")
    rest.evaluate("(one) => { one.open = true; }")
    more = "<details><summary>5 more notes</summary></details>"
    order = '<section aria-label="Order of the day">'

    def changed(route):
        answer = route.fetch()
        body = answer.text().replace("begin at", "start at").replace(order, order + more)
        route.fulfill(response=answer, body=body)

    page.route("**/today/plan*", changed)
    shown_again(page)
    assert "start at" in page.inner_text("#plan")
    open_ones = "[...document.querySelectorAll('#order details')].map((one) => one.open)"
    assert page.evaluate(open_ones) == [False, True]
    assert not page.evaluate("held.isConnected")
    assert page.evaluate("document.activeElement === document.querySelector('#plan .parts')")
    assert page.locator("#plan [popover]:popover-open").count() == 1
    page.locator("#lamp").fill("500 W a")  # a wish half written is not asked yet
    assert "lamp" not in shown_again(page)
    assert page.input_value("#lamp") == "500 W a"


class Refusing(Process):
    async def ask(self, question):
        return {"refused": "--lamp: 'x' is not a lamp; write its power."}


@pytest.mark.parametrize("look", ["dark", "red"])
def test_on_paper_every_look_is_dark_on_white(opened, look):
    page = opened("/plates", look, 820)
    page.emulate_media(media="print")
    told = page.evaluate(COLOURS)
    assert all(ratio(colour, ground) >= 4.5 for _, colour, ground in told)
    picture = picture_of(page)
    assert picture.getpixel((5, 5)) == (255, 255, 255)


def test_on_paper_a_record_is_whole_and_asks_nothing(opened):
    page = opened("/plates/Q-1", width=820)
    page.evaluate("""document.querySelector("main").innerHTML += `
      <details id="told"><summary>Conditions</summary><p>143 nm</p></details>
      <details id="asks"><summary>The label is wrong</summary><form><p>New</p></form></details>`""")
    seen = "(of) => document.querySelector(of).checkVisibility({ contentVisibilityAuto: true })"
    assert not page.evaluate(seen, "#told p")
    page.emulate_media(media="print")
    page.wait_for_function(seen, arg="#told p")  # known once the next frame is laid out
    assert page.evaluate(seen, "#told summary")
    assert not page.evaluate(seen, "#asks summary")
