"""What a coat looks like, for the desk."""

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.needs.coat import (
    coat_candidates,
    coat_for_word,
    coat_report,
)
from argentry.needs.coat_fit import fit_stepped_plate
from argentry.needs.coat_view import look, read_light
from argentry.needs.named_files.columns import read_columns
from argentry.physics.coat import colour
from argentry.physics.coat.coat_colour import coat_lab
from argentry.physics.coat.interlayer import interlayer


def test_report_of_the_first_gold():
    report = coat_report(25.0)
    assert (report.colour, report.cycle) == ("gold", 1)
    assert report.relative_speed == pytest.approx(1)
    assert report.coat_share == pytest.approx(0.189, abs=2e-3)
    assert report.lab == pytest.approx([78.0, 3.8, 28.5], abs=0.1)
    assert report.srgb == "#DBBD8C"
    assert len(report.reflectance.value) == len(report.reflectance.wavelength_nm) == 81
    assert report.interlayer_is_seed


def test_the_lamp_changes_the_colour_and_not_the_speed():
    day, tungsten = coat_report(35.0), coat_report(35.0, look(illuminant="a"))
    assert tungsten.illuminant == "A"
    assert colour.delta_e_2000(day.lab, tungsten.lab) > 1
    assert day.relative_speed == tungsten.relative_speed


def test_a_tilted_plate_is_told_by_the_word_it_looks_like():
    report = coat_report(144.0, look(angle_deg=45))
    assert report.colour == "rose"
    assert report.seen_as == "orange"
    assert any("orange" in note for note in report.notes)


def test_bare_silver_as_measured_is_told_as_bare():
    # It read as a coat of 74 nm, above 99 %, while the lossy layer was as thick under no coat.
    first = coat_candidates((99.4, 0.1, 0.4)).candidates[0]
    assert (first.colour, first.cycle) == ("bare", 0)
    assert first.weight > 0.95
    assert first.range_80_nm[0] == 0.0
    assert first.range_80_nm[1] < 5.0


def test_a_layer_partly_known_leaves_the_rest_in_doubt():
    def width(view):
        low, high = coat_candidates((88.0, -3.0, 26.0), view).candidates[0].range_80_nm
        return high - low

    assert look(interlayer_nm=12, interlayer_silver=0.5).seeded
    assert not look(interlayer_nm=12, interlayer_silver=0.5, interlayer_growth_nm=15).seeded
    own = width(look(interlayer_nm=12, interlayer_silver=0.5, interlayer_growth_nm=15))
    assert own < width(look(interlayer_nm=12, interlayer_silver=0.5)) < width(look())


def test_a_word_gives_the_report_of_its_typical_coat():
    assert coat_for_word("rose", 2).thickness_nm == 144
    assert coat_for_word("second yellow").cycle == 2


def test_candidates_carry_word_and_colour():
    result = coat_candidates((74.0, 0.0, -10.0))
    first = result.candidates[0]
    assert (first.colour, first.cycle) == ("blue", 1)
    assert first.range_80_nm[0] < first.thickness_nm < first.range_80_nm[1]
    assert sum(one.weight for one in result.candidates) == pytest.approx(1, abs=1e-5)
    assert any("two cycles" in note for note in result.notes)


def test_a_colour_no_coat_has_says_so():
    result = coat_candidates((30.0, 60.0, -60.0))
    assert any("No coat of this model" in note for note in result.notes)


@pytest.fixture
def stepped_plate(tmp_path):
    def write(first, values, lab):
        rows = [
            f"{v:g}," + ",".join(f"{c:.4f}" for c in row)
            for v, row in zip(values, lab, strict=True)
        ]
        path = tmp_path / "steps.csv"
        path.write_text(f"# invented plate\n{first},L,a,b\n\n" + "\n".join(rows) + "\n")
        return path

    return write


def test_a_stepped_plate_gives_the_layer(stepped_plate):
    at = np.array([8.0, 16, 25, 33, 42, 55, 75, 100])
    lab = coat_lab(at, colour.light("LED"), layer=interlayer(9, 0.6))
    fit = fit_stepped_plate(stepped_plate("thickness_nm", at, lab), look(illuminant="LED"))
    assert fit.interlayer_nm == pytest.approx(9, abs=0.01)
    assert fit.interlayer_silver == pytest.approx(0.6, abs=0.001)
    assert fit.nm_per_second is None
    timed = fit_stepped_plate(stepped_plate("seconds", at * 2, lab), look(illuminant="LED"))
    assert timed.nm_per_second == pytest.approx(0.5, abs=1e-3)


def test_a_plate_the_model_cannot_explain_says_so(stepped_plate):
    at = np.array([8.0, 16, 25, 33, 42])
    fit = fit_stepped_plate(stepped_plate("thickness_nm", at, np.tile([30.0, 50, -50], (5, 1))))
    assert any("poorly" in note for note in fit.notes)


def test_a_lamp_from_a_file(tmp_path):
    path = tmp_path / "lamp.csv"
    rows = "\n".join(f"{w},{w - 300}" for w in range(380, 781, 10))
    path.write_text(f"wavelength_nm,value\n{rows}\n")
    lamp = read_light(str(path))
    assert lamp.name == "lamp.csv"
    assert lamp.power[-1] > lamp.power[0] > 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no rows"),
        ("wavelength_nm,value\n", "no rows"),
        ("nm,value\n400,1\n", "no column wavelength_nm"),
        ("wavelength_nm,value\n400,x\n", "line 2: value is 'x'"),
        ("wavelength_nm,value\n400\n", "line 2: value is ''"),
        ("# lamp\n\nwavelength_nm,value\n400,nan\n", "line 4: value is 'nan'"),
    ],
)
def test_a_broken_file_names_the_place(tmp_path, text, words):
    path = tmp_path / "lamp.csv"
    path.write_text(text)
    with pytest.raises(BadInput, match=words):
        read_columns(path, ("wavelength_nm", "value"))


def test_a_file_that_is_no_text_or_lacks_either_column(tmp_path):
    path = tmp_path / "plate.csv"
    path.write_bytes(b"\xff\xfe\x00\x80")
    with pytest.raises(BadInput, match="cannot be read"):
        read_columns(path, ("L",))
    path.write_text("L,a,b\n1,2,3\n")
    with pytest.raises(BadInput, match="thickness_nm or seconds"):
        read_columns(path, ("L",), either=("thickness_nm", "seconds"))


@pytest.mark.parametrize(
    "call",
    [
        lambda: coat_report(-1),
        lambda: coat_report(float("nan")),
        lambda: look(angle_deg=81),
        lambda: look(interlayer_nm=-1),
        lambda: look(interlayer_growth_nm=0),
        lambda: look(interlayer_silver=float("nan")),
        lambda: look(illuminant="candle"),
        lambda: coat_for_word("mauve"),
        lambda: coat_candidates((70, 0, float("inf"))),
        lambda: fit_stepped_plate(__import__("pathlib").Path("not-there.csv")),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(BadInput):
        call()
