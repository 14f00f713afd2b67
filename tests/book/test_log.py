"""The log: appended once, in order, answered after commit, never changed; on both stores."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from threading import Thread

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.errors import BadInput
from argentry.records.event import Event
from argentry.records.ids import make_id, new_id

START = datetime(2026, 6, 21, 9, 0, tzinfo=UTC)


def remark(run, words="hello", minutes=0.0, **more):
    at = START + timedelta(minutes=minutes)
    return Event(new_id(), run, "remark_made", at, body={"words": words}, device="tablet", **more)


def opened(run, minutes=0.0, title="Two plates"):
    body = {"title": title, "plates": [{"id": "p1", "label": "A 1"}], "steps": []}
    return Event(new_id(), run, "run_opened", START + timedelta(minutes=minutes), body=body)


def test_what_is_appended_comes_back_whole_and_in_order(book):
    run = new_id()
    given = [
        opened(run),
        Event(new_id(), run, "step_begun", START, plate="p1", step="polish", device="tablet"),
        remark(run, "Größe 3 µm, „schön“ \U0001f5bc\n", minutes=-5),
    ]
    stored = log.append(book, given)
    assert [item.seq for item in stored] == [1, 2, 3]
    assert not any(item.duplicate for item in stored)
    assert log.events(book, run) == [
        replace(item, seq=place) for place, item in enumerate(given, 1)
    ]
    assert log.events(book, run, after_seq=2)[0].body["words"].startswith("Größe")
    assert log.last_seq(book) == 3
    assert log.last_at(book) == START


def test_an_empty_book(book):
    assert log.append(book, []) == []
    assert (log.last_seq(book), log.last_at(book), log.runs(book)) == (0, None, [])
    assert log.events(book, new_id()) == log.events_after(book, 0) == []
    assert not log.run_exists(book, new_id())


def test_sending_again_stores_nothing_twice_and_answers_the_first_time(book):
    run = new_id()
    first = remark(run, minutes=1)
    (one,) = log.append(book, [first])
    later = replace(first, at=first.at + timedelta(seconds=40), device="other tablet")
    again, fresh, twice = log.append(book, [later, sent := remark(run), sent])
    assert again == replace(one, duplicate=True)
    assert (fresh.duplicate, twice.duplicate, twice.seq) == (False, True, fresh.seq)
    assert len(log.events(book, run)) == log.last_seq(book) == 2
    assert log.known(book, [first.id, new_id()]) == {first.id: replace(first, seq=1)}


@pytest.mark.parametrize(
    "change",
    [
        {"body": {"words": "other"}},
        {"kind": "paused"},
        {"step": "polish"},
        {"plate": "p9"},
        {"run": make_id(1, 1)},
    ],
)
def test_the_same_id_with_another_content_is_refused_and_nothing_is_stored(book, change):
    run = new_id()
    first = remark(run)
    log.append(book, [first])
    with pytest.raises(BadInput, match="already with another") as caught:
        log.append(book, [remark(run), replace(first, **change)])
    assert "\n" not in str(caught.value)
    assert log.last_seq(book) == 1


def test_whole_numbers_are_the_same_as_decimal_ones(book):
    first = Event(new_id(), new_id(), "reading_taken", START, body={"value": 50})
    log.append(book, [first])
    (again,) = log.append(book, [replace(first, body={"value": 50.0})])
    assert again.duplicate


@pytest.mark.parametrize(
    "bad",
    [
        {"id": "7"},
        {"id": "01a2c3d4-0000-4000-8000-000000000000"},
        {"id": new_id().upper()},
        {"kind": "step_started"},
        {"run": ""},
        {"run": "x" * 101},
        {"version": 2},
        {"at": datetime(2026, 6, 21, 9, 0)},  # noqa: DTZ001 - the point of the case
        {"body": {"value": float("nan")}},
        {"body": {"value": float("inf")}},
        {"body": {"value": {1, 2}}},
        {"body": {"words": "\ud800"}},
        {"body": {"words": "a\0b"}},
        {"body": {"words": "x" * 1_000_001}},
        {"plate": "\ud800"},
        {"step": "a\0b"},
        {"device": 7},
    ],
)
def test_a_bad_event_is_refused_in_one_sentence(book, bad):
    run = new_id()
    with pytest.raises(BadInput) as caught:
        log.append(book, [remark(run), replace(remark(run), **bad)])
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)
    assert log.last_seq(book) == 0


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE event SET body = '{}'",
        "UPDATE event SET at_us = at_us + 1 WHERE seq = 1",
        "DELETE FROM event",
        "DELETE FROM event WHERE seq = 2",
    ],
)
def test_the_store_refuses_to_change_events(book, sql):
    run = new_id()
    log.append(book, [remark(run), remark(run)])
    before = log.events(book, run)
    with (
        pytest.raises(DBAPIError, match="events are never changed"),
        book.engine.begin() as connection,
    ):
        connection.execute(text(sql))
    assert log.events(book, run) == before


def test_the_store_refuses_what_puts_another_in_its_place(book):
    run = new_id()
    log.append(book, [remark(run), remark(run)])
    if book.kind == "sqlite":
        columns = (
            "run, kind, at_us, plate, step, '{}', device, version, chain, sum, salt, body_sha256"
        )
        by_id = f"INSERT OR REPLACE INTO event SELECT 9, id, {columns} FROM event WHERE seq = 1"
        other = make_id(1, 1)
        by_seq = f"REPLACE INTO event SELECT 1, '{other}', {columns} FROM event WHERE seq = 2"
        statements = [by_id, by_seq]
    else:
        statements = [
            "TRUNCATE event",
            """INSERT INTO event SELECT * FROM event WHERE seq = 1
               ON CONFLICT (id) DO UPDATE SET body = '{}'""",
        ]
    before = log.events(book, run)
    for sql in statements:
        with (
            pytest.raises(DBAPIError, match="events are never changed"),
            book.engine.begin() as connection,
        ):
            connection.execute(text(sql))
    assert log.events(book, run) == before


def test_a_changed_or_missing_event_is_found(book):
    run = new_id()
    log.append(book, [remark(run, str(place)) for place in range(5)])
    assert check(book) == []
    drop = (
        ["DROP TRIGGER event_kept ON event", "DROP TRIGGER event_kept_update ON event"]
        if book.kind == "postgresql"
        else ["DROP TRIGGER event_kept_update", "DROP TRIGGER event_kept_delete"]
    )
    with book.engine.begin() as connection:
        for sql in drop:
            connection.execute(text(sql))
        connection.execute(text("UPDATE event SET device = 'nobody' WHERE seq = 2"))
    assert any(line == "event 2 was changed after it was written." for line in check(book))
    with book.engine.begin() as connection:
        connection.execute(text("DELETE FROM event WHERE seq = 3"))
    assert any("there is none in place 3" in line for line in check(book))


def test_runs_are_listed_with_the_last_opened_first(book):
    first, second = new_id(), new_id()
    log.append(book, [opened(first, 0, "First"), opened(second, 1, "Second"), remark(first)])
    heads = log.runs(book)
    assert [(head.title, head.plates, head.last_seq) for head in heads] == [
        ("Second", ("A 1",), 2),
        ("First", ("A 1",), 3),
    ]
    assert [head.run for head in log.runs(book, limit=1)] == [second]
    assert log.run_exists(book, first)
    end = Event(new_id(), first, "run_closed", START + timedelta(hours=5))
    log.append(book, [end])
    assert log.runs(book)[1].closed == end.at
    undo = Event(
        new_id(),
        first,
        "corrected",
        START + timedelta(hours=6),
        body={"event": end.id} | {"withdrawn": True},
    )
    log.append(book, [undo])
    assert log.runs(book)[1].closed is None
    redo = replace(
        undo, id=new_id(), at=START + timedelta(hours=7), body={"event": undo.id, "withdrawn": True}
    )
    log.append(book, [redo])
    assert log.runs(book)[1].closed == end.at


def test_runs_since_a_place_are_told_with_the_first_event_after_it(book):
    log.append(book, [opened("old"), remark("old")])
    before = log.last_seq(book)
    log.append(book, [opened("new", 1.0), remark("new", minutes=2.0), remark("old", minutes=3.0)])
    far = START + timedelta(days=1)
    assert log.runs_since(book, before, far) == {"new": before + 1, "old": before + 3}
    assert log.runs_since(book, log.last_seq(book), far) == {}
    late = log.runs_since(book, log.last_seq(book), START + timedelta(minutes=1.5))
    assert late == {"new": before + 2, "old": before + 3}, "by their times"


def test_readers_follow_the_log_of_all_runs_in_parts(book):
    runs = [new_id() for _ in range(3)]
    log.append(book, [remark(runs[place % 3], str(place)) for place in range(20)])
    seen, seq = [], 0
    while part := log.events_after(book, seq, limit=7):
        seen += [item.body["words"] for item in part]
        seq = part[-1].seq
    assert seen == [str(place) for place in range(20)]


def test_many_writers_leave_no_gap_and_a_reader_never_sees_one_skipped(book):
    run, each, failures, seen = new_id(), 12, [], []

    def write(name):
        try:
            for place in range(each):
                log.append(book, [remark(run, f"{name}-{place}")])
        except Exception as error:  # noqa: BLE001 - told below
            failures.append(error)

    writers = [Thread(target=write, args=(name,)) for name in "abcd"]
    for writer in writers:
        writer.start()
    seq = 0
    while any(writer.is_alive() for writer in writers) or seq < log.last_seq(book):
        for item in log.events_after(book, seq, limit=100):
            assert item.seq == seq + 1, "a later event was visible before an earlier one"
            seq = item.seq
            seen.append(item.body["words"])
    for writer in writers:
        writer.join()
    assert failures == []
    assert sorted(seen) == sorted(f"{name}-{place}" for name in "abcd" for place in range(each))
    for name in "abcd":  # what one writer sent stands in the order it was sent
        own = [words for words in seen if words.startswith(name)]
        assert own == [f"{name}-{place}" for place in range(each)]
    assert check(book) == []


def test_what_another_program_adds_is_seen_though_the_run_was_read_before(book, where, tmp_path):
    run, other = new_id(), new_id()
    log.append(book, [opened(run), remark(run, "one")])
    assert len(log.events(book, run)) == 2
    beside = open_book(where, folder=tmp_path)
    try:
        log.append(beside, [remark(other, "elsewhere"), remark(run, "two", minutes=-30)])
        assert len(log.events(beside, run)) == 3
        log.append(book, [remark(run, "three")])
        for reader in (book, beside):
            told = [one.body.get("words") for one in log.events(reader, run)]
            assert told == [None, "one", "two", "three"]
            assert [one.seq for one in log.events(reader, run)] == [1, 2, 4, 5]
    finally:
        close_book(beside)


def test_only_some_runs_stay_in_memory_and_none_is_mixed_up(book):
    runs = [new_id() for _ in range(log.RUNS_KEPT + 3)]
    for turn in range(2):
        for run in runs:
            log.append(book, [remark(run, f"{run} {turn}")])
            told = [one.body["words"] for one in log.events(book, run)]
            assert told == [f"{run} {n}" for n in range(turn + 1)]
    assert len(book.read) == log.RUNS_KEPT
    taken = log.events(book, runs[-1])
    taken.clear()
    assert len(log.events(book, runs[-1])) == 2, "what a caller does to its list is its own matter"
