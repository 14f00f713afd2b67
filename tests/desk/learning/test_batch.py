"""How many plates to begin: by the climate that the studio file names, at every door."""

from datetime import date
from pathlib import Path

import pytest

import argentry
from argentry.desk.learning import batch
from argentry.errors import BadInput
from argentry.keeping.studio import new_studio

SAMPLE = Path(__file__).parents[3] / "examples" / "forecast.csv"


def test_a_notebook_counts_days_by_the_climate_of_the_studio_as_the_command_does(tmp_path):
    """`argentry.plates_needed` took the clouds usual at the place, whatever the file named."""
    new_studio(tmp_path / "studio", {})
    file = tmp_path / "studio" / "studio.toml"
    text = file.read_text("utf-8")
    assert "# climate = " in text
    named = [
        'climate = "years.epw"' if line.startswith("# climate = ") else line
        for line in text.splitlines()
    ]
    file.write_text("\n".join(named), encoding="utf-8")
    plates = argentry.load_plates(tmp_path / "studio")
    with pytest.raises(BadInput, match=r"years\.epw"):
        argentry.plates_needed(plates, 1, date(2026, 6, 1), date(2026, 6, 4))


def test_weather_that_is_named_goes_before_the_climate_of_the_studio(tmp_path, monkeypatch):
    new_studio(tmp_path / "studio", {})
    plates = argentry.load_plates(tmp_path / "studio")
    monkeypatch.setattr(batch, "climate_of_studio", lambda *_: pytest.fail("it was read"))
    days = date(2026, 6, 1), date(2026, 6, 4)
    weather = argentry.read_weather(SAMPLE)
    with pytest.raises(BadInput, match=r"forecast\.csv"):  # not one whole season
        argentry.plates_needed(plates, 1, *days, weather=weather)
