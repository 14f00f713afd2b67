"""Spectra named in studio.toml: files in its folder, or generic ones."""

import tomllib
from copy import deepcopy

import pytest

from argentry.studio.file import check_studio, read_studio, studio_from_tables
from argentry.studio.text import studio_text

RED = "nm;%\n" + "".join(f"{nm};{88 if nm >= 610 else 0.001}\n" for nm in range(380, 781, 5))


@pytest.fixture
def folder(small, tmp_path):
    tables = deepcopy(small)
    tables["frame"][0]["spectrum"] = "red.csv"
    tables["lens"][0]["spectrum"] = "generic uncoated crown lens"
    tables["subject"] = {"plane": "window", "window_spectrum": "generic laminated pane"}
    del tables["frame"][0]["cut_on_nm"]
    (tmp_path / "red.csv").write_text(RED)
    studio, found = studio_from_tables(tables, tmp_path)
    assert not found
    (tmp_path / "studio.toml").write_text(studio_text(studio))
    return tmp_path


def test_a_file_in_the_folder_is_the_filter(folder):
    studio = read_studio(folder)
    frame = studio.frames[0]
    assert frame.spectrum.name == "red.csv"
    assert frame.through == (frame.spectrum.curve, 0.88)
    assert frame.cut_on_nm == pytest.approx(607.5)
    assert studio.lenses[0].spectrum.value[-1] == pytest.approx(0.9)
    assert studio.subject.window_spectrum.name == "generic laminated pane"


def test_written_back_it_names_the_file(folder):
    again = tomllib.loads(studio_text(read_studio(folder)))
    assert again["frame"][0]["spectrum"] == "red.csv"


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("blue.csv", "spectrum: blue.csv is neither a spectrum known here nor a file; give a file"),
        ("../red.csv", '"../red.csv" is not the name of a file in the studio folder'),
        ("/etc/passwd", "is not the name of a file in the studio folder"),
        ("generic laminated pane", "is neither a spectrum known here nor a file"),
        ("bad.csv", "bad.csv line 3: 'x' is not a number"),
        ("short.csv", "short.csv: the rows run from 380 to 500 nm; cover 600 to 690 nm"),
    ],
)
def test_a_filter_that_cannot_be_read_is_one_mistake(folder, name, told):
    (folder / "bad.csv").write_text(RED.replace("385;0.001", "385;x"))
    (folder / "short.csv").write_text("\n".join(RED.splitlines()[:26]))
    file = folder / "studio.toml"
    file.write_text(file.read_text().replace('"red.csv"', f'"{name}"'))
    studio, found = check_studio(folder)
    assert studio is None
    assert len(found) == 1
    assert str(found[0]).startswith("studio.toml [[frame]] 1 spectrum")
    assert told in str(found[0])


def test_a_number_is_no_spectrum(folder):
    file = folder / "studio.toml"
    file.write_text(file.read_text().replace('"red.csv"', "5"))
    _, found = check_studio(folder)
    assert "5 is not text; give the name of a file or of a generic spectrum" in str(found[0])
