"""``argentry season`` as typed by a maker."""

import json

import pypdf
import pytest

from argentry.cli.main import main
from argentry.out.schemas import schema

SPAN = ["--from", "2026-05-01", "--to", "2026-05-21", "--years", "3"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("season") / "studio"
    with pytest.raises(SystemExit):
        main(
            [
                "studio",
                "new",
                str(made),
                "--lat",
                "52.1",
                "--lon",
                "5.1",
                "--tz",
                "Europe/Amsterdam",
            ]
        )
    return made


def asked(folder, *more):
    with pytest.raises(SystemExit) as ended:
        main(["season", "--studio", str(folder), *SPAN, *more])
    return ended.value.code


def test_a_season_is_told_by_month_with_its_best_weeks_and_its_weather(folder, capsys):
    assert not asked(folder)
    said = " ".join(capsys.readouterr().out.split())
    assert "1 May 2026 to 21 May 2026:" in said
    assert "May 2026" in said
    assert "Best weeks for sittings, by the hours" in said
    assert "Best weeks for a workshop" in said
    assert "clouds usual at 52° north" in said
    assert "from memory" in said
    assert "plan of a day finds at times one more" in said


def test_places_stand_side_by_side(folder, capsys):
    assert not asked(folder, "--at", "Quito, lat=-0.2, lon=-78.5, zone=America/Guayaquil")
    said = capsys.readouterr().out
    assert said.index("best for") < said.index("Quito") < said.index("1 May 2026")


def test_json_has_the_keys_of_its_schema(folder, capsys):
    import jsonschema

    assert not asked(folder, "--json", "--processes", "1")
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("season"))
    place = found["places"][0]
    assert len(place["days"]) == 21
    assert len(place["years"]) == 3
    assert len(place["days"][0]["finished_odds"]) == len(place["hours"])
    assert found["first"] == "2026-05-01"


def test_on_paper(folder, tmp_path, capsys):
    assert not asked(folder, "--pdf", str(tmp_path / "s.pdf"), "--paper", "letter")
    assert "Season written to" in capsys.readouterr().err
    assert len(pypdf.PdfReader(tmp_path / "s.pdf").pages) == 2


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--from", "may"], "--from: 'may' is not a date"),
        (["--until", "2026-04-30"], "--until: the season ends before it begins"),
        (["--at", "Lima"], "--at: 'Lima' does not say lat"),
        (["--climate", "nowhere.epw"], "nowhere.epw"),
        (["--years", "0"], "--years"),
        (["--dask", "tcp://127.0.0.1:1"], "--dask"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(folder, capsys, more, said):
    assert asked(folder, *more) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "Traceback" not in told


def test_a_climate_file_of_the_studio_file_is_used(folder, capsys):
    rows = ["# kind: measured", "# stamp: start", "# time_zone: UTC", "time,cloud_percent"]
    rows += [
        f"{year}-{month:02d}-{day:02d}T{hour:02d}:00,{10 if year == 2024 else 95}"
        for year in (2024, 2025)
        for month, days in ((4, 30), (5, 31))
        for day in range(1, days + 1)
        for hour in range(24)
    ]
    (folder / "years.csv").write_text("\n".join([*rows[:2], "# gaps: yes", *rows[2:]]))
    text = (folder / "studio.toml").read_text()
    own, named = folder.parent / "own", '[weather]\nclimate = "years.csv"\n'
    own.mkdir()
    (own / "years.csv").write_text((folder / "years.csv").read_text())
    (own / "studio.toml").write_text(text.replace("[weather]\n", named))
    assert not asked(own, "--json")
    place = json.loads(capsys.readouterr().out)["places"][0]
    assert place["climate"] == "years.csv (CSV)"
    assert place["real_years"] is True
    bright, dull = place["years"]
    assert (bright["year"], dull["year"]) == (2024, 2025)
    assert bright["plates"] > dull["plates"] + 10


def test_the_paper_is_written_before_anything_is_printed(folder, tmp_path, monkeypatch):
    """A reader that goes away, as ``head`` does, ends the command; the file is there by then."""
    paper, there = tmp_path / "s.pdf", []
    monkeypatch.setattr(
        "argentry.cli.planning.season._show", lambda _: there.append(paper.stat().st_size)
    )
    assert not asked(folder, "--pdf", str(paper))
    assert there[0] > 1000
