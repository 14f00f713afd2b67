"""The table of twelve books: made again for one of them, and what it says of a contradiction."""

from types import SimpleNamespace

import pytest


@pytest.fixture(scope="module")
def learn_books(request):
    """Return the benchmark; it lies outside of the package."""
    path = pytest.MonkeyPatch()
    path.syspath_prepend(str(request.config.rootpath))
    from benchmarks import learn_books as books

    yield books
    path.undo()


@pytest.fixture(scope="module")
def told(learn_books):
    return learn_books.told_of(next(iter(learn_books.books(1))))


def test_the_first_book_stands_in_the_page_as_it_is_told(learn_books, told):
    lines = learn_books.PAGE.read_text(encoding="utf-8").splitlines()
    at = lines.index(learn_books.BEGIN)
    rows = lines[at + 3 : lines.index(learn_books.END)]
    assert len(rows) == learn_books.BOOKS
    assert all(one.endswith("| none |") for one in rows), "no contradiction in any of them"
    assert learn_books.row(told) == rows[0]


def test_a_contradiction_would_be_seen(learn_books, told):
    assert learn_books.contradictions(told) == []
    other = SimpleNamespace(**{**vars(told["sheet"]), "probability": 0.123})
    assert learn_books.contradictions({**told, "sheet": other}) == ["odds differ"]
    advised = SimpleNamespace(options=("go on",), looked_back=())
    assert "a finished plate is advised" in learn_books.contradictions(
        {**told, "finished": advised}
    )
    changed = SimpleNamespace(change="", chance=0.99)
    assert "next gives other odds" in learn_books.contradictions({**told, "next": changed})
