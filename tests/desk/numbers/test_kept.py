"""The studio's own numbers kept beside its book: good for these plates and no others."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from tests.judging import judge

from argentry.book.engine import close_book
from argentry.book.makings import add_making, makings
from argentry.book.open import open_book
from argentry.book.plates import plates
from argentry.demo.write import write_demo
from argentry.desk.learning.kept_plates import keep_plates, kept_plate, kept_plates
from argentry.desk.numbers import kept as learning_kept
from argentry.desk.numbers import makings as makings_room
from argentry.desk.numbers import own_numbers as learning_numbers
from argentry.desk.numbers.kept import FILE, fingerprint, own_numbers
from argentry.desk.numbers.makings import from_book, from_table, gather
from argentry.desk.numbers.studio_numbers import day_numbers, taught_studio
from argentry.errors import BadInput
from argentry.exchange.plates.into_book import import_plates
from argentry.exchange.plates.table import read_plate_table
from argentry.records.ids import new_id
from argentry.records.plate import Making


@pytest.fixture(scope="module")
def year(tmp_path_factory):
    """The first plates of the invented year, as a small notebook."""
    folder = tmp_path_factory.mktemp("year")
    write_demo(folder)
    lines = (folder / "plates.csv").read_text().splitlines()
    return (folder / "studio.toml").read_text(), "\n".join(lines[:25]) + "\n"


@pytest.fixture
def folder(tmp_path, year):
    (tmp_path / "studio.toml").write_text(year[0])
    (tmp_path / "plates.csv").write_text(year[1])
    return tmp_path


@pytest.fixture
def book(folder):
    opened = open_book(folder)
    read = read_plate_table(folder / "plates.csv", time_zone="Europe/Madrid")
    import_plates(opened, read, at=datetime(2026, 1, 2, tzinfo=UTC))
    yield opened
    close_book(opened)


def for_the_day(folder):
    """What a day plan takes, the odds with it."""
    numbers, good, warnings = day_numbers(folder)
    assert not warnings
    return replace(numbers, good=good())


@pytest.fixture
def worked(monkeypatch):
    """How often the numbers were worked out whole."""
    times = []
    plain = learning_numbers.learned_numbers

    def counted(*given, **more):
        if more.get("with_odds", True):
            times.append(1)
        return plain(*given, **more)

    monkeypatch.setattr(learning_numbers, "learned_numbers", counted)
    return times


def test_what_is_kept_is_what_was_worked_out(folder, worked):
    first = for_the_day(folder)
    again = for_the_day(folder)
    assert len(worked) == 1
    assert (again.learned, again.good) == (first.learned, first.good)
    plain = learning_numbers.learned_numbers(gather(folder))
    assert (again.mostly_prior, again.notes) == (plain.mostly_prior, plain.notes)
    assert (again.learned, again.good) == (plain.learned, plain.good)
    assert again.of("box_factor").plates > 10
    assert learning_kept.last_kept(folder).learned == first.learned
    assert learning_kept.last_kept(None) is None
    worked.clear()
    assert "made again when deleted" in json.loads((folder / FILE).read_text())["about"]
    (folder / FILE).unlink()
    assert for_the_day(folder).learned == first.learned
    assert len(worked) == 1


def test_one_more_word_on_one_plate_counts(folder, book, worked):
    before = for_the_day(folder)
    one = makings(book)[3]
    judge(book, one.id, grade="lost" if one.grade != "lost" else "fine")
    after = for_the_day(folder)
    assert len(worked) == 2
    assert after.good != before.good


def test_another_studio_counts(folder, worked):
    for_the_day(folder)
    text = (folder / "studio.toml").read_text()
    assert "gap_mm = " in text
    (folder / "studio.toml").write_text(text.replace("gap_mm = ", "gap_mm = 1", 1))
    for_the_day(folder)
    assert len(worked) == 2


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text[: len(text) // 2],
        lambda text: "[]",
        lambda text: "\x00",
        lambda text: text.replace('"value"', '"worth"', 1),
        lambda text: text.replace('"high": ', '"high": "much", "was": ', 1),
        lambda text: text.replace('"day": "20', '"day": "no', 1),
    ],
)
def test_a_damaged_file_is_no_harm(folder, worked, damage):
    first = for_the_day(folder)
    (folder / FILE).write_text(damage((folder / FILE).read_text()))
    again = for_the_day(folder)
    assert len(worked) == 2
    assert again.learned == first.learned


def test_a_folder_that_takes_nothing_keeps_nobody_waiting(folder, worked):
    (folder / FILE).mkdir()  # stands in the way also for a superuser
    first = for_the_day(folder)
    again = for_the_day(folder)
    assert len(worked) == 2
    assert again.learned == first.learned
    assert not list(folder.glob(f".{FILE}*")), "nothing is left lying about"


def test_the_bench_takes_what_is_kept_and_a_day_more_than_the_bench(folder, book, worked):
    studio = gather(folder).studio
    plain = taught_studio(book, studio)
    assert not json.loads((folder / FILE).read_text())["with_odds"]
    assert taught_studio(book, studio) == plain
    assert not worked
    assert for_the_day(folder).good is not None, "without the odds it was not the whole"
    assert json.loads((folder / FILE).read_text())["with_odds"]
    assert taught_studio(book, studio) == plain
    assert len(worked) == 1


def test_a_plan_begins_before_the_odds_are_known_and_ends_with_them(folder, monkeypatch):
    from argentry.day.plan import make_day

    asked = []
    numbers, good, _ = day_numbers(folder)

    def wanted():
        asked.append(1)
        return good()

    day = date(2026, 6, 21)
    plan = make_day(gather(folder).studio, day, plates=1, learned=numbers, good=wanted)
    assert asked == [1]
    whole = for_the_day(folder)
    again = make_day(gather(folder).studio, day, plates=1, learned=whole)
    assert (plan.good_share, plan.good_plates) == (again.good_share, again.good_plates)
    assert plan.good_share_plates > 20


def test_the_word_for_it_does_not_depend_on_the_order_of_plates(folder):
    found = gather(folder)
    turned = type(found)(**{**vars(found), "makings": found.makings[::-1]})
    fewer = type(found)(**{**vars(found), "makings": found.makings[1:]})
    assert fingerprint(turned) == fingerprint(found)
    assert fingerprint(fewer) != fingerprint(found)


def test_nothing_is_kept_without_a_folder(folder, monkeypatch):
    monkeypatch.setattr(learning_kept, "_keep", None)  # whoever calls it fails
    assert own_numbers(gather(folder), None).good is not None


# ---- only the newest teach ----------------------------------------------------------------------


@pytest.fixture
def few(monkeypatch):
    from argentry.desk.numbers import makings as learning_data

    monkeypatch.setattr(learning_data, "_newest", lambda: 10)


def test_only_the_newest_teach_but_an_old_plate_can_be_asked_about(folder, book, few):
    every = makings(book)
    found = from_book(book, None)
    assert [one.id for one in found.makings] == [one.id for one in every[-10:]]
    assert len(found.labels) == len(plates(book)), "names of all plates are known"
    assert "newest 10 makings" in found.notes[0]
    old = found.labels[every[0].plate]
    assert found.of_plate(old) == ()
    asked = from_book(book, None, old)
    assert [one.id for one in asked.of_plate(old)] == [every[0].id]
    assert len(asked.makings) == 11
    young = found.labels[every[-1].plate]
    assert len(from_book(book, None, young).makings) == 10


def test_an_old_plate_given_up_at_the_bench_can_be_asked_about(folder, book, few):
    from argentry.book.log import events
    from argentry.book.runs.fold import fold
    from argentry.desk.bench.run import add_events, clock_for, open_run

    studio, clock = gather(folder).studio, clock_for(book)

    def give_up(label):
        run = open_run(book, studio, [label], clock=clock)
        plate = next(one for one in plates(book) if one.label == label)
        body = {"why": "scratched"}
        first = {"id": new_id(), "kind": "step_begun", "plate": plate.id, "age_s": 600.0}
        first["step"] = fold(events(book, run)).plates[0].current
        damp = {"id": new_id(), "kind": "reading_taken", "age_s": 300.0}
        damp["body"] = {"what": "room_rh_pct", "value": 41.0}
        assert not add_events(book, studio, run, [first, damp], "hand", clock).refused
        sent = {"id": new_id(), "kind": "plate_abandoned", "plate": plate.id, "body": body}
        assert not add_events(book, studio, run, [{**sent, "step": None}], "hand", clock).refused

    give_up("Old one")
    for number in range(10):  # as many runs as teach stand before it
        give_up(f"Newer {number}")
    assert from_book(book, studio).of_plate("Old one") == ()
    (one,) = from_book(book, studio, "Old one").of_plate("Old one")
    assert one.grade == "lost"
    assert one.conditions["room_rh_pct"] == 41.0, "its run is read, too"


def test_the_page_of_an_old_plate_that_failed_says_why_and_tells_no_odds(folder, book, few):
    old = next(one for one in makings(book)[:-10] if one.grade == "lost")
    found = gather(folder)
    label = found.labels[old.plate]
    assert found.of_plate(label) == ()
    keep_plates(book, found.studio, folder, datetime(2026, 1, 3, tzinfo=UTC), [label, "P 0"], 2)
    kept = kept_plates(folder)
    told = kept_plate(kept, label)
    assert told.why.plate == label
    assert told.odds is None, "it is made"
    assert kept.plates["P 0"] is None, "there is no such plate"


def test_of_a_table_likewise(folder, few):
    found = from_table(folder / "plates.csv", None)
    assert len(found.makings) == 10
    asked = from_table(folder / "plates.csv", None, "P001")
    assert len(asked.makings) == 11
    assert len(asked.of_plate("P001")) == 1
    with pytest.raises(BadInput, match="P999"):
        asked.of_plate("P999")


def test_why_an_old_plate_failed(folder, book, few, capsys):
    from argentry.cli.main import main

    old = next(one for one in makings(book) if one.grade == "lost")
    label = from_book(book, None).labels[old.plate]
    with pytest.raises(SystemExit) as ended:
        main(["why", label, "--studio", str(folder), "--json"])
    assert ended.value.code in (0, None)
    assert json.loads(capsys.readouterr().out)["day"] == old.day.isoformat()


def test_a_session_that_comes_back_does_no_harm(folder, book):
    # one wrong date in a notebook once made a step backwards in time, and no end to the fit
    plate = plates(book)[0]
    sessions = [one.session for one in makings(book)]
    for number, day in enumerate((date(2024, 1, 1), date(2027, 1, 1))):
        late = Making(new_id(), plate.id, None, sessions[5], 40 + number, day, grade="lost")
        add_making(book, late)
    numbers = for_the_day(folder)
    assert 0.0 < numbers.good.one.low < numbers.good.one.high < 1.0


def test_the_file_itself_may_name_the_studio(folder, book):
    numbers = for_the_day(folder / "studio.toml")
    assert numbers.of("box_factor").plates > 10
    assert (folder / FILE).is_file()


def test_a_table_whose_numbers_are_kept_is_not_read_again(folder, monkeypatch):
    for_the_day(folder)
    first = for_the_day(folder)  # the table is read once more, and noted
    monkeypatch.setattr(
        "argentry.desk.numbers.makings.from_table", lambda *_: pytest.fail("the table was read")
    )
    assert for_the_day(folder) == first


@pytest.mark.parametrize("changed", ["plates.csv", "studio.toml", "program"])
def test_a_table_is_read_again_when_anything_has_changed(folder, monkeypatch, changed):
    for _ in range(2):
        for_the_day(folder)
    if changed == "program":
        monkeypatch.setattr(learning_kept, "_program", lambda: "another")
    else:
        text = (folder / changed).read_text()
        other = {"plates.csv": text.rsplit("\n", 2)[0] + "\n"}
        other["studio.toml"] = text.replace("orraga", "arroga").replace("Orraga", "Arroga")
        assert other[changed] != text
        (folder / changed).write_text(other[changed])
    read = []
    plain = makings_room.from_table
    monkeypatch.setattr(makings_room, "from_table", lambda *given: read.append(1) or plain(*given))
    day_numbers(folder)
    assert read


def test_a_book_goes_before_what_was_noted_of_a_table(folder, book):
    assert learning_kept.files_of(folder, None) is None
    assert learning_kept.files_of(None, "postgresql+psycopg://b@localhost/n") is None
