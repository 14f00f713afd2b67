"""The maker's path after a run in a real browser, at a phone's and a tablet's width.

What waits for a grade, the grade with a defect by keyboard alone, the record, tomorrow's numbers.
"""

from __future__ import annotations

import pytest
from tests.web.test_kept import Taught

from argentry.book.plates import makings

SMALLEST = """() => Math.min(...[...document.querySelectorAll('svg text')]
  .filter(text => text.getClientRects().length)
  .map(text => parseFloat(text.getAttribute('font-size')) * text.getScreenCTM().a))"""
CUT = """() => [...document.querySelectorAll('svg text')]
  .filter(text => text.getClientRects().length)
  .filter(text => { const own = text.getBoundingClientRect();
    return own.left < -0.5 || own.right > innerWidth + 0.5; }).length"""


# What a finger cannot hit: links and fields under 44 px, but for links and words of the trade that
# stand within a line of text (WCAG 2.2, success criterion 2.5.8, "Inline").
SMALL = """() => [...document.querySelectorAll(
    'a, button:not(.term), input:not([type=hidden]), summary')]
  .filter(node => node.getClientRects().length && !node.closest('p.hint, p.empty, span.hint'))
  .map(node => [node.closest('label') ?? node, node.innerText || node.name])
  .map(([node, words]) => [node.getBoundingClientRect(), words])
  .filter(([own]) => own.width < 43.5 || own.height < 43.5).map(([, words]) => words)"""


def learned(page, live, script):
    """Open what the plates taught; without scripts by the link that waits for the new one."""
    page.goto(f"{live}/learned")
    if not script:
        page.locator("[data-waits] a").click()
    page.locator("#taught:not([data-old])").wait_for()


@pytest.mark.parametrize("width", [390, 820])
@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_from_what_waits_to_tomorrows_numbers(chromium, live, app, finished, book, width, script):
    app.state.taught._helper = Taught(app.state.house)
    context = chromium.new_context(
        viewport={"width": width, "height": 844}, java_script_enabled=script
    )
    context.set_default_timeout(60_000)
    page = context.new_page()
    learned(page, live, script)
    assert "No judged exposure counts yet" in page.content()

    page.goto(f"{live}/")
    page.get_by_role("link", name="Q-1", exact=True).first.click()
    page.wait_for_url("**/plates/**")  # a key may come before a page is whole
    assert page.get_by_role("heading", level=1).inner_text() == "Plate Q-1"
    presses = 1

    def press(*keys):
        nonlocal presses
        for key in keys:
            page.keyboard.press(key)
            presses += 1

    page.get_by_role("radio", name="lost").focus()
    press("Space", "Tab")
    press("ArrowDown", "ArrowDown")  # exposure: blank, under
    stage = page.locator("summary", has_text="Development")
    stage.focus()
    press("Enter", "Tab")
    page.get_by_label("grey veil").first.focus()
    press("Space")
    page.get_by_label("Remark").fill("Grey all over")
    page.get_by_role("button", name="Keep this grade").focus()
    press("Enter")
    # the address may look the same before and after: what was kept is waited for
    page.locator(".making h2", has_text=": lost, exposure under").wait_for()
    page.wait_for_load_state()
    text = page.inner_text("main")
    assert "Grey all over" in text
    [made] = makings(book)
    assert (made.grade, made.verdict, made.defects) == ("lost", "under", (("fog", "development"),))
    assert presses <= 9
    assert page.locator("svg:visible").count() >= 1
    if script:
        assert page.evaluate(SMALL) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(SMALLEST) >= 11.0
        assert page.evaluate(CUT) == 0

    learned(page, live, script)
    row = page.locator("tr", has_text="plate speed")
    assert "1 plate" in row.inner_text()  # tomorrow's plan goes by this exposure
    page.goto(f"{live}/")
    assert "Waits for a grade" not in page.content()
    context.close()
