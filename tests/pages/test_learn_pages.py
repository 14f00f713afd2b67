"""What the plates teach, in Chromium: pages on paper, and one red line at the checkpoint."""

from datetime import UTC, datetime

import pytest
from tests.web.test_kept import Taught

from argentry.book.log import append
from argentry.exchange.plates.into_book import import_plates
from argentry.records.event import Event
from argentry.records.ids import new_id

PHONE, TABLET = (390, 844), (820, 1180)


@pytest.fixture
def paper(chromium, server):
    """Opens a page of the host's own machine."""
    contexts = []

    def open_page(path, size):
        context = chromium.new_context(viewport={"width": size[0], "height": size[1]})
        contexts.append(context)
        page = context.new_page()
        said = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        answer = page.goto(f"http://localhost:{server.port}{path}")
        assert answer.status == 200
        return page, said

    yield open_page
    for context in contexts:
        context.close()


@pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])
def test_pages_of_learning_fit_and_say_nothing_amiss(server, paper, glass_of, year, size):
    import_plates(server.book, year, at=datetime(2026, 1, 2, tzinfo=UTC))
    server.app.state.taught._helper = Taught(server.app.state.house)
    for path in ("/learned", "/learned/plate?label=P004"):
        page, said = paper(path, size)
        if path == "/learned":
            page.locator("#taught:not([data-old])").wait_for(timeout=90_000)
        glass_of(page, server).keep(path.split("?")[0])
        assert said == [], "the page's policy lets its own drawings through"
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= size[0], "nothing is pushed out of the side"
        charts = page.evaluate(
            """[...document.querySelectorAll(".chart")].map((chart) => {
              const box = chart.viewBox.baseVal;
              const words = [...chart.querySelectorAll("text")].map((text) => text.getBBox());
              const apart = (a, b) => a.x + a.width <= b.x + 0.5 || b.x + b.width <= a.x + 0.5
                || a.y + a.height <= b.y + 1.5 || b.y + b.height <= a.y + 1.5;
              return {
                label: chart.getAttribute("aria-label"),
                  out: [...chart.querySelectorAll("text")].filter((text) => {
                  const w = text.getBBox();  // a j may hang out a little to the left
                  return w.x < -4 || w.x + w.width > box.width + 1 || w.y + w.height > box.height;
                }).map((text) => text.textContent),
                apart: words.every((a, i) => words.every((b, j) => i >= j || apart(a, b))),
              };
            })"""
        )
        assert charts or path != "/learned"  # a plate's own are worked out beside the server
        for chart in charts:
            assert chart["label"]
            assert chart["out"] == [], chart["label"]
            assert chart["apart"], f"words lie on each other: {chart['label']}"


def test_the_odds_stand_on_the_bench_in_one_red_line(server, tablets, year, until):
    import_plates(server.book, year, at=datetime(2026, 1, 2, tzinfo=UTC))
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    title = server.state(run).step("warm").title
    begin = "document.querySelector('[data-act=begin], [data-act=seen]')"
    for _ in range(60):
        if glass.page.evaluate(f"document.body.innerText.includes({title!r}) && !!{begin}"):
            break
        glass.press("Space")
    until(lambda: "advice_given" in server.kinds(run), 300)
    glass.wait_words("% good (")
    line = glass.page.evaluate(
        "[...document.querySelectorAll('.call')].map((one) => one.innerText).join(' ')"
    )
    assert "116 plates" in line
    assert glass.red("checkpoint") == 255
    assert glass.errors == []
    inside = glass.page.evaluate(
        "[...document.querySelectorAll('.call')].every((one) =>"
        " one.getBoundingClientRect().right <= innerWidth)"
    )
    assert inside


def test_advice_is_told_in_what_happened_and_cannot_be_taken_back(server, tablets):
    run = server.open_run("One")
    plate = server.state(run).plates[0].id
    body = {
        "stage": "polish",
        "advice": "continue",
        "line": "41 % good (20–60; 12 plates). Continue.",
    }
    now = server.app.state.house.clock.now()
    append(
        server.book,
        [Event(new_id(), run, "advice_given", now, plate, "ready_room", body, "house")],
    )
    glass = tablets(run)
    glass.act("more")
    glass.act("list")
    glass.wait_words("Advice · One")
    glass.tap(".choices button:nth-child(1)")
    assert glass.page.evaluate("!document.querySelector('[data-act=withdraw]')")
