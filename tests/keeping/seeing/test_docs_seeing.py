"""The twelve pictures of docs/seeing.md: their answers are those of today's code."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "docs" / "seeing.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def builder():
    spec = spec_from_file_location("docs_seeing", ROOT / "builders" / "docs_seeing.py")
    made = module_from_spec(spec)
    sys.modules[spec.name] = made
    spec.loader.exec_module(made)
    return made


def test_each_of_the_twelve_has_its_row_and_its_drawing(builder):
    assert len(builder.MADE) == 12
    for number, (title, *_) in enumerate(builder.MADE, 1):
        assert PAGE.count(f"![{title}](pictures/seen/{number:02d}.svg) | {title}: ") == 1
        drawing = (builder.FOLDER / f"{number:02d}.svg").read_text(encoding="utf-8")
        assert "data:image/jpeg;base64," in drawing


@pytest.mark.parametrize("title", ["A coat with a thin edge", "Scratches"])
def test_a_row_is_what_the_code_says_today(builder, title, tmp_path):
    number = next(at for at, (name, *_) in enumerate(builder.MADE) if name == title)
    one = builder.shown(number, tmp_path)
    assert builder.row(number, one) in PAGE, "run: python builders/docs_seeing.py"
    drawing = (builder.FOLDER / f"{number + 1:02d}.svg").read_text(encoding="utf-8")
    assert builder.drawing(one, title).partition('href="')[0] == drawing.partition('href="')[0]
