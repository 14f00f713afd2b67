"""A bench on which a plan of the file's own has been begun."""

import pytest
from tests import bench_studio as made

from argentry.book.engine import close_book
from argentry.book.open import open_book


@pytest.fixture
def table(tmp_path, plan):
    """The table where the run of the fixture `plan` is worked, its cautions read."""
    book = open_book(tmp_path)
    table = made.Table(book, made.studio())
    table.folder = tmp_path
    table.open(plan=plan)
    table.cautions()
    yield table
    close_book(book)
