"""What the desk's first pages show of plates and readings."""

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from argentry.book import plate_list
from argentry.book.plate_list import PlateLine
from argentry.desk.pages import first
from argentry.keeping.sensors.intake import ReadingNow
from argentry.records.event import RunHead


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

    monkeypatch.setattr(plate_list, "plate_page", page)
    shown = first.plates_page(SimpleNamespace(book="book"), "  A ", start)
    assert asked == [("book", "A", start, 100)]
    assert (shown.before, shown.after) == (before, after)
    assert (shown.total, shown.find) == (total, "A")
    assert shown.plates == [line]


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
