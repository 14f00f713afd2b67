"""An old notebook in Chromium, as wide as a phone and a tablet, by keyboard and without script."""

import pytest
from tests.exchange.notebook.notebooks import ALL, two_forms
from tests.pages.conftest import Server

from argentry.book.plates import plates

PHONE, TABLET = (390, 844), (820, 1180)
BOXES = """(what) => [...document.querySelectorAll(what)].map((one) => {
  const { x, width, height } = one.getBoundingClientRect();
  return { x, width, height };
})"""


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """One for all: until it is told to, it takes nothing in."""
    running = Server(tmp_path_factory.mktemp("notebooks") / "studio")
    yield running
    running.close()


@pytest.fixture(scope="module")
def paper(chromium, server):
    """Opens a page of the host's own machine in a browser that runs no script."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()

    def open_page(size):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.goto(f"http://localhost:{server.port}/notebook")
        return page

    yield open_page
    context.close()


@pytest.fixture
def chosen(paper, tmp_path):
    def choose(size, notebook):
        page = paper(size)
        (tmp_path / notebook.name).write_bytes(notebook.content)
        page.set_input_files("#file", tmp_path / notebook.name)
        with page.expect_navigation():  # to the end: boxes are measured when the styles are there
            page.click("main button")
        return page

    return choose


def boxes(page, what):
    """Return the boxes of all elements at once; asked for one by one they take most of the time."""
    found = page.evaluate(BOXES, what)
    assert all(box["width"] > 0 for box in found), "what is not shown has none"
    return found


@pytest.mark.parametrize("made", ALL, ids=[one.__name__ for one in ALL])
def test_nothing_is_pushed_out_and_every_field_is_large_enough(chosen, glass_of, server, made):
    page = chosen(PHONE, made())
    glass = glass_of(page, server)
    for width, height in (PHONE, TABLET):
        page.set_viewport_size({"width": width, "height": height})
        glass.keep(f"notebook-{made.__name__}")
        # a tick is pressed by its words
        fields = boxes(
            page,
            "main select, main input:not([type=hidden], [type=checkbox]), "
            "main label:has([type=checkbox]), main button",
        )
        assert fields
        for box in (*fields, *boxes(page, "main h1")):
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= width
        for box in fields:
            assert box["height"] >= 44


def test_a_notebook_comes_in_by_keyboard_alone(chosen, server):
    page = chosen(TABLET, two_forms())
    page.focus("main select")
    for word in ("fine", "good", "study"):
        page.keyboard.type(word)
        page.keyboard.press("Tab")
    page.focus("[id='cell:E5']")
    page.keyboard.press("Control+A")
    page.keyboard.type("30 min")
    with page.expect_navigation():
        page.keyboard.press("Enter")  # looks again: the first button of the form
    assert "4 clear, 0 to mend" in page.inner_text("main .lead")
    page.focus("button[value=take]")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "4 plates were added" in page.inner_text("main .lead")
    assert len(plates(server.book)) == 4
