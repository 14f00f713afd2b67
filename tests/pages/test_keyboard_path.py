"""The maker's whole path by keyboard alone: open a run, work it, close it, grade, read, plan."""

from datetime import timedelta

from tests.pages.conftest import FAST, HEARD, SMALL, Glass, until

from argentry.book.makings import makings

PHONE = (390, 844)
MOST_BENCH, MOST_DESK = 52, 22  # presses; docs/bench.md tells them
ASKED = "document.querySelector('.plate')?.innerText.startsWith('How did')"
ENDS = "[data-act=end], [data-act=endWith]"
SCREEN = """[document.querySelector("h1")?.innerText, document.querySelector(".plate")?.innerText,
  ...[...document.querySelectorAll("[data-act]")].map(one => one.dataset.act)].join()"""
FOCUS = """(() => { const at = document.activeElement, look = getComputedStyle(at);
  const box = at.getBoundingClientRect();
  return { words: at.innerText || at.id, id: at.id, drawn: look.outlineStyle,
    wide: parseFloat(look.outlineWidth), top: box.top + scrollY, left: box.left }; })()"""


class Keys(Glass):
    """A page that is handled by its keys alone; every press is counted."""

    presses = 0

    def key(self, name):
        self.presses += 1
        self.page.keyboard.press(name)

    def press(self, key):
        self.presses += 1
        super().press(key)

    def tab_to(self, words):
        """Go on by Tab until the focus is on a target; it is drawn, and goes down the page."""
        before = (-1.0, -1.0)
        for _ in range(60):
            self.key("Tab")
            at = self.page.evaluate(FOCUS)
            assert at["drawn"] != "none", f"no focus is seen on {at['words']}"
            assert at["wide"] >= 2.0
            place = (at["top"], at["left"])
            assert place[0] > before[0] - 30.0, f"the focus jumps up to {at['words']}"
            before = place
            if words in (at["words"].strip(), at["id"]):
                return
        raise AssertionError(f"no Tab leads to {words}")

    def skip_to(self, words):
        """Go past the navigation by the first link of every page, then on by Tab."""
        self.key("Tab")
        assert self.page.evaluate(FOCUS)["words"] == "Skip to the content"
        self.key("Enter")
        self.tab_to(words)

    def answer(self, words):
        """Press the number of an answer."""
        told = self.page.locator(".choices button").all_inner_texts()
        self.press(str([one.strip() for one in told].index(words) + 1))


def running(server, keys, run):
    """Return the step that goes on in sight, once the book holds it as well; none if it is over."""
    seen = []

    def the_same():
        seen[:] = [s for s in server.state(run).plates[0].steps if s.state == "running"]
        if not keys.page.locator(ENDS).count():
            seen.clear()
            return True
        return seen and server.state(run).step(seen[0].key).title == keys.say()

    until(the_same)
    return seen[0] if seen else None


def work(server, keys, run):
    """Press the one key on, each step given its time, until it is asked how the plate came out."""
    for _ in range(60):
        if keys.page.evaluate(ASKED):
            return
        step = running(server, keys, run)
        if step is not None:
            checks = server.state(run).step(step.key).checks
            looks = [60.0 * one.at_minutes for one in checks if one.at_minutes is not None]
            ahead = [at for at in looks if at > step.elapsed_s + 1.0]
            keys.later(max(min([step.planned_s, *ahead]) - step.elapsed_s, 0.0) + 1.0)
        before = keys.page.evaluate(SCREEN)
        keys.press("Space")
        # a press is heard before its screen is drawn; one that comes too soon ends a step at once,
        # and is then asked why, which costs presses that no maker makes
        until(lambda shown=before: keys.page.evaluate(SCREEN) != shown)
    raise AssertionError("the run does not end")


def test_from_the_first_page_to_tomorrows_numbers(chromium, server, tmp_path):
    now = server.app.state.house.clock.now()
    noon = (now + timedelta(days=1)).replace(hour=8, minute=0, second=0)
    server.later = (noon - now).total_seconds()  # there must be light for the plate
    context = chromium.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, reduced_motion="reduce"
    )
    context.add_init_script(SMALL + HEARD + FAST)
    page = context.new_page()
    keys = Keys(page, tmp_path, server, clock=True)
    base = f"http://localhost:{server.port}"
    page.goto(f"{base}/runs")
    assert "No number learned from your plates is used" in page.inner_text("main")

    keys.skip_to("labels")
    for letter in ("K", "-", "1"):
        keys.key(letter)
    keys.key("Enter")
    page.wait_for_selector("[data-act=start]")
    desk, keys.presses = keys.presses, 0

    run = page.evaluate("document.body.dataset.run")
    keys.press("Space")
    work(server, keys, run)
    for words in ("Lost", "Development", "Grey veil overall", "Under"):
        keys.answer(words)
    until(lambda: "making_graded" in server.kinds(run))
    keys.wait_words("Every plate is finished.")
    keys.red("graded")
    keys.press("Space")
    until(lambda: server.state(run).state == "closed")
    keys.wait_words("This run is over.")
    keys.red("closed")
    bench, keys.presses = keys.presses, 0

    keys.press("Space")
    keys.wait_words("This lights the screen white.")
    keys.red("before the screen turns white")
    keys.settle()
    keys.key("Space")  # it leads away: there is no page left to ask whether it was heard
    page.wait_for_url("**/runs/*")
    keys.keep("run")
    keys.skip_to("K-1")
    keys.key("Enter")
    page.wait_for_url("**/plates/K-1")
    text = page.inner_text("main")
    assert "lost, exposure under" in text
    assert "Grey veil overall" in text
    keys.keep("record")
    [made] = makings(server.book)
    assert (made.grade, made.defects) == ("lost", (("fog", "development"),))
    until(lambda: server.app.state.house.live.now.learned, 300)  # the server follows its book
    keys.tab_to("Runs")
    keys.key("Enter")
    page.wait_for_url(f"{base}/runs")
    text = page.inner_text("main")
    assert "Learned from your plates: plate speed" in text
    assert "1 plate, last " in text
    assert "before that day" in text
    keys.keep("tomorrow")
    desk += keys.presses
    assert bench <= MOST_BENCH
    assert desk <= MOST_DESK
    assert keys.errors == []
    context.close()
