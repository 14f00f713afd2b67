"""Bad studios and bad weather files: one sentence for each mistake, exit code 2, no traceback."""

from __future__ import annotations

import re

import pytest

from argentry.cli.main import main


def said(capsys, *arguments):
    with pytest.raises(SystemExit) as stop:
        main([str(argument) for argument in arguments])
    told = capsys.readouterr()
    assert stop.value.code == 2
    assert "Traceback" not in told.err
    return told.err.splitlines()


@pytest.fixture
def studio(tmp_path, capsys):
    with pytest.raises(SystemExit):
        main(["studio", "new", str(tmp_path / "s"), "--lat", "42", "--lon", "-1"])
    capsys.readouterr()
    return tmp_path / "s"


# What is written in place of a line of a new studio.toml, and the words of the sentence.
KEYS = [
    ("latitude_deg = 42.0", "latitude_deg = 142.0", "from -90 to 90 deg"),
    ("latitude_deg = 42.0", "latitude_deg = nan", "is not a number"),
    ("latitude_deg = 42.0", 'latitude_deg = "42 N"', "is not a number"),
    ("latitude_deg = 42.0", "latitude = 42.0", "did you mean latitude_deg"),
    ("latitude_deg = 42.0", "", "latitude_deg: missing"),
    ("longitude_deg = -1.0", "longitude_deg = 181", "from -180 to 180 deg"),
    ("elevation_m = 200.0", "elevation_m = 9000", "from -450 to 6000 m"),
    ('time_zone = "Europe/Paris"', 'time_zone = "Europe/Pariss"', 'did you mean "Europe/Paris"'),
    ("# horizon = [[90, 12]", "horizon = [[400, 12]", "azimuth"),
    ("# horizon = [[90, 12]", "horizon = [[90, 95]", "elevation"),
    ("f_number = 4.0", "f_number = 0", "from 0.9 to 128"),
    ("f_number = 4.0", "f_number = -4", "out of range"),
    ("focal_length_mm = 180.0", "focal_length = 180", "did you mean focal_length_mm"),
    ('glass = "uncoated crown"', 'glass = "window"', "is not known here; give one of"),
    ("gap_mm = 20.0", "gap_mm = 0", "from 2 to 200 mm"),
    ("crystal_area_cm2 = 150.0", "crystal_area_cm2 = 400.0", "more than the floor"),
    ("cut_on_nm = 600.0", "cut_on_nm = 420", "from 480 to 720 nm"),
    ("count = 1", "count = 1.5", "is not a whole number"),
    ("relative_humidity_pct = 50.0", "relative_humidity_pct = 140", "from 1 to 100 %"),
    ('kind = "distilled"', 'kind = "rain"', 'one of "distilled"'),
    ('start = "08:00"', 'start = "8 o\'clock"', "is not a clock time"),
    ('end = "19:00"', 'end = "07:00"', "is not after start"),
    ("# breaks = ", 'breaks = [["20:00", "21:00"]] # ', "outside the hours"),
    ("coat_nm = 25.0", "coat_nm = -25.0", "from 1 to 250 nm"),
    ('plate_size = "quarter"', 'plate_size = "quater"', 'did you mean "quarter"'),
    ("[water]", "[waters]", "did you mean water"),
    ("[[lens]]", "[lens]", "two brackets"),
    ("[site]", "[site", "this is not TOML"),
]


@pytest.mark.parametrize(("old", "new", "words"), KEYS)
def test_bad_studio(studio, capsys, old, new, words):
    file = studio / "studio.toml"
    text = file.read_text(encoding="utf-8")
    # whole lines only: the comments speak of [[lens]] too
    assert f"\n{old}" in text
    file.write_text(text.replace(f"\n{old}", f"\n{new}", 1), encoding="utf-8")
    lines = said(capsys, "studio", "check", studio)
    assert any(words in line for line in lines), lines
    assert len(lines) == (2 if new == "[waters]" else 1)  # the unknown section, and the missing one


def test_every_mistake_has_its_own_line(studio, capsys):
    file = studio / "studio.toml"
    text = file.read_text(encoding="utf-8")
    text = text.replace("latitude_deg = 42.0", "latitude_deg = 420").replace("gap_mm", "gapp_mm")
    assert text.count("\ncount = 1") == 3  # of a box, a lens and a frame
    file.write_text(text.replace("count = 1", "count = 0"), encoding="utf-8")
    assert len(said(capsys, "studio", "check", studio)) == 2 + 3


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("studio", "check", "{tmp}/nowhere"), "there is no such studio folder"),
        (("studio", "check", "{tmp}"), "there is no studio.toml here"),
        (("studio", "new", "{tmp}/s"), "here already"),
        (("studio", "new", "{tmp}/file"), "this is a file, not a folder"),
        (("studio", "new", "{tmp}/file/deeper"), "cannot be written"),
        (("studio", "new", "{tmp}/t", "--lat", "91"), "--lat: 91.0 is out of range"),
        (("studio", "new", "{tmp}/t", "--lon", "nan"), "--lon: nan is not a number"),
        (("studio", "new", "{tmp}/t", "--lat", "north"), "is not a number; give one such as 25"),
        (("studio", "new", "{tmp}/t", "--elevation-m", "1e9"), "--elevation-m"),
        (("studio", "new", "{tmp}/t", "--tz", "Madrid"), 'did you mean "Europe/Madrid"'),
        (("studio", "new", "{tmp}/t", "--name", " "), "--name: the name is empty"),
        (("studio", "new"), "Missing argument"),
        (("studio", "neww", "{tmp}/t"), "No such command"),
    ],
)
def test_bad_calls(studio, tmp_path, capsys, arguments, words):
    (tmp_path / "file").write_text("", encoding="utf-8")
    lines = said(capsys, *[argument.format(tmp=tmp_path) for argument in arguments])
    assert len(lines) == 1
    assert words in lines[0]
    assert not (tmp_path / "t").exists()


HEAD = "# time_zone: Europe/Madrid\n# stamp: start\ntime,ghi_w_m2,cloud_okta\n"
WEATHER = [
    ("sky.csv", "", "the weather file is empty"),
    ("sky.csv", HEAD, "no rows"),
    ("sky.csv", HEAD.replace("time,", "when,") + "2026-06-21T12:00,1,1\n", "no column time"),
    (
        "sky.csv",
        HEAD.replace("ghi_w_m2,cloud_okta", "a,b") + "2026-06-21T12:00,1,1\n",
        "no column tells",
    ),
    ("sky.csv", "time,ghi_w_m2\n2026-06-21T12:00Z,1\n2026-06-21T13:00Z,1\n", "say stamp"),
    ("sky.csv", HEAD + "2026-06-21T12:00,1,1\nNaN,1,1\n", "row 5 column time: 'NaN' is not a time"),
    ("sky.csv", HEAD + "2026-06-21T12:00,1,1\n,1,1\n", "row 5 column time: the time is missing"),
    ("sky.csv", HEAD + "2026-03-29T02:30,1,1\n2026-03-29T03:30,1,1\n", "row 4 .* does not exist"),
    ("sky.csv", HEAD + "2026-06-21T12:00,1,1\n2026-06-21T12:00,1,1\n", "row 5 .* is the same"),
    ("sky.csv", HEAD + "2026-06-21T12:00,1,1\n2026-06-21T11:00,1,1\n", "row 5 .* is before"),
    (
        "sky.csv",
        HEAD + "2026-06-21T12:00,1,1\n2026-06-21T13:00,1,10\n",
        "row 5 column cloud_okta: 10",
    ),
    (
        "sky.csv",
        HEAD + "2026-06-21T12:00,x,1\n2026-06-21T13:00,1,1\n",
        "row 4 column ghi_w_m2: 'x'",
    ),
    ("sky.csv", HEAD + "2026-06-21T12:00,1\n2026-06-21T13:00,1\n", "row 4: 2 cells"),
    ("sky.csv", HEAD.replace("Madrid", "Madridd") + "2026-06-21T12:00,1,1\n", "Madridd"),
    ("sky.json", '{"stamp": "start"}', "no rows under 'hours'"),
    ("sky.json", '{"stamp": ', "this is not JSON"),
    ("sky.epw", "LOCATION,Orraga\n", "this is not an EPW file"),
]


@pytest.mark.parametrize(("name", "text", "words"), WEATHER)
def test_bad_weather(studio, tmp_path, capsys, name, text, words):
    (tmp_path / name).write_text(text, encoding="utf-8")
    lines = said(capsys, "studio", "check", studio, "--weather", tmp_path / name)
    assert len(lines) == 1
    assert re.search(words, lines[0]), lines[0]


def test_no_weather_file(studio, tmp_path, capsys):
    (line,) = said(capsys, "studio", "check", studio, "--weather", tmp_path / "no.csv")
    assert "there is no such file" in line
