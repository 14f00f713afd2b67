"""The page of the season in Chromium: whole on a phone, red alone, and nothing for axe to find."""

from datetime import UTC, datetime, timedelta

import pytest
from tests.browser import picture_of
from tests.pages.test_accessible import OPEN, SIZES, violations
from tests.web.test_seasons import Here


@pytest.mark.parametrize("look", ["light", "red"])
def test_the_page_of_the_season_on_a_phone(server, chromium, look):
    server.app.state.seasons._helper = Here(server.folder)
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    base = f"http://localhost:{server.port}"
    context.add_cookies([{"name": "argentry_look", "value": look, "url": base}])
    page = context.new_page()
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    first = datetime.now(UTC).date() + timedelta(days=40)
    asked = f"from={first}&to={first + timedelta(days=20)}&at=Quito, lat=-0.2, lon=-78.5"
    assert page.goto(f"{base}/season?{asked}", timeout=120_000).status == 200
    page.evaluate(OPEN)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.locator(".phone svg[role=img]").count() == 2
    assert said == []
    if look == "red":
        high = page.evaluate("document.documentElement.scrollHeight")
        page.set_viewport_size({"width": 390, "height": high})
        picture = picture_of(page)
        (_, most_red), green, blue = picture.getextrema()
        assert (most_red, green, blue) == (255, (0, 0), (0, 0))
    else:
        for size in SIZES:
            page.set_viewport_size(size)
            assert violations(page) == []
    context.close()
