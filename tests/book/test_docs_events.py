"""docs/events.md and the tables in docs/book.md are what the program says."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from argentry.book.tables import metadata

ROOT = Path(__file__).parents[2]


def builder():
    spec = spec_from_file_location("docs_events", ROOT / "builders" / "docs_events.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", ["events.md", "book.md"])
def test_page_is_current(name):
    text = (ROOT / "docs" / name).read_text(encoding="utf-8")
    assert builder().pages()[name] == text, "run: python builders/docs_events.py"


def test_every_table_is_told():
    assert set(builder().ABOUT) == set(metadata.tables)


def test_the_example_question_of_the_page_works(tmp_path):
    import sqlite3

    from argentry.book.engine import close_book
    from argentry.book.open import open_book

    close_book(open_book(tmp_path))
    page = (ROOT / "docs" / "book.md").read_text(encoding="utf-8")
    question = page.split("```sql\n")[1].split("```")[0]
    connection = sqlite3.connect(tmp_path / "book.sqlite")
    assert connection.execute(question).fetchall() == []
    connection.close()
