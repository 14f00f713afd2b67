from __future__ import annotations

import tomllib

import pytest
from tests.stores import save_new_studio

from argentry.errors import BadInput
from argentry.keeping.studio import check_studio, load_studio, new_studio


def test_new_studio_loads_and_marks_what_to_change(tmp_path):
    made = new_studio(tmp_path / "s", {"--lat": 42.0, "--tz": "Europe/Madrid", "--name": None})
    studio = load_studio(tmp_path / "s")
    assert studio.site.latitude_deg == 42.0
    assert studio.site.time_zone == "Europe/Madrid"
    text = (tmp_path / "s" / "studio.toml").read_text(encoding="utf-8")
    assert text.count("# change me") == len(made.change)
    assert "site.latitude_deg" not in made.change
    assert "site.longitude_deg" in made.change
    assert "latitude_deg = 42.0\n" in text
    assert tomllib.loads(text)["site"]["latitude_deg"] == 42.0


def test_a_saved_studio_is_the_same_studio(tmp_path):
    new_studio(tmp_path / "a", {})
    studio = load_studio(tmp_path / "a" / "studio.toml")
    save_new_studio(tmp_path / "b", studio)
    assert load_studio(tmp_path / "b") == studio
    with pytest.raises(BadInput, match="here already"):
        save_new_studio(tmp_path / "b", studio)


def test_wrong_option_names_the_option_and_writes_nothing(tmp_path):
    with pytest.raises(BadInput, match=r"--lat: 91\.0 is out of range"):
        new_studio(tmp_path / "s", {"--lat": 91.0})
    assert not (tmp_path / "s").exists()


def notes(tmp_path, **changes):
    new_studio(tmp_path / "s", {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"})
    file = tmp_path / "s" / "studio.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in changes.items():
        assert f"{old} = " in text
        text = "\n".join(
            f"{old} = {new}" if line.lstrip("# ").startswith(f"{old} = ") else line
            for line in text.splitlines()
        )
    file.write_text(text, encoding="utf-8")
    result = check_studio(tmp_path / "s")
    assert result.ok, result.mistakes
    return " ".join(result.notes)


def test_notes_of_a_new_studio(tmp_path):
    text = notes(tmp_path)
    assert "No skyline" in text
    assert "starting value" in text
    assert "longitude" not in text


def test_notes_of_a_wrong_sign_and_of_an_invented_studio(tmp_path):
    text = notes(tmp_path, longitude_deg="101.0", time_zone='"America/Chicago"', invented="true",
                 horizon="[[90, 10]]")  # fmt: skip
    assert "The sign of the longitude seems to be the wrong way round" in text
    assert "invented" in text
    assert "No skyline" not in text
    assert text.index("The sign of the longitude") < text.index("invented"), "the gravest first"


def test_zone_across_the_date_line_is_no_mistake(tmp_path):
    text = notes(tmp_path, longitude_deg="-176.5", time_zone='"Pacific/Chatham"')
    assert "longitude" not in text


def test_check_tells_every_mistake(tmp_path):
    (tmp_path / "studio.toml").write_text("name = 3\n[room]\nfoo = 1\n", encoding="utf-8")
    result = check_studio(tmp_path)
    assert not result.ok
    assert result.studio is None
    assert len(result.mistakes) >= 7
    assert all(mistake.sentence.endswith(".") for mistake in result.mistakes)


def test_weather_is_checked_with_the_studio(tmp_path):
    new_studio(tmp_path / "s", {"--lat": 42.0, "--lon": 120.0})
    sky = tmp_path / "sky.csv"
    head = "# time_zone: UTC\n# stamp: start\ntime,ghi_w_m2\n"
    sky.write_text(head + "2026-06-21T11:00,900\n2026-06-21T12:00,910\n", encoding="utf-8")
    result = check_studio(tmp_path / "s", sky)
    assert result.ok
    assert result.weather.intervals == 2
    # 13 UTC at 120 degrees east is 21 o'clock by the sun
    sky.write_text(head + "2026-06-21T14:00,900\n2026-06-21T15:00,910\n", encoding="utf-8")
    assert "the sun is down here" in " ".join(check_studio(tmp_path / "s", sky).notes)
    sky.write_text("", encoding="utf-8")
    assert "empty" in check_studio(tmp_path / "s", sky).mistakes[0].sentence
