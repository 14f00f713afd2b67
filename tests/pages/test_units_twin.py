"""The bench page's units against the same cases as the sentences of every other door."""

import json
from pathlib import Path

from argentry.out.wording import step_range

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


RANGES = """async (spans) => {
  const { lengthRange } = await import("/static/bench/words.js");
  return spans.map((span) => lengthRange(...span));
}"""


def test_the_record_tells_a_step_as_the_bench_does(blank):
    """A coat of 67 s, a second, ten minutes, hours; middle and ends in seconds."""
    spans = [(67.2, 59.4, 77.1), (1.0, 1.0, 1.0), (600.0, 120.0, 1800.0), (149.0, 90.0, 301.0)]
    spans += [(4200.0, 1800.0, 9900.0), (7500.0, 5400.0, 10800.0), (151.0, 80.0, 400.0)]
    told = [step_range(*span) for span in spans]
    assert told[:2] == ["67 s (59–77)", "1 s"]
    assert blank.evaluate(RANGES, spans) == told


DAYS = json.loads((Path(__file__).parents[1] / "fixtures/units/day_clock.json").read_text("utf-8"))
CLOCKS = """async ([zone, cases]) => {
  document.body.dataset.zone = zone;
  const { dayClock } = await import("/static/bench/words.js");
  return cases.map(([at, now]) => dayClock(at, now));
}"""


def test_the_page_names_another_day_as_the_terminal_does(blank):
    """The same cases hold `argentry.bench.words` in tests/bench/test_words.py."""
    blank.reload()  # the place's zone is read as the module comes
    told = blank.evaluate(CLOCKS, [DAYS["zone"], DAYS["cases"]])
    assert told == [said for _, _, said in DAYS["cases"]]
