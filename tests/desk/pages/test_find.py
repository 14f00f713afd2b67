"""One search over plates, runs, stock and words: what holds what was typed, and how much of it."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from argentry.desk.pages import find as finding
from argentry.records.event import RunHead

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def head(number, title, plates=(), withdrawn=False):
    opened = NOON + timedelta(days=number)
    return RunHead(f"r{number}", title, opened, None, plates, number, withdrawn)


@pytest.fixture
def find(monkeypatch):
    asked = []

    def page(book, wanted, start, most):
        asked.append((book, wanted, start, most))
        return [f"P{n}" for n in range(most)], 31

    runs = [head(n, "Summer") for n in range(25)]
    runs += [head(30, "x", ("SUM 1",)), head(31, "Summer", withdrawn=True), head(32, "Winter")]
    things = [SimpleNamespace(name=name) for name in ("Sum bath", "Fixer")]
    monkeypatch.setattr(finding, "plate_page", page)
    monkeypatch.setattr(finding, "run_heads", lambda house, most: runs if most == 2000 else None)
    monkeypatch.setattr(finding, "baths", lambda book, all_of_them: things[all_of_them:])
    monkeypatch.setattr(
        finding, "lots", lambda book: [SimpleNamespace(name=f"sum {n}") for n in range(25)]
    )
    return lambda wanted: finding.find(SimpleNamespace(book="book"), wanted), asked, runs


def test_nothing_is_looked_for_where_nothing_was_typed(find):
    look, asked, _ = find
    for nothing in ("", "  \n", "\x00"):
        assert look(nothing) == finding.Found("", (), 0, (), ())
    assert asked == []


def test_twenty_of_each_kind_are_shown_the_newest_runs_first(find):
    look, asked, runs = find
    found = look("  SUM\n")
    assert asked == [("book", "SUM", 0, 20)]
    assert (found.wanted, len(found.plates), found.plates_in_all) == ("SUM", 20, 31)
    assert found.runs == tuple(runs[:20])
    assert found.stock == ("Sum bath", *(f"sum {n}" for n in range(19)))
    assert look("sum\x001").wanted == "sum 1"


def test_a_run_is_found_by_its_name_its_plates_or_its_day(find):
    look, _, runs = find
    assert look("sum 1").runs == (runs[25],)
    assert look("winter").runs == (runs[27],)
    assert look("2026-06-25").runs == (runs[4],)


def test_words_that_hold_it_go_before_those_whose_meaning_does():
    every = finding.all_terms()
    assert len({one.word for one in every}) == len(every)
    found = finding.all_terms("plate")
    named = [one for one in found if any("plate" in form for form in one.spellings)]
    assert 0 < len(named) < len(found)
    assert found[: len(named)] == tuple(named)
    assert all("plate" in one.meaning.casefold() for one in found[len(named) :])
