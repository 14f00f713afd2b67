from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from argentry.errors import BadInput
from argentry.studio.file import studio_from_tables
from argentry.studio.text import studio_text, write_studio

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("which", ["small", "full"])
def test_written_studio_reads_back_the_same(which, request):
    studio, _ = studio_from_tables(request.getfixturevalue(which))
    again, found = studio_from_tables(tomllib.loads(studio_text(studio)))
    assert not found
    assert again == studio


def test_every_commented_key_is_valid_when_uncommented(small):
    studio, _ = studio_from_tables(small)
    text = studio_text(studio)
    # a lamp is read once: in W/m2 or in lux
    text = text.replace("# reading_lux = ", "# or in lux: ")
    # and a skyline's file would have to lie in a folder
    text = text.replace("# skyline = ", "# or from a file: ")
    opened = re.sub(r"^# (\w+ = |\[frame\.lamp\])", r"\1", text, flags=re.MULTILINE)
    assert opened != text
    read, found = studio_from_tables(tomllib.loads(opened))
    assert not found
    assert read.frames[0].lamp is not None
    assert read.habits.plate_speed is not None


def test_comments_name_unit_and_range(small):
    studio, _ = studio_from_tables(small)
    text = studio_text(studio, change_me=["site.latitude_deg"])
    assert "A number from -90 to 90 deg." in text
    assert "latitude_deg = 42.0  # change me" in text
    assert text.count("change me") == 1
    assert max(map(len, text.splitlines())) <= 110


def test_never_over_another(tmp_path):
    write_studio(tmp_path / "a" / "b", "x = 1\n")
    with pytest.raises(BadInput, match="here already"):
        write_studio(tmp_path / "a" / "b", "x = 2\n")
    assert (tmp_path / "a" / "b" / "studio.toml").read_text(encoding="utf-8") == "x = 1\n"


def test_a_file_in_the_way(tmp_path):
    (tmp_path / "f").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="this is a file, not a folder"):
        write_studio(tmp_path / "f", "x = 1\n")


def test_smallest_studio_of_the_docs_is_right():
    page = (ROOT / "docs" / "studio.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"```toml\n(.*?)```", page, flags=re.DOTALL)
    studio, found = studio_from_tables(tomllib.loads(block))
    assert not found
    assert studio.name == "Yard studio"
