"""The page of facts in docs/ is what the data say today."""

import importlib.util
import re
from pathlib import Path

import pytest

from argentry import trade

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def builder():
    spec = importlib.util.spec_from_file_location("docs_tables", ROOT / "builders/docs_tables.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_committed_page_is_current(builder):
    current = (ROOT / "docs/trade.md").read_text(encoding="utf-8")
    assert current == builder.page(), "run `make docs`"


def test_page_holds_every_fact_and_table(builder):
    page = builder.page()
    for subject in trade.subjects():
        for key, fact in trade.facts(subject).items():
            assert re.search(
                rf"^\| {re.escape(key)} \| .*{re.escape(fact.basis)}", page, re.MULTILINE
            ), key
    for name in trade.tables():
        assert f"`{name}`" in page


def test_every_table_row_has_as_many_cells_as_its_head(builder):
    width = 0
    for line in builder.page().splitlines():
        cells = len(re.findall(r"(?<!\\)\|", line)) if line.startswith("|") else 0
        assert cells in (0, width) or width == 0, line
        width = cells
