"""``argentry air``."""

import json

import pytest

pytestmark = pytest.mark.usefixtures("no_studio")


def test_json(run):
    code, out, _ = run("air", "--temp", "25", "--rh", "50", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["dew_point_c"] == pytest.approx(13.86, abs=0.03)
    assert answer["margin_k"] == pytest.approx(11.14, abs=0.03)
    assert answer["safe"] is True


def test_a_cold_plate(run):
    code, out, _ = run("air", "--temp", "20", "--rh", "70", "--plate-temp", "8")
    text = " ".join(out.split())
    assert code == 0
    assert "Warm the plate first" in text
    assert "17.4 °C" in text


@pytest.mark.parametrize(("plate", "side"), [("2", "below"), ("25", "above")])
def test_the_margin_has_a_side(run, plate, side):
    _, out, _ = run("air", "--temp", "20", "--rh", "50", "--plate-temp", plate)
    assert f"K {side} the dew point; at least 3 K above it is wanted." in " ".join(out.split())


def test_wet_bulb(run):
    code, out, _ = run("air", "--temp", "20", "--wet-bulb", "14", "--json")
    assert code == 0
    assert json.loads(out)["relative_humidity_pct"] == pytest.approx(51.5, abs=1.0)


@pytest.mark.parametrize(
    "args",
    [
        (),
        ("--temp", "20"),
        ("--rh", "50"),
        ("--temp", "20", "--rh", "140"),
        ("--temp", "nan", "--rh", "50"),
        ("--temp", "20", "--rh", "50", "--wet-bulb", "15"),
        ("--temp", "20", "--wet-bulb", "22"),
        ("--temp", "20", "--rh", "50", "--plate-temp", "inf"),
        ("--temp", "warm", "--rh", "50"),
    ],
)
def test_bad_input_is_one_sentence_and_code_2(run, args):
    code, out, err = run("air", *args)
    assert code == 2
    assert out == ""
    assert len(err.strip().splitlines()) == 1
