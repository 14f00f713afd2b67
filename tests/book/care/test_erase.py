"""A person's words are erased on request, and nothing else breaks."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import text
from tests.bench_studio import Table, studio

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.care.erase import erase
from argentry.book.plates import makings
from argentry.errors import BadInput

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


@pytest.fixture
def table(book):
    table = Table(book, studio())
    table.open("Q-1", title="Portrait of Ana")
    table.cautions()
    table.up_to("expose")
    plate = table.plate().id
    table.say("remark_made", plate, None, words="Ana sat very still")
    table.say("remark_made", plate, None, words="dusty")
    return table


def begun_and_ended(table):
    return [(step.key, step.begun, step.ended) for step in table.plate().steps]


def test_the_words_are_gone_and_the_chain_is_whole(book, table, tmp_path):
    made_before, steps_before = makings(book), begun_and_ended(table)
    before = log.last_seq(book)
    assert erase(book, "ANA", "the host", NOON) == 2  # the title and the remark
    assert check(book) == []
    words = [one.body["words"] for one in log.events(book, table.run) if one.kind == "remark_made"]
    assert words == ["", "dusty"]
    assert (makings(book), begun_and_ended(table)) == (made_before, steps_before)
    [said] = log.events(book, "house")
    assert (said.kind, said.device, said.seq) == ("words_erased", "the host", before + 1)
    if book.kind == "sqlite":
        assert b"very still" not in (tmp_path / "book.sqlite").read_bytes()
    assert erase(book, "ana", "the host", NOON) == 0
    table.say("remark_made", None, None, words="it goes on")
    assert check(book) == []


def test_words_with_signs_that_the_log_writes_otherwise_are_found(book, table):
    table.say("remark_made", None, None, words='She said "too \\ bright"')
    assert erase(book, 'said "too \\', "the host", NOON) == 1
    assert check(book) == []


def test_what_was_erased_cannot_be_filled_with_other_words(book, table):
    erase(book, "Ana", "the host", NOON)
    kept = "event_kept_update" + (" ON event" if book.kind == "postgresql" else "")
    with book.engine.begin() as connection:
        connection.execute(text(f"DROP TRIGGER {kept}"))
        connection.execute(
            text("UPDATE event SET body = replace(body, '\"\"', '\"x\"') WHERE salt = ''")
        )
    assert any("no erasure says so" in line for line in check(book))


def test_too_few_letters_erase_nothing(book, table):
    with pytest.raises(BadInput, match="too short"):
        erase(book, " a ", "the host", NOON)
    assert check(book) == []
