import json
import re
import subprocess
import sys
from datetime import UTC, datetime

import pytest

PLACE = ["light", "--lat", "50", "--lon", "8"]


@pytest.fixture(autouse=True)
def _narrow(no_studio, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")


def test_json_has_the_promised_keys_as_lists(run):
    code, out, _ = run(*PLACE, "--at", "2026-06-21T12:00Z", "--json")
    assert code == 0
    data = json.loads(out)
    for key in (
        "time",
        "elevation_deg",
        "azimuth_deg",
        "actinic_w_m2",
        "development_w_m2",
        "ghi_w_m2",
    ):
        assert isinstance(data[key], list)
        assert len(data[key]) == 1
    assert data["elevation_deg"][0] == pytest.approx(62.8, abs=0.1)


def test_json_of_the_night_is_valid(run):
    _, out, _ = run(*PLACE, "--from", "2026-06-21T00:00Z", "--to", "2026-06-22T00:00Z", "--json")
    data = json.loads(out)
    assert len(data["time"]) == 25
    assert data["actinic_w_m2"][0] == 0.0
    assert data["meter_overstates"][0] is None


def test_meter_object(run):
    _, out, _ = run(*PLACE, "--at", "2026-06-21T18:00Z", "--lux", "30000", "--json")
    metered = json.loads(out)["meter"]
    assert metered["correction_stops"] < 0
    assert metered["actinic_w_m2"] > 0


def test_table_fits_the_screen_and_shows_the_meters_factor(run):
    code, out, _ = run(
        *PLACE, "--from", "2026-06-21T02:00", "--to", "2026-06-21T22:00", "--tz", "Europe/Berlin"
    )
    assert code == 0
    assert "…" not in out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "× 3.5" in out
    assert "W/m²" in out
    assert "never look at the sun" in out


def test_words_for_a_reading(run):
    _, out, _ = run(*PLACE, "--at", "2026-06-21T18:00Z", "--ev", "13")
    said = " ".join(out.split())
    assert "the meter overstates it" in said
    assert "(by 1." in said  # a sign would leave open whether the light or the exposure is meant
    assert re.search(r"It is \d+ % of what this sky should give", said)


def test_a_reading_far_below_the_clear_sky_points_to_the_overcast_plane(run):
    _, out, _ = run(*PLACE, "--at", "2026-06-21T12:00Z", "--lux", "20000")
    assert "ask again with --plane overcast" in " ".join(out.split())


def test_a_long_span_is_cut_on_the_screen_only(run):
    _, out, _ = run(
        *PLACE, "--from", "2026-06-01T00:00Z", "--to", "2026-06-30T00:00Z", "--step", "30"
    )
    assert "later times are left out here; --json gives all." in out


@pytest.mark.parametrize(
    "arguments",
    [
        ["--at", "noon"],
        ["--at", "2026-02-30T12:00"],
        ["--at", "2026-03-29T02:30", "--tz", "Europe/Berlin"],
        ["--at", "2026-06-21T12:00", "--tz", "Atlantis/Centre"],
        ["--at", "2026-06-21T12:00", "--lux", "nan"],
        ["--at", "2026-06-21T12:00", "--lux", "bright"],
        ["--at", "2026-06-21T12:00", "--plane", "ceiling"],
        ["--at", "2026-06-21T12:00", "--haze", "7"],
        ["--at", "2026-06-21T12:00", "--elevation-m", "90000"],
        ["--at", "2026-06-21T12:00", "--weather", "nowhere.csv"],
        ["--at", "2026-06-21T23:00", "--ev", "3"],
        ["--from", "2026-06-21T12:00"],
        ["--lat", "95", "--at", "2026-06-21T12:00"],
    ],
)
def test_bad_input_is_one_sentence_and_code_2(run, arguments):
    code, out, err = run(*PLACE, *arguments)
    assert code == 2
    assert out == ""
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err


def test_help_imports_nothing_heavy():
    check = (
        "import sys; from argentry.cli.main import main\n"
        "try: main(['light', '--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'pvlib', 'pandas', 'rich.table'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", check], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_without_a_time_it_is_now(run):
    before = datetime.now(UTC).replace(second=0, microsecond=0)
    code, out, _ = run(*PLACE, "--json")
    assert code == 0
    (told,) = json.loads(out)["time"]
    assert before <= datetime.fromisoformat(told) <= datetime.now(UTC)
