"""``argentry fume``."""

import json

import pytest

from argentry.cli.work.fume import _time
from argentry.keeping.studio import new_studio

pytestmark = pytest.mark.usefixtures("no_studio")


def test_json(run):
    code, out, _ = run("fume", "--nm", "45", "--box-temp", "20", "--gap-mm", "20", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["seconds"] == pytest.approx(105, abs=1)
    low, high = answer["seconds_80"]
    assert low < 105 < high
    assert answer["iodine_mg"] == pytest.approx(1.23, abs=0.01)


def test_the_coat_is_the_studios_where_none_is_named(run, tmp_path):
    code, _, told = run("fume")
    assert (code, told.count("\n")) == (2, 1)
    assert "give --nm or --studio" in told
    new_studio(tmp_path / "here", {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"})
    studio = ("--studio", str(tmp_path / "here"), "--json")
    assert run("fume", *studio)[1] == run("fume", "--nm", "25", *studio)[1]


def test_sheet_says_range_warmth_evenness_and_cautions(run):
    code, out, _ = run(
        "fume", "--nm", "45", "--box-temp", "20", "--gap-mm", "40", "--plate-temp", "15"
    )
    text = " ".join(out.split())
    assert code == 0
    for words in (
        "four times in five", "box at 15 °C", "box at 25 °C", "difference across the plate",
        "turns over", "half time", "Never bring ammonia", "0.1 ppm", "local rules",
    ):  # fmt: skip
        assert words in text


def test_swept_box_is_slower(run):
    box = ("--nm", "45", "--box-temp", "20", "--json")
    rested = json.loads(run("fume", *box)[1])
    swept = json.loads(run("fume", *box, "--swept")[1])
    assert swept["seconds"] > rested["seconds"]


def test_with_a_studio(run, tmp_path):
    new_studio(tmp_path / "studio", {})
    code, out, _ = run("fume", "--studio", str(tmp_path / "studio"), "--nm", "45", "--json")
    assert code == 0
    assert json.loads(out)["box"]["name"]


@pytest.mark.parametrize(
    "args",
    [
        ("--box-temp", "20"),
        ("--nm", "-5", "--box-temp", "20"),
        ("--nm", "nan", "--box-temp", "20"),
        ("--nm", "many", "--box-temp", "20"),
        ("--nm", "45"),
        ("--nm", "45", "--box-temp", "90"),
        ("--nm", "45", "--box-temp", "20", "--gap-mm", "0"),
        ("--nm", "45", "--box-temp", "20", "--size", "enormous"),
        ("--nm", "45", "--box-temp", "20", "--back-s", "-1"),
        ("--nm", "45", "--box-temp", "20", "--back-s", "nan"),
        ("--nm", "45", "--box-temp", "20", "--humidity", "120"),
        ("--nm", "45", "--box-temp", "20", "--plate-temp", "150"),
        ("--nm", "45", "--box-temp", "20", "--box", "Mine"),
        ("--nm", "45", "--box-temp", "20", "--studio", "nowhere"),
    ],
)
def test_bad_input_is_one_sentence_and_code_2(run, args):
    code, out, err = run("fume", *args)
    assert code == 2
    assert out == ""
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (7.4, "7 s"), (44.0, "44 s"), (83.6, "84 s"), (119.0, "119 s"), (152.0, "2 min 30 s"),
        (598.0, "10 min"), (1240.0, "20 min 30 s"),
    ],
)  # fmt: skip
def test_seconds_as_a_maker_says_them(seconds, words):
    assert _time(seconds) == words
