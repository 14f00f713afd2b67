"""The bench page's units against the same cases as the sentences of every other door."""

import json
from pathlib import Path

import pytest

CASES = json.loads((Path(__file__).parents[1] / "fixtures/units/told.json").read_text("utf-8"))
TOLD = """async ([words, units]) => {
  const { inUnits } = await import("/static/bench/units.js");
  return words.map((one) => inUnits(one, units));
}"""
UNITS = {"temperature": "fahrenheit", "length": "inch"}


@pytest.fixture(scope="module")
def blank(chromium):
    """A page of the real server, only for its modules."""
    module = __import__("argentry.web.app", fromlist=["WEB"])
    context = chromium.new_context()
    page = context.new_page()
    static = Path(module.WEB) / "static"

    def serve(route):
        path = route.request.url.split("/static/", 1)
        if len(path) == 2:
            route.fulfill(path=static / path[1], content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>Cases</title>", content_type="text/html")

    page.route("**/*", serve)
    page.goto("http://localhost/")
    yield page
    context.close()


def test_the_page_tells_quantities_as_every_door_does(blank):
    words, said = zip(*CASES["told"], strict=True)
    assert len(words) > 25
    assert blank.evaluate(TOLD, [words, UNITS]) == list(said)
    assert blank.evaluate(TOLD, [said, UNITS]) == list(said)
    assert blank.evaluate(TOLD, [words, {}]) == list(words)
    assert blank.evaluate(TOLD, [words, {"temperature": "celsius", "length": "metric"}]) == list(
        words
    )
