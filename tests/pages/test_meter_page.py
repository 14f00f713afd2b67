"""The page of the light meter in Chromium, at a phone's and a tablet's width."""

import pytest


@pytest.mark.parametrize("size", [(820, 1180), (390, 844)], ids=["tablet", "phone"])
def test_the_page_of_the_meter_fits(server, chromium, glass_of, size):
    context = chromium.new_context(viewport={"width": size[0], "height": size[1]})
    page = context.new_page()
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    answer = page.goto(
        f"http://localhost:{server.port}/meter?date=2026-06-21&meter=generic+selenium+meter",
    )
    assert answer.status == 200
    glass_of(page, server).keep("meter")
    assert said == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    small = page.evaluate(
        """[...document.querySelectorAll("nav a, button:not(.term), select, .links a")]
        .filter((one) => one.getBoundingClientRect().height < 43.5).map((one) => one.textContent)"""
    )
    assert small == [], "a finger needs 44 px"
    context.close()
