"""Quantities of sentences in a studio's units, and what a maker types in them.

The inch is 25.4 mm and the foot 0.3048 m exactly (yard and pound agreement of 1959, ISO 80000-3);
0 °C is 32 °F and a degree Fahrenheit 5/9 K (ISO 80000-5).
"""

from __future__ import annotations

import json
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.records.units import Units, read, told, typed_unit

AMERICAN = Units("fahrenheit", "inch", "USD", 1.1)
# Also those that stay as they are: names of sizes, light, thicknesses, times.
CASES = json.loads((Path(__file__).parents[1] / "fixtures/units/told.json").read_text("utf-8"))[
    "told"
]
LEFT = re.compile(r"\d (°C|mm|cm|cm²|m)(?![\w²³/])")


@pytest.mark.parametrize(("words", "said"), CASES)
def test_a_quantity_is_told_in_the_studios_units(words, said):
    assert told(words, AMERICAN) == said
    assert told(said, AMERICAN) == said  # once is enough
    assert told(words, Units()) == words


def test_each_unit_is_chosen_by_itself():
    words = "box at 20 °C, gap 20 mm"
    assert told(words, Units("fahrenheit")) == "box at 68 °F, gap 20 mm"
    assert told(words, Units(length="inch")) == "box at 20 °C, gap 0.79 in"


def test_no_text_of_the_trade_keeps_a_metric_quantity():
    """Every sentence of the trade's files that a maker reads while working."""
    said = []
    for name in ("steps", "cautions", "defects", "causes", "materials", "recipes"):
        path = files("argentry.trade") / "data" / f"{name}.toml"
        said += list(strings(tomllib.loads(path.read_text(encoding="utf-8"))))
    metric = [words for words in said if LEFT.search(words)]
    assert len(metric) >= 4
    assert [words for words in metric if LEFT.search(told(words, AMERICAN))] == []


def strings(part, key=""):
    if isinstance(part, dict):
        for name, value in part.items():
            yield from strings(value, name)
    elif isinstance(part, list):
        for value in part:
            yield from strings(value, key)
    elif isinstance(part, str) and key not in ("source", "keep_source", "note"):
        yield part


@pytest.mark.parametrize(
    ("text", "unit", "units", "value"),
    [
        ("68", "°C", AMERICAN, 20.0),
        ("20", "°C", Units(), 20.0),
        ("68F", "°C", Units(), 20.0),
        ("68 °F", "°C", Units(), 20.0),
        ("20C", "°C", AMERICAN, 20.0),
        ("293.15 K", "°C", AMERICAN, 20.0),
        ("-40", "°C", AMERICAN, -40.0),
        ("2", "m", Units(), 2.0),
        ("6.5ft", "m", Units(), 1.9812),
        ("6'", "m", Units(), 1.8288),
        ("78 in", "m", Units(), 1.9812),
        ('0.8"', "mm", Units(), 20.32),
        ("2cm", "mm", AMERICAN, 20.0),
        (".5", "m", Units(), 0.5),
        ("1e-1", "m", Units(), 0.1),
    ],
)
def test_what_is_typed_is_read_as_the_studio_means_it(text, unit, units, value):
    assert read("--x", text, unit, units) == pytest.approx(value, abs=1e-9)


def test_a_name_with_its_unit_counts_for_a_number_alone():
    assert read("--gap-mm", "20", "mm", AMERICAN, named=True) == 20.0
    assert read("--gap-mm", "20", "mm", AMERICAN) == pytest.approx(508.0)
    assert read("--gap-mm", "1in", "mm", AMERICAN, named=True) == pytest.approx(25.4)


@pytest.mark.parametrize(
    ("text", "unit", "kind"),
    [("62X", "°C", "a temperature"), ("warm", "°C", "a temperature"), ("", "m", "a length"),
     ("nan", "mm", "a length"), ("3 lb", "m", "a length"), ("1,5", "m", "a length")],
)  # fmt: skip
def test_anything_else_is_refused_in_one_sentence(text, unit, kind):
    with pytest.raises(BadInput, match=f"--x: .* is not {kind}; give a number"):
        read("--x", text, unit, AMERICAN)


@given(st.decimals(-60, 200, places=1))
def test_a_temperature_comes_back_as_it_was_told(celsius):
    said = told(f"{celsius:.1f} °C", AMERICAN)
    assert read("--temp", said, "°C", Units()) == pytest.approx(float(celsius), abs=0.03)


def test_readings_are_typed_in_the_studios_degrees():
    assert typed_unit("°C", AMERICAN) == "°F"
    assert typed_unit("%", AMERICAN) == "%"
    assert typed_unit("°C", Units()) == "°C"
