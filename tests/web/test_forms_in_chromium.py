"""The forms of the pages in a real browser, on both plain origins: what headers alone do not show.

A browser sends "Origin: null" with a form under Referrer-Policy no-referrer, keeps cookies by its
own rules, and refuses styles that the policy does not allow.
"""

from __future__ import annotations

import pytest
from tests.browser import picture_of


@pytest.fixture
def page(chromium):
    context = chromium.new_context(viewport={"width": 820, "height": 1180})
    context.set_default_timeout(60_000)
    opened = context.new_page()
    opened.complaints = []
    opened.on("console", lambda said: opened.complaints.append(said.text))
    yield opened
    context.close()


def _brightest(page):
    return [high for _, high in picture_of(page).getextrema()]


def test_on_this_machine_a_run_is_opened_by_the_form(page, live):
    page.goto(live + "/runs")
    page.get_by_label("Plates, by their labels").fill("Q-1, Q-2")
    page.get_by_label("Name of the run").fill("morning")
    page.get_by_role("button", name="Open the run", exact=True).click()
    page.wait_for_url("**/bench/*")
    page.goto(live + "/runs")
    assert page.get_by_role("row", name="morning").is_visible()
    assert page.complaints == []


def test_a_tablet_pairs_and_opens_a_run(page, live, codes):
    lan = live.replace("localhost", "studio.test")
    page.goto(lan + "/plates")
    page.wait_for_url("**/pair")
    assert _brightest(page)[1:] == [0, 0]
    page.get_by_role("button", name="Show a new one there").click()
    page.get_by_text("five tries").wait_for()
    page.get_by_label("Code on the host").fill("1")
    page.get_by_label("Name for this device").fill("tablet")
    page.get_by_role("button", name="Pair").click()
    page.get_by_role("alert").wait_for()
    assert _brightest(page)[1:] == [0, 0]  # the wrong code, the fields, the focus
    page.get_by_label("Code on the host").fill(codes[-1])
    page.get_by_label("Name for this device").fill("tablet")
    assert _brightest(page)[1:] == [0, 0]
    page.get_by_role("button", name="Pair").click()
    page.wait_for_url(lan + "/")
    page.get_by_role("link", name="Runs").click()
    page.get_by_label("Plates, by their labels").fill("Q-1")
    page.get_by_role("button", name="Open the run", exact=True).click()
    page.wait_for_url("**/bench/*")
    assert not [words for words in page.complaints if "Content Security Policy" in words]


def test_an_error_in_the_dark_is_red(page, live):
    page.goto(live + "/bench/nothing")
    assert page.get_by_role("alert").is_visible()
    assert _brightest(page)[1:] == [0, 0]


def test_a_page_of_another_site_cannot_post_here(page, live, run, book):
    """It posts the form that opens a run: the browser says whence it comes."""
    before = len(page.context.cookies())
    page.route("http://evil.test/*", lambda route: route.fulfill(
        content_type="text/html",
        body=f'<form method=post action="{live}/runs"><input name=from value=plates>'
        '<input name=labels value=STOLEN><button>go</button></form>',
    ))  # fmt: skip
    page.goto("http://evil.test/")
    page.get_by_role("button").click()
    page.get_by_role("alert").wait_for()
    assert "another" in page.get_by_role("alert").inner_text()
    page.goto(live + "/runs")
    assert "STOLEN" not in page.content()
    assert len(page.context.cookies()) == before
