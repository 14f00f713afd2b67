"""Nothing leaves the house before the maker agrees, and then only the place to two decimals."""

from __future__ import annotations

import socket
import subprocess
from datetime import UTC, date, datetime

import pytest

from argentry.desk.wishes import plan_day
from argentry.errors import BadInput
from argentry.keeping.forecast import consent
from argentry.keeping.forecast.outlook import outlook_of
from argentry.keeping.forecast.states import fetch_now, service_states
from argentry.keeping.studio import load_studio

NOW = datetime(2026, 6, 20, 12, 20, tzinfo=UTC)
DAY = date(2026, 6, 21)


@pytest.fixture
def _no_way_out(monkeypatch):
    def refuse(*_args, **_more):
        raise AssertionError("a connection was opened")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    monkeypatch.setattr(subprocess, "Popen", refuse)


@pytest.mark.usefixtures("_no_way_out")
@pytest.mark.parametrize("source", ["none", "open-meteo", "met-norway", "bright-sky"])
def test_no_connection_without_consent(folder, source, started):
    file = folder / "studio.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('source = "none"', f'source = "{source}"'), encoding="utf-8")
    studio = load_studio(folder)
    assert studio.weather.source == source
    outlook = outlook_of(folder, studio, DAY, NOW)
    assert outlook.weather is None
    assert len(outlook.said) == (source != "none")
    plan = plan_day(studio, DAY, plates=1, outlook=outlook, simulated_days=20)
    assert plan.weather_origin is None
    assert all(line in plan.warnings for line in outlook.said)
    service_states(folder, studio, NOW)
    with pytest.raises(BadInput, match="argentry weather agree"):
        fetch_now(folder, studio)
    assert started == []
    assert not (folder / "weather").exists()


def test_what_leaves_the_house_is_said_with_the_terms(folder):
    studio = load_studio(folder)
    terms = consent.terms_of(studio, "open-meteo")
    assert "latitude 48.14, longitude 11.58" in terms.sends
    assert "48.137" not in terms.sends
    assert "non-commercial" in terms.sends
    assert not terms.agreed
    norway = consent.terms_of(studio, "met-norway")
    assert "the contact you give" in norway.sends
    assert "commercial use allowed" in norway.sends


def test_the_yes_is_written_and_the_rest_of_the_file_stays(folder):
    file = folder / "studio.toml"
    before = file.read_text(encoding="utf-8").replace("[weather]", "[weather] # mine")
    file.write_text(before, encoding="utf-8")
    studio = consent.agree(folder, "bright-sky")
    after = file.read_text(encoding="utf-8")
    assert studio == load_studio(folder)
    assert studio.weather.asked == "bright-sky"
    changed = {
        (a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b
    }
    assert changed == {
        ('source = "none"', 'source = "bright-sky"'),
        ('# agreed = ["open-meteo"]', 'agreed = ["bright-sky"]'),
    }


def test_a_file_without_the_section_gets_it(folder):
    file = folder / "studio.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text[: text.index("# ---- Weather by itself")], encoding="utf-8")
    assert consent.agree(folder, "open-meteo").weather.asked == "open-meteo"
    assert load_studio(folder).weather.agreed == ("open-meteo",)


def test_a_second_service_is_agreed_to_beside_the_first_and_none_takes_all_back(folder):
    consent.agree(folder, "open-meteo")
    studio = consent.agree(folder, "met-norway", "me@example.org")
    assert studio.weather.agreed == ("open-meteo", "met-norway")
    assert studio.weather.source == "met-norway"
    studio = consent.agree(folder, "none")
    assert (studio.weather.source, studio.weather.agreed) == ("none", ())


def test_met_norway_must_be_told_a_contact(folder):
    with pytest.raises(BadInput, match="must be told a contact"):
        consent.agree(folder, "met-norway")
    assert load_studio(folder).weather.source == "none"


def test_a_service_that_is_not_there(folder):
    with pytest.raises(BadInput, match="did you mean open-meteo"):
        consent.agree(folder, "open-metio")


def test_a_section_that_cannot_be_changed_is_left_alone(folder):
    file = folder / "studio.toml"
    text = file.read_text(encoding="utf-8")
    text = text[: text.index("# ---- Weather by itself")] + '\n["weather"]\nsource = "none"\n'
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match="by hand"):
        consent.agree(folder, "open-meteo")
    assert file.read_text(encoding="utf-8") == text
