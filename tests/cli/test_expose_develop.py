"""``argentry expose`` and ``argentry develop`` as typed by a maker."""

import json
import os
import re

import pytest

from argentry.cli.main import main

PLACE = ["--lat", "42", "--lon", "-1", "--tz", "Europe/Madrid"]
NOON = ["--at", "2026-06-21T13:20"]
START = ["--start", "2026-06-21T13:20"]


pytestmark = pytest.mark.usefixtures("no_studio")


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    assert end.value.code == 0, err
    return out


def test_expose_json_has_the_promised_keys(capsys):
    answer = json.loads(run(capsys, "expose", *PLACE, *NOON, "--json"))
    low, high = answer["minutes_80"]
    assert low < answer["minutes"] < high
    assert answer["blur_mm"] > 0
    assert answer["stillness_mm"] > 0


def test_develop_json_has_the_promised_keys(capsys):
    answer = json.loads(run(capsys, "develop", *PLACE, *START, "--json"))
    assert answer["end"].startswith("2026-06-21T14:")
    assert answer["minutes_80"][0] < answer["minutes"] < answer["minutes_80"][1]
    assert answer["light_suffices"] is True
    late = json.loads(run(capsys, "develop", *PLACE, "--start", "2026-12-21T16:30", "--json"))
    assert late["end"] is None
    assert late["minutes"] is None
    assert late["light_suffices"] is False


def test_develop_without_a_time_begins_now(capsys):
    out = " ".join(run(capsys, "develop", *PLACE, "--lamp-w-m2", "12").split())
    assert "No time given: now is assumed." in out


def test_expose_tells_a_range_a_step_test_and_cautions(capsys):
    text = " ".join(run(capsys, "expose", *PLACE, *NOON, "--f-number", "4").split())
    assert "four plates in five between" in text
    assert "third of a stop" in text
    assert "Step test in half-stop strips" in text
    assert "a clear sky is assumed" in text
    assert "settle for 20 to 30 s before you uncap" in text
    assert "Caution: never look at the sun" in text
    assert "e+0" not in text


def test_an_overcast_wall_is_not_said_to_lie_under_a_clear_sky(capsys):
    asked = ("expose", *PLACE, *NOON, "--f-number", "4", "--plane", "overcast")
    text = " ".join(run(capsys, *asked).split())
    assert "(overcast sky), plane: overcast" in text
    assert "an overcast sky is assumed" in text
    assert "clear sky" not in text


def test_develop_tells_a_range_the_looks_and_cautions(capsys):
    text = " ".join(run(capsys, "develop", *PLACE, *START).split())
    assert "four plates in five between" in text
    assert "13:50, 14:20, 14:50" in text
    assert "never in white light" in text
    assert "25° off it loses 9 % of the beam" in text
    assert "below 450 nm" in text
    assert "Never look at the sun" in text
    assert "e+0" not in text
    text = " ".join(run(capsys, "develop", *PLACE, "--start", "2026-12-21T16:30").split())
    assert "There is not enough light" in text
    assert "% of the dose is in" in text


def test_a_lamp_needs_no_place_and_crosses_midnight_with_its_date(capsys):
    lamp = ["--lamp-w", "500", "--lamp-m", "0.4", "--tz", "Europe/Madrid"]
    text = run(capsys, "develop", "--start", "2026-12-21T22:00", *lamp)
    assert "Ripe at about 2026-12-22" in text
    assert "halogen lamp" in text


def test_expose_without_a_time_means_now_and_says_so(capsys):
    # the sun is never down for all of these places at once
    for lon in ("0", "90", "180", "-90"):
        with pytest.raises(SystemExit) as end:
            main(["expose", "--lat", "0", "--lon", lon, "--json"])
        out = capsys.readouterr().out
        if end.value.code == 0:
            assert "now is assumed" in json.loads(out)["warnings"][0]
            return
    pytest.fail("dark on all sides of the globe")


def test_an_hour_that_happens_twice_is_told(capsys):
    lamp = ["--lamp-w", "500", "--lamp-m", "0.3", "--tz", "Europe/Madrid", "--json"]
    answer = json.loads(run(capsys, "develop", "--start", "2026-10-25T02:30", *lamp))
    assert "happens twice" in answer["warnings"][0]
    assert answer["start"] == "2026-10-25T02:30:00+02:00"


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["expose", *NOON], "--lat and --lon"),
        (["expose", *PLACE, "--at", "noon"], "not a time"),
        (["expose", *PLACE, "--at", "2026-06-21T02:00"], "below the horizon"),
        (["expose", *PLACE, "--at", "2026-03-29T02:30"], "does not exist"),
        (["expose", "--lat", "95", "--lon", "0", *NOON], "--lat"),
        (["expose", *PLACE, *NOON, "--f-number", "-4"], "--f-number"),
        (["expose", *PLACE, *NOON, "--f-number", "nan"], "--f-number"),
        (["expose", *PLACE, *NOON, "--f-number", "four"], "four"),
        (["expose", *PLACE, *NOON, "--f-number", "900"], "--f-number"),
        (["expose", *PLACE, *NOON, "--distance-m", "0.1"], "focal length"),
        (["expose", *PLACE, *NOON, "--coat-nm", "-1"], "--coat-nm"),
        (["expose", *PLACE, *NOON, "--plane", "moon"], "--plane"),
        (["expose", *PLACE, *NOON, "--pose", "flying"], "pose"),
        (["expose", *PLACE, *NOON, "--haze", "9"], "--haze"),
        (["expose", *PLACE, *NOON, "--weather", "none.csv"], "none.csv"),
        (["develop", *START], "--lat and --lon"),
        (["develop", *PLACE, "--start", "2026-06-21T23:30"], "below the horizon"),
        (["develop", *PLACE, "--start", "2026-03-29T02:30"], "does not exist"),
        (["develop", *PLACE, *START, "--deadline", "2026-06-21T12:00"], "--deadline"),
        (["develop", *PLACE, *START, "--cut-on", "400"], "--cut-on"),
        (["develop", *PLACE, *START, "--dose", "-5"], "--dose"),
        (["develop", *PLACE, *START, "--dose", "inf"], "--dose"),
        (["develop", *START, "--lamp-w", "200"], "--lamp-m"),
        (["develop", *START, "--lamp-w", "200", "--lamp-m", "0"], "--lamp-m"),
        (["develop", *START, "--lamp-w", "200", "--lamp-m", "1", "--lamp", "candle"], "candle"),
        (["develop", *START, "--lamp-w", "200", "--lamp-m", "1", "--tz", "Nowhere"], "--tz"),
        (["develop", *PLACE, *START, "--frame", "red"], "--frame"),
        (["develop", *PLACE, "--studio", os.devnull, *START], "null"),
    ],
)
def test_bad_input_ends_in_one_sentence_and_exit_code_2(refused, arguments, word):
    assert word in refused(*arguments)


def test_the_exposure_light_is_the_one_that_the_command_light_tells(capsys, tmp_path):
    run(capsys, "studio", "new", str(tmp_path / "s"))
    file = tmp_path / "s" / "studio.toml"
    own = "focal_length_mm = 180.0\nnear_uv_transmission = 0.4"
    file.write_text(file.read_text().replace("focal_length_mm = 180.0", own, 1))
    there = ("--studio", str(tmp_path / "s"), *NOON)
    light = json.loads(run(capsys, "light", *there, "--json"))["actinic_w_m2"][0]
    text = " ".join(run(capsys, "expose", *there).split())
    told = float(text.partition("light ")[2].partition(" ")[0])
    assert told == pytest.approx(light, rel=0.03), "half of what a usual lens passes"


def test_a_plate_that_is_ripe_at_once_is_not_ripe_after_no_minutes(run):
    """Two minutes were told as "after 0 min"."""
    lamp = ("--lamp-w-m2", "2000", "--dose", "200", "--start", "2026-06-21T13:00")
    out = run("develop", *lamp, *PLACE)[1]
    assert re.search(r"after [1-9] min;", " ".join(out.split()))
