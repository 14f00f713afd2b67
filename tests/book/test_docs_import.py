"""docs/import.md and docs/archive.md say what the code does."""

from __future__ import annotations

import re
import tomllib
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

from argentry.exchange.archive.rows import ARCHIVED, LEFT_OUT
from argentry.exchange.plates.cells import LONGEST_TEXT
from argentry.exchange.plates.mapping import HEAD_KEYS
from argentry.exchange.plates.mapping_file import read_plate_mapping
from argentry.exchange.sheets import guard as sheet_guard
from argentry.exchange.sheets import layout

ROOT = Path(__file__).parents[2]
IMPORT = (ROOT / "docs" / "import.md").read_text(encoding="utf-8")
ARCHIVE = (ROOT / "docs" / "archive.md").read_text(encoding="utf-8")


def test_units_are_current():
    spec = spec_from_file_location("docs_import", ROOT / "builders" / "docs_import.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.filled(IMPORT) == IMPORT, "run: python builders/docs_import.py"


def test_the_mapping_shown_is_one_that_is_read(tmp_path):
    shown = re.search(r"```toml\n(.*?)```", IMPORT, re.DOTALL)[1]
    (tmp_path / "map.toml").write_text(shown, encoding="utf-8")
    mapping = read_plate_mapping(tmp_path / "map.toml")
    assert mapping.fields["grade"].words["gut"] == "good"
    assert set(tomllib.loads(shown)) == {*HEAD_KEYS, "columns"}  # every key is shown


def test_the_limits_told_are_those_that_hold():
    flat = " ".join(IMPORT.split())
    for words in (
        f"at most {sheet_guard.FILE_BYTES >> 20} MB of file",
        f"{sheet_guard.UNPACKED_BYTES >> 20} MB unpacked",
        f"{sheet_guard.RATIO} times",
        f"{sheet_guard.PARTS} parts",
        f"{sheet_guard.CELLS // 1_000_000} million cells",
        f"{sheet_guard.TEXT_BYTES >> 20} MB of text",
        f"{layout.COLUMNS} columns",
        f"{LONGEST_TEXT} letters",
    ):
        assert words in flat, words
    assert all(sign in flat for sign in ("`=`", "`+`", "`-`", "`@`"))


def test_every_file_of_the_archive_is_told_in_its_order():
    rows = re.findall(r"^\| (`[a-z_`, ]+) \|", ARCHIVE, re.MULTILINE)
    names = [name for row in rows for name in re.findall(r"`([a-z_]+)`", row)]
    assert tuple(names) == ARCHIVED
    assert not set(LEFT_OUT) & set(names)
