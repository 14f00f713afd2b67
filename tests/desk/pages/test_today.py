"""Which day the first page plans, what it knows of the book, and when a plan no longer holds."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.bench_studio import Table

from argentry.book.baths import add_bath, baths, discard_bath, use_bath
from argentry.book.engine import close_book
from argentry.book.lots import add_lots, use_lot
from argentry.book.materials.notes import add_notes
from argentry.book.open import open_book
from argentry.book.plates import add_plate, add_work, plate_by_label
from argentry.book.readings import add_readings
from argentry.desk.house import open_house
from argentry.desk.pages import today as module
from argentry.desk.pages.today import (
    day_to_plan,
    inputs_mark,
    keep_days,
    kept_days,
    teaching_mark,
    today_in_book,
)
from argentry.keeping.clock import steady_clock
from argentry.keeping.stock.baths import baths_of
from argentry.keeping.studio import TABLE, new_studio
from argentry.records.ids import new_id
from argentry.records.material import Bath, Lot, MaterialNote
from argentry.records.plate import Plate, Reading
from argentry.records.plate_record import PlateWork

MORNING = datetime(2026, 6, 21, 7, 5, tzinfo=UTC)  # five past nine in Madrid
DAY = date(2026, 6, 21)


@pytest.fixture
def house(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    passed = {"s": 0.0}
    clock = steady_clock(wall=lambda: MORNING, passed=lambda: passed["s"])
    clock.let_pass = lambda **more: passed.update(s=passed["s"] + timedelta(**more).total_seconds())
    yield replace(open_house(folder, book), clock=clock)
    close_book(book)


def test_today_is_planned_until_its_hours_are_over(house):
    end = house.studio.hours.end
    assert end == "19:00"
    assert day_to_plan(house) == DAY
    house.clock.let_pass(hours=9, minutes=54)
    assert day_to_plan(house) == DAY
    house.clock.let_pass(minutes=2)
    assert day_to_plan(house) == DAY + timedelta(days=1)
    house.clock.let_pass(hours=5)  # past midnight of the studio's clock, not of UTC
    assert day_to_plan(house) == DAY + timedelta(days=1)


def test_while_a_run_goes_on_the_next_day_is_planned_and_its_hands_stand_first(house):
    table = Table(house.book, house.studio)
    table.clock = house.clock
    table.open("A/1", "A/2", title="Morning pair")
    found = today_in_book(house)
    [going] = found.runs
    assert (going.run, going.title) == (table.run, "Morning pair")
    assert {plate.label for plate in going.plates} == {"A/1", "A/2"}
    assert going.plates[0].now
    assert day_to_plan(house) == DAY + timedelta(days=1)
    house.clock.let_pass(days=2)
    later = today_in_book(house)  # nobody closed it
    assert (later.runs, later.left_open) == ((), 1)
    assert day_to_plan(house) == DAY + timedelta(days=2)
    table.say("run_closed")
    assert today_in_book(house).left_open == 0


def test_a_plan_holds_until_what_it_rests_on_changes(house):
    file = house.studio_dir / "studio.toml"
    before, later = inputs_mark(house, DAY), inputs_mark(house, DAY + timedelta(days=1))
    assert inputs_mark(house, DAY) == before
    house.clock.let_pass(minutes=9)
    assert inputs_mark(house, DAY) == before
    house.clock.let_pass(minutes=2)  # another quarter of an hour: some of today is gone
    assert inputs_mark(house, DAY) != before
    assert inputs_mark(house, DAY + timedelta(days=1)) == later
    os.utime(file, ns=(1, 1))
    assert inputs_mark(house, DAY + timedelta(days=1)) != later
    now = inputs_mark(house, DAY + timedelta(days=1))
    Table(house.book, house.studio).open("A/1")
    assert inputs_mark(house, DAY + timedelta(days=1)) == now  # a press at the bench moves no plan
    house.clock.let_pass(days=1)
    assert inputs_mark(house, DAY + timedelta(days=1)) != now


def test_a_plan_of_today_follows_the_light_within_five_minutes(house):
    def read(lux):
        at = house.clock.now()
        add_readings(house.book, [Reading(new_id(), "light_lx", lux, "lx", at, "post")])

    def marks():
        return inputs_mark(house, DAY), inputs_mark(house, DAY + timedelta(days=1))

    house.clock.let_pass(minutes=11)  # 07:16, just into a quarter
    before = marks()
    read(30000.0)
    assert marks() == before  # a sensor reads every half minute
    house.clock.let_pass(minutes=4)
    after = marks()
    assert after[0] != before[0]
    assert after[1] == before[1]
    house.clock.let_pass(minutes=4)
    assert marks() == after
    read(20000.0)
    house.clock.let_pass(minutes=2)
    assert marks()[0] != after[0]


def test_a_new_forecast_changes_what_a_plan_rests_on(house):
    file = house.studio_dir / "studio.toml"
    text = file.read_text(encoding="utf-8")
    agreed = '\n[weather]\nsource = "open-meteo"\nagreed = ["open-meteo"]\n'
    head = text.split("[weather]")[0]
    file.write_text(head + agreed, encoding="utf-8")
    os.utime(file, ns=(1, 1))
    before = inputs_mark(house, DAY)
    kept = house.studio_dir / "weather" / "open-meteo.json"
    kept.parent.mkdir()
    kept.write_text("{}", encoding="utf-8")
    assert inputs_mark(house, DAY) != before


def test_a_bath_mixed_or_thrown_away_changes_what_a_plan_rests_on(house):
    marks = [inputs_mark(house, DAY)]
    bath = Bath(new_id(), "Hypo", "fix", MORNING, 500.0)
    add_bath(house.book, bath)
    marks.append(inputs_mark(house, DAY))
    discard_bath(house.book, bath.id)
    marks.append(inputs_mark(house, DAY))
    assert len(set(marks)) == 3


BOOKED = {
    "a plate through a bath": lambda book, bath, lot, now: use_bath(book, bath, 1, 90.0, "me", now),
    "a lot that came": lambda book, bath, lot, now: add_lots(
        book, [Lot(new_id(), "Borax", 100.0, "g", "", DAY)]
    ),
    "some of a lot": lambda book, bath, lot, now: use_lot(book, lot, 0.5, "me", now),
    "a note": lambda book, bath, lot, now: add_notes(
        book, [MaterialNote("bath", bath, "clearing_s", "40", now, "me")]
    ),
    "a clearing time": lambda book, bath, lot, now: add_readings(
        book, [Reading(new_id(), "clearing_s", 40.0, "s", now, "bath " + bath)]
    ),
    "a plate weighed": lambda book, bath, lot, now: add_readings(
        book,
        [Reading(new_id(), "plate_g", 80.0, "g", now, "me", plate=plate_by_label(book, "P1").id)],
    ),
    "silver off a plate": lambda book, bath, lot, now: add_work(
        book, PlateWork(new_id(), plate_by_label(book, "P1").id, "polished_back", now, "me", "")
    ),
}


@pytest.mark.parametrize("what", BOOKED)
def test_what_is_booked_changes_what_a_plan_rests_on(house, what):
    bath, lot = new_id(), new_id()
    add_bath(house.book, Bath(bath, "Hypo", "fix", MORNING, 500.0))
    add_lots(house.book, [Lot(lot, "Gold chloride", 1.0, "g", "", DAY)])
    add_plate(house.book, Plate(new_id(), "P1", "quarter", silver_um=10.0))
    before = inputs_mark(house, DAY + timedelta(days=1))
    BOOKED[what](house.book, bath, lot, MORNING)
    assert inputs_mark(house, DAY + timedelta(days=1)) != before


def test_a_recipe_of_the_makers_own_changes_what_a_plan_rests_on(house):
    before = inputs_mark(house, DAY + timedelta(days=1))
    (house.studio_dir / "recipes.toml").write_text("", encoding="utf-8")
    assert inputs_mark(house, DAY + timedelta(days=1)) != before


def test_what_a_run_takes_counts_when_it_is_closed(house):
    bath, tomorrow = new_id(), DAY + timedelta(days=1)
    add_bath(house.book, Bath(bath, "Hypo", "fix", MORNING, 500.0))
    table = Table(house.book, house.studio)
    table.open("A/1")
    before = inputs_mark(house, tomorrow)
    house.clock.let_pass(minutes=1)
    use_bath(house.book, bath, 1, 90.0, "run", house.clock.now())
    assert inputs_mark(house, tomorrow) == before
    table.say("run_closed")
    assert inputs_mark(house, tomorrow) != before


@pytest.mark.parametrize(
    ("recipe", "days", "plates", "tired"),
    [
        ("fix", 6.9, 0, False), ("fix", 7.1, 0, True), ("fix", 1.0, 11, False),
        ("fix", 1.0, 12, False), ("fix", 1.0, 400, True), ("my own wash", 90.0, 90, False),
    ],
)  # fmt: skip
def test_a_fixer_does_not_last(house, recipe, days, plates, tired):
    add_bath(house.book, Bath(new_id(), "Hypo", recipe, MORNING - timedelta(days=days), 500.0))
    if plates:
        use_bath(house.book, baths(house.book)[0].id, plates, 90.0 * plates, "me")
    [bath] = baths_of(house.book, MORNING).baths
    assert bath.lasts is not tired
    assert bool(today_in_book(house).tired) is tired


def test_stock_that_runs_out_is_told(house):
    add_lots(house.book, [Lot(new_id(), "Gold chloride", 0.02, "g", "", DAY)])
    [lot] = today_in_book(house).stock.lots
    assert lot.runs_out


def test_kept_days_are_those_of_this_version(house, monkeypatch):
    folder = house.studio_dir
    assert kept_days(folder) == {}
    keep_days(folder, {"ahead": {"2026-06-22": [1]}})
    assert kept_days(folder) == {"ahead": {"2026-06-22": [1]}}
    monkeypatch.setattr(module, "VERSION", "another")
    assert kept_days(folder) == {}
    (folder / module.DAYS_FILE).write_text("[", encoding="utf-8")
    assert kept_days(folder) == {}


def test_a_table_or_a_studio_that_changed_may_teach_something_else(house):
    before = teaching_mark(house.studio_dir, house.book)
    assert teaching_mark(house.studio_dir, house.book) == before
    (house.studio_dir / TABLE).write_text("plate,date\n", encoding="utf-8")
    assert teaching_mark(house.studio_dir, house.book) != before
