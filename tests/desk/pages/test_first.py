"""What the desk's first pages show of plates and readings."""

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from argentry.book.engine import close_book
from argentry.book.log import append
from argentry.book.makings import add_making
from argentry.book.open import open_book
from argentry.book.plate_list import PlateLine
from argentry.book.plates import add_plate
from argentry.desk.pages import first
from argentry.keeping.clock import steady_clock
from argentry.keeping.sensors.intake import ReadingNow
from argentry.records.event import Event, RunHead
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate


@pytest.mark.parametrize(
    ("start", "total", "before", "after"),
    [
        (0, 250, None, 100), (100, 250, 0, 200), (200, 250, 100, None), (50, 250, 0, 150),
        (0, 100, None, None), (0, 101, None, 100), (0, 0, None, None),
    ],
)  # fmt: skip
def test_pages_of_plates_lead_on_and_back(monkeypatch, start, total, before, after):
    line = PlateLine("A 1", "half", "id", "2026-06-21", "good", ("white_specks", "fog"))
    asked = []

    def page(book, find, at, limit):
        asked.append((book, find, at, limit))
        return [line], total

    monkeypatch.setattr(first, "plate_page", page)
    shown = first.plates_page(SimpleNamespace(book="book"), "  A ", start)
    assert asked == [("book", "A", start, 100)]
    assert (shown.before, shown.after) == (before, after)
    assert (shown.total, shown.find) == (total, "A")
    assert shown.plates == [line]


def test_the_first_page_shows_the_last_dozen_runs_and_plates(monkeypatch, tmp_path):
    book = open_book(tmp_path)
    monkeypatch.setattr(first, "latest_readings", lambda house: {})
    monkeypatch.setattr(first, "numbers_in_use", lambda now, *names: ())
    noon = datetime(2026, 6, 21, 12, tzinfo=UTC)
    runs = []
    for number in range(13):
        plate = Plate(new_id(), f"P{number}", size="half")
        add_plate(book, plate)
        made = Making(new_id(), plate.id, None, "morning", number, noon.date(), grade="good")
        add_making(book, made, by="desk", at=noon)
        opened = Event(new_id(), new_id(), "run_opened", noon, body={"title": f"R{number}"})
        append(book, [opened])
        runs.append(opened.run)
    zone = SimpleNamespace(site=SimpleNamespace(time_zone="Europe/Berlin"))
    house = SimpleNamespace(
        book=book,
        studio=zone,
        live=SimpleNamespace(now=None),
        clock=steady_clock(wall=lambda: noon),
    )
    page = first.runs_page(house)
    newest = range(12, 0, -1)
    assert [(one.title, one.opened_here, one.state) for one in page.runs] == [
        (f"R{number}", "2026-06-21 14:00", "open") for number in newest
    ]
    assert [one.label for one in page.plates] == [f"P{number}" for number in newest]
    first.rename(house, runs[5], "Five", "")
    first.withdraw(house, runs[6], "", "")
    titles = [one.title for one in first.runs_page(house).runs]
    assert ("Five" in titles, "R6" in titles, len(titles)) == (True, False, 11)
    close_book(book)


@pytest.mark.parametrize(
    ("age_s", "ago"),
    [
        (0, "now"), (89, "now"), (90, "2 min ago"), (5399, "90 min ago"), (5400, "2 h ago"),
        (47.9 * 3600, "48 h ago"), (48 * 3600, "2 days ago"), (10 * 86400, "10 days ago"),
    ],
)  # fmt: skip
def test_how_long_ago_a_reading_was(age_s, ago):
    row = ReadingNow(
        title="room", value=20.123456789, unit="°C", at=datetime(2026, 6, 21, tzinfo=UTC),
        source="a shelf", age_s=age_s, usable=True, doubt="", newest_doubt="",
    )  # fmt: skip
    shown = first._reading(row)
    assert shown.ago == ago
    assert shown.shown == "20.1235 °C"
    assert first._reading(replace(row, value=55.0, unit="%")).shown == "55 %"


def test_times_are_told_by_the_studios_clock():
    site = SimpleNamespace(time_zone="Europe/Madrid")
    late = datetime(2026, 6, 21, 22, 30, tzinfo=UTC)
    house = SimpleNamespace(
        clock=SimpleNamespace(now=lambda: late), studio=SimpleNamespace(site=site)
    )
    row = RunHead(
        "id", "A day", datetime(2026, 6, 21, 22, 30, tzinfo=UTC), None, ("A1",), 3, withdrawn=False
    )
    assert first._run(house, row).opened_here == "2026-06-22 00:30"
    assert first._run(house, row).state == "open"
