"""Notes on lots and waste, on both stores: only added, the last counts."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from argentry.book.materials.notes import add_notes, facts_of, lot_facts, noted, notes
from argentry.records.material import COLLECTED, LOT, WASTE, LotFacts, MaterialNote

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def note(of, what, value, about=LOT):
    return MaterialNote(about, of, what, value, NOON, "Ana")


def test_the_last_note_counts_and_an_empty_one_takes_it_back(book):
    add_notes(
        book, [note("a", "price", "10.0"), note("a", "price", "12.0"), note("b", "purity", "0.9")]
    )
    assert lot_facts(book) == {"a": LotFacts(price=12.0), "b": LotFacts(purity=0.9)}
    add_notes(book, [note("a", "price", "")])
    assert lot_facts(book)["a"] == LotFacts()
    assert [one.value for one in notes(book, LOT)] == ["10.0", "12.0", "0.9", ""]


def test_facts_come_back_as_they_were_noted(book):
    facts = LotFacts(
        purity=0.998,
        price=45.5,
        opened_on=date(2026, 6, 1),
        expires_on=date(2027, 1, 1),
        lead_days=20.0,
    )
    add_notes(book, [note("a", what, value) for what, value in noted(facts).items()])
    assert lot_facts(book) == {"a": facts}
    assert facts_of({}) == LotFacts()


def test_waste_is_kept_apart_from_lots(book):
    add_notes(book, [note("", COLLECTED, NOON.isoformat(), WASTE)])
    assert lot_facts(book) == {}
    assert notes(book, WASTE)[0].at == NOON


def test_a_note_is_never_changed_nor_deleted(book):
    add_notes(book, [note("a", "price", "10.0")])
    for sql in ("UPDATE material_note SET value = '1.0'", "DELETE FROM material_note"):
        with pytest.raises(DBAPIError, match="never changed"), book.engine.begin() as connection:
            connection.execute(text(sql))
    assert lot_facts(book) == {"a": LotFacts(price=10.0)}
