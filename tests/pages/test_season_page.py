"""The page of the season in Chromium: drawn once it is worked out, and nothing for axe to find."""

from datetime import UTC, datetime, timedelta

from tests.browser import picture_of
from tests.pages.test_accessible import OPEN, judged
from tests.web.test_kept import Here


def test_the_page_of_the_season(server, chromium):
    server.app.state.seasons._helper = Here(server.folder)
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    first = datetime.now(UTC).date() + timedelta(days=40)
    asked = f"from={first}&to={first + timedelta(days=20)}&at=Quito, lat=-0.2, lon=-78.5"
    assert page.goto(f"http://localhost:{server.port}/season?{asked}").status == 200
    page.locator("#season figure").first.wait_for(timeout=120_000)  # the page is there before it
    assert page.locator("[data-old]").count() == 0
    page.evaluate(OPEN)
    assert page.locator(".phone svg[role=img]").count() == 2
    assert said == []
    judged(page, "season")  # ends in red, at 320 px
    page.set_viewport_size({"width": 390, "height": 844})
    high = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": 390, "height": high})
    picture = picture_of(page)
    (_, most_red), green, blue = picture.getextrema()
    assert (most_red, green, blue) == (255, (0, 0), (0, 0))
    context.close()
