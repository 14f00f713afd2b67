"""Spectra as files: read whatever the instrument wrote, or refused in one sentence."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.trade.spectra import KINDS, generic, spectrum_named, spectrum_of_text

ROWS = [(float(nm), 0.9 if nm >= 600 else 0.0001) for nm in range(380, 781, 10)]


def text(rows=ROWS, head="wavelength_nm,transmission\n", mark=",", scale=1.0, comma=False):
    lines = [f"{nm:g}{mark}{value * scale:.6g}" for nm, value in rows]
    body = "\n".join(lines)
    return head + (body.replace(".", ",") if comma else body) + "\n"


@pytest.mark.parametrize(
    "written",
    [
        text(),
        text(head=""),
        text(head="# a note\n\nnm,T\n"),
        text(head="", mark=";", comma=True),
        text(head="Wellenlänge;Transmission %\n", mark=";", comma=True, scale=100.0),
        text(head="", mark="\t"),
        text(head="", mark="\t", comma=True),
        text(head="", mark="  "),
        text(head="", mark=" ", comma=True),
        text(head="", scale=100.0),
        text(head="nm, percent\n", scale=100.0),
        text(rows=ROWS[::-1]),
        text().replace("\n", "\r\n"),
        text(rows=[(nm, -math.log10(v)) for nm, v in ROWS], head="nm,optical density\n"),
    ],
)
def test_every_usual_form_is_read_alike(written):
    wavelength, value = spectrum_of_text("filter.csv", written, "filter")
    assert wavelength == tuple(nm for nm, _ in ROWS)
    assert value == pytest.approx([v for _, v in ROWS], rel=1e-4)


def changed(number, line):
    lines = text(head="").splitlines()
    lines[number] = line
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("kind", "written", "told"),
    [
        ("filter", "", "filter.csv: there are only 0 rows of numbers; give a text file with two"),
        ("filter", "nm,T\n600,0.9\n700,0.9\n", "there are only 2 rows of numbers"),
        ("filter", changed(5, "430,red"), "line 6: 'red' is not a number"),
        ("filter", changed(5, "430,nan"), "line 6: 'nan' is not a number"),
        ("filter", changed(5, "430,inf"), "line 6: 'inf' is not a number"),
        ("filter", changed(5, "430"), "line 6: the values in this line are 1, not two; write two"),
        (
            "filter",
            changed(5, "430,1,2"),
            "line 6: the values in this line are 3, not two; write two",
        ),
        ("filter", changed(5, "420,0"), "the wavelength 420 nm stands there twice; give each"),
        ("filter", changed(5, "700,0"), "the wavelengths neither rise nor fall"),
        ("filter", changed(0, "0.38,0"), "line 1: 0.38 is not a wavelength in nm; give nanometres"),
        ("filter", text(scale=1.5, head=""), "cannot be told whether 1.35, the largest value"),
        ("filter", text(scale=150.0, head=""), "a transmission of 135 percent is more than all"),
        ("filter", text(scale=1.5, head="nm,share\n"), "a transmission of 1.35 share is more than"),
        ("filter", changed(5, "430,-0.2"), "-0.2 is below zero; give 0 or more"),
        ("filter", text(rows=ROWS[:20]), "the rows run from 380 to 570 nm; cover 600 to 690 nm"),
        ("filter", text(rows=ROWS[:24] + ROWS[29:]), "nothing is given between 610 and 670 nm"),
        ("filter", text(scale=0.0), "every value is 0"),
        ("lens", text(rows=ROWS[3:]), "the rows run from 410 to 780 nm; cover 390 to 450 nm"),
        ("lamp", changed(5, "430,-1"), "-1 is below zero"),
        ("lamp", text(rows=ROWS[5:]), "cover 400 to 700 nm"),
    ],
)
def test_what_cannot_be_used_is_one_sentence(kind, written, told):
    with pytest.raises(BadInput) as refused:
        spectrum_of_text("filter.csv", written, kind)
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_lamp_may_have_any_unit():
    _, value = spectrum_of_text("lamp", text(scale=1350.0), "lamp")
    assert max(value) == pytest.approx(1215.0)


@given(
    st.text(max_size=400) | st.lists(st.text("0123456789.,;\t -%nm", max_size=12)).map("\n".join)
)
def test_no_text_brings_more_than_a_sentence(written):
    for kind in KINDS:
        try:
            wavelength, value = spectrum_of_text("x", written, kind)
        except BadInput:  # one line, whatever the text: see its own tests
            continue
        assert list(wavelength) == sorted(wavelength)
        assert all(math.isfinite(v) for v in value)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"\xff\xfe4\x000\x000\x00", "the file is not text"),
        (b"\0" * 10, "the file is not text"),
        (b"1" * 3_000_000, "the file has 3000000 bytes"),
        (b"400,1\n" * 25_000, "there are 25000 rows"),
    ],
)
def test_hostile_files(tmp_path, data, told):
    (tmp_path / "f.csv").write_bytes(data)
    with pytest.raises(BadInput) as refused:
        spectrum_named("--filter", "f.csv", "filter", tmp_path)
    assert told in str(refused.value)


def test_a_folder_or_nothing_is_no_file(tmp_path):
    for name in ("none.csv", ".", "a" * 200):
        with pytest.raises(BadInput) as refused:
            spectrum_named("--filter", name, "filter", tmp_path)
        assert "neither a spectrum known here nor a file" in str(refused.value)


def test_latin_heads_are_read(tmp_path):
    (tmp_path / "f.csv").write_bytes(
        "Wellenl\xe4nge;T %\n".encode("latin-1") + text(head="", mark=";", scale=100.0).encode()
    )
    wavelength, _ = spectrum_named("--filter", "f.csv", "filter", tmp_path)
    assert wavelength[0] == 380.0


@pytest.mark.parametrize("name", generic())
def test_generic_spectra_are_whole_and_say_where_they_come_from(name):
    row = generic()[name]
    assert row["basis"] in ("computed", "recalled", "published")
    assert len(row["source"]) > 20
    assert name.startswith("generic ")
    wavelength, value = spectrum_named("x", name, row["of"], None)
    written = "\n".join(f"{nm},{v}" for nm, v in zip(wavelength, value, strict=True))
    assert spectrum_of_text("x", written, row["of"]) == (wavelength, value)
