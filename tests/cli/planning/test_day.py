"""``argentry day`` as typed by a maker."""

import json
import subprocess
import sys

import icalendar
import pypdf
import pytest

from argentry.cli.common import writable
from argentry.cli.main import main
from argentry.day.plan import make_day


@pytest.fixture
def few_days(monkeypatch):
    """The command plans by 40 days and a short search: what is asked is how a day is shown."""
    monkeypatch.setitem(make_day.__kwdefaults__, "simulated_days", 40)
    monkeypatch.setitem(make_day.__kwdefaults__, "effort", 0.3)


@pytest.fixture(scope="module")
def studio(tmp_path_factory):
    folder = tmp_path_factory.mktemp("maker") / "studio"
    place = ["--lat", "43", "--lon", "-2", "--elevation-m", "200", "--tz", "Europe/Madrid"]
    with pytest.raises(SystemExit) as end:
        main(["studio", "new", str(folder), *place])
    assert end.value.code == 0
    return folder


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    assert end.value.code == 0, err
    return out, err


def forecast(folder, cloud_percent):
    rows = ["# time_zone: Europe/Madrid", "# stamp: start", "time,cloud_percent"]
    rows += [f"2026-06-21T{hour:02d}:00,{cloud_percent}" for hour in range(24)]
    sky = folder / "sky.csv"
    sky.write_text("\n".join(rows) + "\n")
    return sky


@pytest.mark.usefixtures("few_days")
def test_the_sheet_answers_first(capsys, studio, monkeypatch):
    monkeypatch.setattr("argentry.desk.wishes.past_note", "{0} is past in {1.tzinfo}".format)
    out, err = run(capsys, "day", "2026-06-21", "--studio", str(studio), "--plates", "1")
    assert err.splitlines()[-1] == "2026-06-21 is past in Europe/Madrid"
    head = "\n".join(out.splitlines()[:14])
    assert "21 June 2026" in head
    assert "1 plate" in head
    assert "times are for a clear sky, odds for the clouds" in " ".join(out.split())
    assert "Iodine vapour" not in out
    full, _ = run(capsys, "day", "2026-06-21", "--studio", str(studio), "--plates", "1", "--full")
    assert "Iodine vapour" in full
    assert "Begun at that hour" in full


@pytest.mark.usefixtures("few_days")
@pytest.mark.parametrize(
    ("plates", "most", "sky"), [("1", 40, ""), ("3", 40, "cloudy"), ("12", 60, "cloudy")]
)
def test_a_planned_day_is_one_screen(capsys, studio, tmp_path, monkeypatch, plates, most, sky):
    monkeypatch.setenv("COLUMNS", "100")
    weather = ["--weather", str(forecast(tmp_path, 40))] if sky else []
    out, _ = run(capsys, "day", "2026-06-21", "--studio", str(studio), "--plates", plates, *weather)
    assert len(out.splitlines()) <= most
    assert "--full" in out
    assert max(map(len, out.splitlines())) <= 100


@pytest.mark.usefixtures("few_days")
def test_json_pdf_and_calendar_tell_the_same_day(capsys, studio, tmp_path):
    pdf, ics = tmp_path / "day.pdf", tmp_path / "day.ics"
    out, _ = run(
        capsys,
        *("day", "2026-06-21", "--studio", str(studio), "--json"),
        *("--pdf", str(pdf), "--paper", "letter", "--ics", str(ics)),
    )
    plan = json.loads(out)
    assert plan["plates_placed"] == plan["plates_asked"] >= 1
    page = pypdf.PdfReader(pdf).pages
    assert len(page) == 2
    assert float(page[0].mediabox.width) == pytest.approx(612, abs=1)
    assert "21 June 2026" in page[0].extract_text()
    assert writable("--pdf", str(pdf)) == pdf, "the sheet of tomorrow may take its place"
    assert writable("--ics", str(ics)) == ics
    calendar = icalendar.Calendar.from_ical(ics.read_bytes())
    starts = {event.decoded("dtstart").isoformat() for event in calendar.walk("vevent")}
    assert plan["steps"][1]["start"] in starts


def test_a_forecast_changes_the_odds(capsys, studio, tmp_path):
    sky = forecast(tmp_path, 100)
    clear, _ = run(capsys, "day", "2026-06-21", "--studio", str(studio), "--json")
    grey, _ = run(
        capsys, "day", "2026-06-21", "--studio", str(studio), "--json", "--weather", str(sky)
    )
    assert json.loads(grey)["light_odds"] < json.loads(clear)["light_odds"]
    assert any("may fail" in w for w in json.loads(grey)["warnings"])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["2026-13-01"], "2026-13-01"),
        (["someday"], "someday"),
        (["2026-06-21", "--plates", "0"], "1 to 12"),
        (["2026-06-21", "--plates", "13"], "1 to 12"),
        (["2026-06-21", "--plates", "two"], "two"),
        (["2026-06-21", "--haze", "-1"], "haze"),
        (["2026-06-21", "--haze", "nan"], "haze"),
        (["2026-06-21", "--weather", "no-such-file.csv"], "no-such-file.csv"),
        (["2026-06-21", "--mapping", "sky.toml"], "--weather"),
        (["2026-06-21", "--pdf", "no-such-folder/day.pdf"], "no-such-folder"),
        (["2026-06-21", "--paper", "a5"], "a5"),
        (["2026-06-21", "2026-06-22"], "2026-06-22"),
        (["2026-06-21", "--shiny"], "--shiny"),
    ],
)
def test_bad_input_is_one_sentence(refused, studio, words, told):
    assert told in refused("day", *words, "--studio", str(studio))


def test_without_a_studio_it_says_how_to_make_one(refused, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "argentry studio new" in refused("day", "2026-06-21")


def test_an_unknown_command_is_one_sentence(refused):
    assert "dya" in refused("dya")


def test_help_imports_nothing_heavy(capsys):
    import subprocess
    import sys

    code = (
        "import sys, argentry.cli.main as m\n"
        "try: m.main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy','pandas','pvlib','ortools','rich','typst','sqlalchemy',"
        "'fastapi'} & set(sys.modules)\n"
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_no_library_of_databases_is_loaded_where_there_is_no_book():
    """It is a third of what a day's imports cost; a table of plates is read without it."""
    code = (
        "import sys, argentry.cli.planning.day, argentry.day.plan, argentry.desk.bench.as_read, "
        "argentry.desk.numbers.kept, argentry.desk.numbers.makings, argentry.exchange.plates.table,"
        " argentry.keeping.stock.before_day, argentry.keeping.studio; "
        "print(argentry.keeping.studio.has_book(None), 'sqlalchemy' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["False", "False"]
