"""``argentry coat`` from the command line."""

import json

import pytest

from argentry.cli.main import main

pytestmark = pytest.mark.usefixtures("no_studio")


def test_json_of_a_thickness_has_the_promised_keys(run):
    code, out, _ = run("coat", "--nm", "45", "--json")
    told = json.loads(out)
    assert code == 0
    assert told["thickness_nm"] == 45
    assert (told["colour"], told["cycle"]) == ("blue", 1)
    assert len(told["lab"]) == 3
    assert told["srgb"].startswith("#")
    assert len(told["reflectance"]["wavelength_nm"]) == len(told["reflectance"]["value"])
    assert 0 < told["coat_share"] < 1
    assert 0 < told["relative_speed"] < 1


def test_json_of_a_colour_has_the_promised_keys(run):
    code, out, _ = run("coat", "--lab", "74,0,-10", "--json")
    told = json.loads(out)
    assert code == 0
    for one in told["candidates"]:
        assert {"thickness_nm", "weight", "delta_e", "colour", "cycle"} <= set(one)
    assert told["candidates"][0]["thickness_nm"] == pytest.approx(44, abs=1)


def test_nothing_is_never_written_with_a_minus(run):
    assert "-0 %" not in run("coat", "--nm", "0")[1]


def test_bare_silver_is_told_as_bare(run):
    code, out, _ = run("coat", "--lab", "99.4,0.1,0.4")
    assert code == 0
    assert "0.0 nm" in out
    assert "bare" in out
    assert ">99 %" in out


def test_the_fuming_time_decides_between_cycles(run):
    _, out, _ = run("coat", "--lab", "78,-3,-10", "--expect", "168,8", "--json")
    assert json.loads(out)["candidates"][0]["cycle"] == 2
    _, out, _ = run("coat", "--lab", "78,-3,-10", "--cycle", "1", "--json")
    assert {one["cycle"] for one in json.loads(out)["candidates"]} == {1}


def test_the_table_shows_thickness_word_speed_and_doubt(run):
    code, out, _ = run("coat", "--colour", "gold")
    assert code == 0
    for words in ("22.0 nm", "±2 nm", "gold, first cycle", "the first gold", "#E"):
        assert words in out


def test_the_table_of_candidates(run):
    code, out, _ = run("coat", "--lab", "74,0,-10", "--illuminant", "A", "--angle", "20")
    assert code == 0
    assert "tungsten light (A), 20° from straight on" in out
    assert "likelihood" in out


def test_a_lamp_file_and_a_stepped_plate(run, tmp_path):
    lamp = tmp_path / "lamp.csv"
    lamp.write_text("wavelength_nm,value\n" + "".join(f"{w},1\n" for w in range(380, 781, 10)))
    code, out, _ = run("coat", "--nm", "32", "--illuminant", str(lamp))
    assert code == 0
    assert "lamp.csv" in out
    plate = tmp_path / "steps.csv"
    plate.write_text(
        "seconds,L,a,b\n10,96,-1,6\n20,93,-2,14\n40,83,-1,33\n60,74,9,14\n80,73,5,-8\n"
        "100,80,-4,-8\n140,89.4,-5,2\n"
    )
    code, out, _ = run("coat", "--fit", str(plate))
    assert code == 0
    assert "interlayer_nm = 1" in out
    assert "interlayer_growth_nm = 1" in out
    assert "0.50 nm/s" in out
    assert "[habits]" in out


def test_the_studios_own_coat_and_layer(capsys, tmp_path, run):
    with pytest.raises(SystemExit):
        main(["studio", "new", str(tmp_path / "mine")])
    file = tmp_path / "mine" / "studio.toml"
    text = file.read_text()
    assert "[habits]" in text
    kept = [
        line
        for line in text.splitlines()
        if not line.lstrip("# ").startswith(("coat_nm", "interlayer_"))
    ]
    own = "[habits]\ncoat_nm = 45.0\ninterlayer_nm = 7.0\ninterlayer_silver = 0.7"
    own += "\ninterlayer_growth_nm = 9.0"
    file.write_text("\n".join(kept).replace("[habits]", own))
    capsys.readouterr()
    code, out, _ = run("coat", "--studio", str(tmp_path / "mine"), "--json")
    told = json.loads(out)
    assert code == 0
    assert told["thickness_nm"] == 45
    assert (told["interlayer_nm"], told["interlayer_silver"]) == (7.0, 0.7)
    assert told["interlayer_growth_nm"] == 9.0
    assert not told["interlayer_is_seed"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "no coat was named"),
        (["--nm", "-3"], "from 0 to 250 nm"),
        (["--nm", "nan"], "from 0 to 250 nm"),
        (["--nm", "251"], "from 0 to 250 nm"),
        (["--nm", "thick"], "is not a number; give one such as 25"),
        (["--nm", "20", "--lab", "70,0,0"], "give one of them"),
        (["--nm", "20", "--angle", "81"], "from 0 to 80 deg"),
        (["--nm", "20", "--illuminant", "candle"], "neither a light known here nor a file"),
        (["--nm", "20", "--interlayer-nm", "99"], "from 0 to 60 nm"),
        (["--nm", "20", "--interlayer-silver", "1.5"], "from 0 to 1"),
        (["--nm", "20", "--interlayer-growth-nm", "1"], "from 2 to 60 nm"),
        (["--fit", "x.csv", "--interlayer-growth-nm", "9"], "changes nothing"),
        (["--nm", "20", "--cycle", "1"], "changes nothing"),
        (["--nm", "20", "--noise", "1"], "changes nothing"),
        (["--lab", "70,0"], "not 3 numbers"),
        (["--lab", "70,x,0"], "not 3 numbers"),
        (["--lab", "170,0,0"], "from 0 to 100"),
        (["--lab", "70,0,nan"], "from -128 to 128"),
        (["--lab", "70,0,0", "--noise", "0"], "from 0.2 to 15"),
        (["--lab", "70,0,0", "--cycle", "4"], "there is no cycle 4"),
        (["--lab", "70,0,0", "--expect", "45"], "not 2 numbers"),
        (["--lab", "70,0,0", "--expect", "45,0"], "above 0"),
        (["--colour", "mauve"], "use one of"),
        (["--colour", "green", "--cycle", "1"], "give cycle 2"),
        (["--fit", "nowhere.csv"], "cannot be read"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_2(run, arguments, words):
    code, out, err = run("coat", *arguments)
    assert code == 2
    assert out == ""
    assert err.count("\n") == 1
    assert words in err
