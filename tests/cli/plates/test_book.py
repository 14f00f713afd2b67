"""The commands that look after the book: in plain words, as JSON, and refused."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from argentry.book import log
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.cli.plates.book import book as command
from argentry.errors import ArgentryError, BadInput
from argentry.keeping.studio import new_studio
from argentry.records.event import Event
from argentry.records.ids import id_time, new_id


@pytest.fixture
def studio(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio"})
    book = open_book(folder)
    run = new_id()
    made = new_id()
    log.append(book, [Event(made, run, "run_opened", id_time(made), body={"title": "A day"})])
    close_book(book)
    return folder


def run(capsys, *arguments):
    code = command.main([str(one) for one in arguments], standalone_mode=False)
    return code, capsys.readouterr().out


def test_a_sound_book_is_said_to_be_sound(studio, capsys):
    code, out = run(capsys, "check", "--studio", studio)
    assert code in (None, 0)
    assert "The book is sound" in out
    assert "1 run, 1 event, 0 readings" in out
    _, out = run(capsys, "check", "--studio", studio, "--json")
    found = json.loads(out)
    assert (found["ok"], found["faults"], found["events"]) == (True, [], 1)


def test_a_fault_is_named_and_ends_in_code_1(studio, capsys):
    book = open_book(studio)
    with book.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER event_kept_update")
        connection.exec_driver_sql("UPDATE event SET device = 'x'")
    close_book(book)
    code, out = run(capsys, "check", "--studio", studio)
    assert code == 1
    assert "fault: event" in out
    assert "was changed after it was written" in out


def test_backup_and_restore_go_round(studio, tmp_path, capsys):
    _, out = run(capsys, "backup", tmp_path / "far", "--studio", studio, "--json")
    made = json.loads(out)
    assert made["events"] == 1
    _, out = run(capsys, "backup", tmp_path / "far", "--studio", studio)
    assert "Wrote" in out
    _, out = run(capsys, "restore", made["folder"], "--studio", studio)
    assert "The book that was there lies in" in out
    _, out = run(capsys, "restore", made["folder"], "--studio", tmp_path / "new", "--json")
    done = json.loads(out)
    assert (done["events"], done["aside"]) == (1, None)
    assert (tmp_path / "new" / "studio.toml").is_file()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["check"], "no studio is named"),
        (["check", "--studio", "nowhere"], "no studio.toml"),
        (["check", "--book", "mysql://x"], "not a known kind of store"),
        (["restore", "nowhere", "--studio", "new"], "no backup here"),
        (["restore", "nowhere"], "no studio is named"),
        (["backup", "far"], "no studio is named"),
    ],
)
def test_what_cannot_be_done_is_refused_in_one_sentence(
    tmp_path, monkeypatch, capsys, arguments, says
):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ArgentryError, match=says) as caught:
        run(capsys, *arguments)
    assert "\n" not in str(caught.value)


def test_the_group_names_all_its_commands(capsys):
    _, out = run(capsys, "--help")
    for name in ("check", "backup", "restore", "export", "import"):
        assert f"  {name} " in out


def test_a_newest_event_far_ahead_is_told_and_the_clock_set(studio, capsys):
    code, out = run(capsys, "clock", "--studio", studio)
    assert code in (None, 0)
    assert "this machine's agree" in out
    book = open_book(studio)
    ahead = datetime.now(UTC) + timedelta(days=400)
    log.append(book, [Event(new_id(), new_id(), "run_opened", ahead, body={"title": "Ahead"})])
    close_book(book)
    code, out = run(capsys, "clock", "--studio", studio)
    assert code == 1
    assert "400 d ahead of the clock of this machine" in out
    code, out = run(capsys, "clock", "--set", "--studio", studio)
    assert code in (None, 0)
    assert "1 runs were moved" in out
    _, out = run(capsys, "clock", "--studio", studio, "--json")
    assert json.loads(out)["agree"] is True
    code, _ = run(capsys, "check", "--studio", studio)
    assert code in (None, 0)


def test_rot_is_named_no_backup_is_certified_and_the_rest_is_salvaged(studio, tmp_path, capsys):
    book = open_book(studio)
    for words in ("first", "second"):
        made = Event(new_id(), new_id(), "remark_made", datetime.now(UTC), body={"words": words})
        log.append(book, [made])
    close_book(book)
    file = studio / "book.sqlite"
    file.write_bytes(file.read_bytes().replace(b'"second"', b'"s\xffcond"'))
    code, out = run(capsys, "check", "--studio", studio)
    assert code == 1
    assert "event 3 was changed after it was written" in out
    with pytest.raises(ArgentryError, match="no backup was written"):
        run(capsys, "backup", tmp_path / "far", "--studio", studio)
    _, out = run(capsys, "salvage", tmp_path / "new", "--studio", studio)
    assert "Copied 2 sound events and rows" in out
    assert "event 3 cannot be read" in out
    assert (tmp_path / "new/studio.toml").is_file()
    code, out = run(capsys, "check", "--studio", tmp_path / "new")
    assert code in (None, 0)
    code, out = run(capsys, "backup", tmp_path / "far", "--studio", tmp_path / "new")
    assert "a book was restored from it and is sound" in out


def test_what_was_typed_is_cut_in_a_sentence_and_what_we_say_is_not():
    error = BadInput(
        "a", "{text!r} is not in {place}", "see {text!r}", text="x" * 99, place="y" * 99
    )
    cut = "x" * 40
    assert str(error) == f"a: '{cut}' is not in {'y' * 99}; see '{cut}'."
