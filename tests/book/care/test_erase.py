"""A person's words are erased on request, and nothing else breaks."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import text
from tests.bench_studio import Table, studio

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.care.erase import erase
from argentry.book.notebooks import keep_notebook
from argentry.book.plates import add_making, add_plate, add_work, makings, plates
from argentry.errors import BadInput
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.records.plate_record import PlateWork

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
    done = erase(book, "ANA", "the host", NOON)
    assert (done.events, done.remarks, done.stays) == (2, 0, ())  # the title and the remark
    assert check(book) == []
    words = [one.body["words"] for one in log.events(book, table.run) if one.kind == "remark_made"]
    assert words == ["", "dusty"]
    assert (makings(book), begun_and_ended(table)) == (made_before, steps_before)
    [said] = log.events(book, "house")
    assert (said.kind, said.device, said.seq) == ("words_erased", "the host", before + 1)
    if book.kind == "sqlite":
        assert b"very still" not in (tmp_path / "book.sqlite").read_bytes()
    assert erase(book, "ana", "the host", NOON).events == 0
    table.say("remark_made", None, None, words="it goes on")
    assert check(book) == []


def test_words_with_signs_that_the_log_writes_otherwise_are_found(book, table):
    table.say("remark_made", None, None, words='She said "too \\ bright"')
    assert erase(book, 'said "too \\', "the host", NOON).events == 1
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


def test_remarks_of_plates_go_and_what_stays_is_named(book, tmp_path):
    plate = Plate(new_id(), "Ana 1", silver_source="Anatol", remark="of Ana's mother")
    add_plate(book, plate)
    add_work(book, PlateWork(new_id(), plate.id, "polished", NOON, "Ana", "rouge"))
    row = Making(new_id(), plate.id, None, "s", 1, NOON.date(), remark="ANA blinked")
    add_making(book, row)
    keep_notebook(tmp_path, b"plate,words\nP1,Ana", "")
    done = erase(book, "ana", "the host", NOON)
    assert (done.events, done.remarks) == (0, 2)
    assert check(book) == []
    assert [one.remark for one in plates(book)] == [""]
    assert [one.remark for one in makings(book)] == [""]
    [said] = log.events(book, "house")
    assert (said.kind, said.body) == ("words_erased", {"left": {}})
    assert done.stays == (
        "1 in the column label of the table plate",
        "1 in the column silver_source of the table plate",
        "1 in the column who of the table plate_work",
        "1 kept in notebooks/, each as it was imported: look for the words there",
    )
    again = erase(book, "ana", "the host", NOON)
    assert (again.events, again.remarks, again.stays) == (0, 0, done.stays)
    assert len(log.events(book, "house")) == 1
    if book.kind == "sqlite":
        assert b"blinked" not in (tmp_path / "book.sqlite").read_bytes()


def test_a_sitters_name_goes_from_the_plan_of_a_run_and_from_what_a_new_plan_said(book, tmp_path):
    sitter = {"time": "11:00", "name": "Ana", "size": "half"}
    body = {
        "title": "Day", "plates": [], "steps": [], "place": {"name": "Anaheim Yard"},
        "constants": {"sitters": {"p": sitter}, "wishes": {"sitters": [sitter, {"name": "Bo"}]}},
    }  # fmt: skip
    said = {"lines": ["Ana at 11:00 now at 11:20", "The last plate is done at 17:10"]}
    opened = Event(new_id(), "run", "run_opened", NOON, body=body)
    log.append(book, [opened, Event(new_id(), "run", "plan_offered", NOON, body=said)])
    done = erase(book, "ana", "the host", NOON)
    assert (done.events, done.stays) == (2, ("1 in the column body of the table event",)), "place"
    first, offer = log.events(book, "run")
    gone = {"time": "11:00", "name": "", "size": "half"}
    assert first.body["constants"]["sitters"] == {"p": gone}
    assert first.body["constants"]["wishes"]["sitters"] == [gone, {"name": "Bo"}]
    assert offer.body["lines"] == ["", said["lines"][1]]
    assert check(book) == []
