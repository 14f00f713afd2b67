"""`argentry water`: what a reading means for each use."""

import json
from math import nextafter

import pytest
from click.testing import CliRunner

from argentry.cli.materials.water import water as command
from argentry.errors import BadInput
from argentry.needs.materials.water import water, water_uses


def serves(answer):
    return {one.use: one.serves for one in answer.uses}


def test_tap_distilled_and_deionised():
    tap = water(conductivity_us_cm=450.0, chloride=30.0, hardness=15.0, hardness_unit="dH", ph=7.4)
    assert serves(tap) == {
        "scour": True, "fix": False, "wash": False, "gild": False, "last_rinse": False,
    }  # fmt: skip
    assert tap.hardness_mg_l == pytest.approx(267.7, abs=0.1)
    assert tap.solids_mg_l == pytest.approx(0.65 * (450.0 - 0.055))
    assert tap.spots is True
    treated = {one.treatment: one for one in tap.treated}
    assert set(treated["distilled"].serves) == {one.key for one in water_uses()}
    assert set(treated["deionised"].serves) == {one.key for one in water_uses()}
    assert treated["as it is"].serves == ("scour",)
    assert treated["distilled"].spots is False
    assert treated["distilled"].chloride_mg_l == pytest.approx(0.03)
    assert treated["deionised"].chloride_mg_l == pytest.approx(30.0 / 450.0)
    assert tap.last_rinse_us_cm == 5.0


def test_boiling_takes_lime_and_leaves_chloride():
    hard = water(conductivity_us_cm=600.0, chloride=20.0, hardness=240.0)
    boiled = hard.treated[1]
    assert boiled.hardness_mg_l == 40.0
    assert boiled.chloride_mg_l == 20.0
    assert boiled.conductivity_us_cm == pytest.approx(600.0 - 200.0 / 0.65)
    assert boiled.solids_mg_l == pytest.approx(hard.solids_mg_l - 200.0)
    soft = water(conductivity_us_cm=60.0, hardness=20.0).treated[1]
    assert soft.conductivity_us_cm == pytest.approx(60.0)
    assert soft.hardness_mg_l == 20.0


def test_each_reading_alone_is_enough():
    assert water(solids=100.0).conductivity_us_cm == pytest.approx(100.0 / 0.65)
    assert water(conductivity_us_cm=90.0, temperature_c=20.0).conductivity_us_cm == pytest.approx(
        100.0
    )
    only = water(chloride=0.4)
    assert only.silver_chloride_nm == pytest.approx(0.0145, abs=1e-3)
    assert only.notes == ()
    assert only.ring_nm is None
    assert only.spots is None
    assert serves(only)["gild"]
    acid = water(ph=4.0)
    assert not any(serves(acid).values())
    assert "pH 4 is outside" in acid.uses[1].why[0]
    assert "not measured" in acid.notes[0]
    assert water(hardness=5.0).treated[2].hardness_mg_l == pytest.approx(0.025)


def test_the_limit_itself_serves():
    last = water(conductivity_us_cm=5.0)
    assert serves(last)["last_rinse"]
    assert not serves(water(conductivity_us_cm=5.01))["last_rinse"]


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("conductivity_us_cm", 0.0, 7e4), ("solids", 0.0, 1e5), ("chloride", 0.0, 1e5),
        ("ph", 1.0, 14.0),
    ],
)  # fmt: skip
def test_each_reading_has_its_ends(name, least, most):
    for given in (least, most):
        assert water(**{name: given}).uses
    for given in (least - 1e-6, nextafter(most, 2.0 * most)):
        with pytest.raises(BadInput, match="out of range"):
            water(**{name: given})


def test_the_saltiest_reading_at_the_coldest_is_still_answered():
    """Past it, the refusal named solids that nobody had given."""
    assert water(conductivity_us_cm=7e4, temperature_c=0.0).solids_mg_l == pytest.approx(
        9e4, rel=0.1
    )


def test_the_command_in_words_and_json():
    told = CliRunner().invoke(command, ["--us-cm", "450", "--chloride", "30"]).output
    assert "does not serve: Last rinse before drying (conductivity 450 µS/cm is above 5" in told
    assert "shows as a spot" in told
    assert "If distilled: 3 µS/cm" in " ".join(told.split())
    clean = CliRunner().invoke(command, ["--us-cm", "2"]).output
    assert "too thin to show" in clean
    assert "serves: Last rinse" in clean
    data = json.loads(CliRunner().invoke(command, ["--ph", "7", "--json"]).output)
    assert data["conductivity_us_cm"] is None


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({}, "nothing is given"),
        ({"temperature_c": 20.0, "ph": 7.0}, "no conductivity"),
        ({"conductivity_us_cm": -1.0}, "--us-cm"),
        ({"solids": -1.0}, "--tds"),
        ({"chloride": float("nan")}, "--chloride"),
        ({"hardness": 10.0, "hardness_unit": "clark"}, "use one of mg/L"),
        ({"ph": 15.0}, "--ph"),
        ({"conductivity_us_cm": 10.0, "drop_ul": 0.0}, "drop"),
    ],
)
def test_bad_input(given, words):
    with pytest.raises(BadInput, match=words):
        water(**given)
