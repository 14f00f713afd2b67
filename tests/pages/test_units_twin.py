"""The bench page's units against the same cases as the sentences of every other door."""

import json
from pathlib import Path

CASES = json.loads((Path(__file__).parents[1] / "fixtures/units/told.json").read_text("utf-8"))
TOLD = """async ([words, units]) => {
  const { inUnits } = await import("/static/bench/units.js");
  return words.map((one) => inUnits(one, units));
}"""
UNITS = {"temperature": "fahrenheit", "length": "inch"}


def test_the_page_tells_quantities_as_every_door_does(blank):
    words, said = zip(*CASES["told"], strict=True)
    assert len(words) > 25
    assert blank.evaluate(TOLD, [words, UNITS]) == list(said)
    assert blank.evaluate(TOLD, [said, UNITS]) == list(said)
    assert blank.evaluate(TOLD, [words, {}]) == list(words)
    assert blank.evaluate(TOLD, [words, {"temperature": "celsius", "length": "metric"}]) == list(
        words
    )
