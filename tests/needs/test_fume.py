"""The fume use case: what a studio gives, what options change, what is warned of."""

from dataclasses import replace

import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.needs import fume as need
from argentry.needs import over_iodine
from argentry.needs.fume import Fuming
from argentry.records.instruments import DevelopmentFrame, IodineBox, Lens
from argentry.records.needs import StudioNow
from argentry.records.plain import plain
from argentry.records.studio import Room, Site, Studio, Water


def fume(*given, **named):
    """Return the answer as `--json` prints it."""
    return plain(need.fume(*given, **named))


STUDIO = Studio(
    name="Invented studio",
    site=Site("Nowhere", 45.0, 5.0, 1500.0, "UTC"),
    lenses=(Lens("lens", 4.0, 200.0),),
    boxes=(
        IodineBox("Old box", 20.0, 90.0, 180.0, 6.0, None, 1.2, rested=True),
        IodineBox("Deep box", 40.0, 200.0, 180.0, 6.0, 25.0, 1.0, rested=False),
    ),
    frames=(DevelopmentFrame("frame", 600.0),),
    room=Room(17.0, 50.0),
    water=Water("distilled"),
)


def test_keys_that_others_build_on():
    answer = fume(Fuming(45.0, box_temperature_c=20.0, gap_mm=20.0))
    low, high = answer["seconds_80"]
    assert low < answer["seconds"] < high
    assert answer["seconds"] == answer["rested_seconds"] < answer["swept_seconds"]
    assert answer["iodine_mg"] == pytest.approx(1.23, abs=0.01)  # quarter plate
    assert answer["turn_plate_at_seconds"] == answer["seconds"] / 2
    assert answer["half_coat_seconds"] < answer["seconds"] / 2
    assert answer["steady_rate_nm_s"] == pytest.approx(0.37, abs=0.01)
    assert answer["warnings"] == []
    assert any("ammonia" in caution for caution in answer["cautions"])
    assert "0.1 ppm" in answer["limits"]


def test_the_last_seconds_add_to_the_coat():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    last = fume(Fuming(25.0, **box))["last"]
    assert last["seconds"] == 8.0
    assert last["grown_nm"] == pytest.approx(3.0, abs=0.1)  # 8 s of 0.37 nm/s
    low, high = last["grown_nm_80"]
    assert low == pytest.approx(0.66, abs=0.05)  # the box just swept
    assert high == pytest.approx(8.3, abs=0.1)  # and one that stood shut
    assert last["judged_nm"] == pytest.approx(25.0 - last["grown_nm"])
    assert last["judged_colour"] == "gold"
    assert last["judged_at_seconds"] < fume(Fuming(25.0, **box))["seconds"]
    cold = fume(Fuming(25.0, box_temperature_c=10.0, gap_mm=20.0))["last"]
    assert cold["grown_nm"] < 0.5 * last["grown_nm"]
    none = fume(Fuming(25.0, back_seconds=0.0, **box))["last"]
    assert (none["grown_nm"], none["judged_nm"]) == (0.0, 25.0)


def test_the_studio_s_own_last_seconds():
    habits = replace(STUDIO.habits, back_over_iodine_s=4.0)
    own = fume(Fuming(25.0), StudioNow(replace(STUDIO, habits=habits)))["last"]
    assert own["seconds"] == 4.0
    assert own["grown_nm"] < fume(Fuming(25.0), StudioNow(STUDIO))["last"]["grown_nm"]


def test_a_cold_plate_and_damp_air_slow_it_a_little_and_widen_the_range():
    def told(**more):
        answer = fume(Fuming(25.0, box_temperature_c=20.0, gap_mm=20.0, **more))
        low, high = answer["seconds_80"]
        return answer["seconds"], high / low

    usual, width = told()
    damp, damp_width = told(humidity_pct=95.0)
    cold, cold_width = told(plate_temperature_c=8.0)
    warm, _ = told(plate_temperature_c=30.0)
    assert warm < usual < damp < 1.1 * usual
    assert usual < cold < 1.1 * usual
    assert width < damp_width
    assert width < cold_width


def test_the_studio_s_first_box_and_room():
    answer = fume(Fuming(45.0), StudioNow(STUDIO))
    assert answer["box"]["name"] == "Old box"
    assert answer["box"]["box_temperature_c"] == 17.0  # the room's
    assert answer["box"]["cover_share"] == 0.5
    assert answer["box"]["box_factor"] == 1.2
    assert answer["box"]["pressure_pa"] == pytest.approx(84556, abs=5)  # 1500 m
    assert answer["plate"]["size"] == "quarter"


def test_another_box_by_name_and_options_over_it():
    answer = fume(Fuming(45.0, box="deep BOX", gap_mm=30.0, rested=True), StudioNow(STUDIO))
    assert answer["box"]["box_temperature_c"] == 25.0
    assert answer["box"]["gap_mm"] == 30.0
    assert answer["box"]["cover_share"] == 1.0  # more crystals than floor still cover it once
    assert answer["rested"] is True
    assert fume(Fuming(45.0, box="Deep box"), StudioNow(STUDIO))["rested"] is False


def test_colder_and_warmer_boxes_are_shown():
    around = fume(Fuming(45.0, box_temperature_c=20.0))["around"]
    assert [other["box_temperature_c"] for other in around] == [15.0, 25.0]
    assert around[0]["seconds"] > around[1]["seconds"]
    assert len(fume(Fuming(45.0, box_temperature_c=58.0))["around"]) == 1


def test_the_note_on_warmth_says_what_the_times_say():
    """The vapour stored in a rested box makes a warm one quicker than its steady growth alone."""
    answer = fume(Fuming(25.0, box_temperature_c=20.0))
    percent = 100.0 * (1.0 - answer["around"][1]["seconds"] / answer["seconds"])
    assert any(f"5 K warmer, the coat takes {percent:.0f} % less" in one for one in answer["notes"])


def test_film_rate_slows():
    asked = Fuming(45.0, box_temperature_c=20.0)
    plain, filmed = fume(asked), fume(replace(asked, film_k_m2_s=1e-17))
    assert filmed["seconds"] == pytest.approx(plain["seconds"] + 101, abs=1)


@pytest.mark.parametrize(
    ("changed", "word"),
    [
        ({"plate_temperature_c": 15.0, "gap_mm": 40.0}, "turns over"),
        ({"crystal_spacing_mm": 30.0}, "print through"),
        ({"tilt_mm": 4.0}, "wedge of colour"),
        ({"thickness_nm": 5.0}, "too short"),
        ({"box_temperature_c": 38.0}, "ppm of iodine"),
    ],
)
def test_warnings(changed, word):
    asked = replace(Fuming(45.0, box_temperature_c=20.0, gap_mm=20.0), **changed)
    assert any(word in warning for warning in fume(asked)["warnings"])


@pytest.mark.parametrize(
    "wrong",
    [
        {"thickness_nm": 0.0},
        {"thickness_nm": float("nan")},
        {"box_temperature_c": None},
        {"box_temperature_c": 90.0},
        {"gap_mm": -1.0},
        {"cover_share": 0.0},
        {"crystal_spacing_mm": 0.0},
        {"box_factor": 0.0},
        {"film_k_m2_s": 0.0},
        {"pressure_hpa": 101325.0},
        {"pressure_hpa": 1000.0, "elevation_m": 10.0},
        {"elevation_m": 9000.0},
        {"size": "enormous"},
        {"size": "whole", "area_cm2": 10.0},
        {"area_cm2": 0.0},
        {"tilt_mm": 21.0},
        {"plate_temperature_c": 400.0},
        {"box": "Old box"},
    ],
)
def test_bad_input(wrong):
    with pytest.raises(BadInput):
        fume(replace(Fuming(45.0, box_temperature_c=20.0, gap_mm=20.0), **wrong))


def test_unknown_box_lists_the_known():
    with pytest.raises(BadInput, match="'Old box', 'Deep box'"):
        fume(Fuming(45.0, box="Third"), StudioNow(STUDIO))


def test_a_coat_strays_with_the_crystals_as_its_seconds_do(monkeypatch):
    # the same sensitivity twice: in the seconds asked for, and in how far coats stray from them
    box, held = over_iodine.box_today(STUDIO), 20.0
    each = over_iodine.each_log_sd(box, 25.0, held)
    known = trade.value
    still = {("fuming", "temperature_sd"): 0.0}
    monkeypatch.setattr(
        over_iodine.trade, "value", lambda *of: still[of] if of in still else known(*of)
    )
    warmth = np.sqrt(each**2 - over_iodine.each_log_sd(box, 25.0, held) ** 2)
    cold, warm = (float(over_iodine.computed_seconds(box, 25.0, held + by)) for by in (-0.05, 0.05))
    of_a_kelvin = np.log(cold / warm) / 0.1
    assert warmth == pytest.approx(known("fuming", "temperature_sd") * of_a_kelvin, rel=0.01)
