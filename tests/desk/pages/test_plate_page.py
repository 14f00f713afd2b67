"""What a plate's page does, in whose name, and which readings of its pictures it shows."""

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from argentry.desk.pages import plate_page
from argentry.records.plate_record import PlateWork

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
HOUSE = SimpleNamespace(
    book="book",
    clock=SimpleNamespace(now=lambda: NOON),
    studio=SimpleNamespace(site=SimpleNamespace(time_zone="Europe/Madrid")),
    studio_dir="folder",
)


@pytest.mark.parametrize(("said", "by"), [("Ada's tablet", "Ada's tablet"), ("", "host")])
def test_what_is_done_is_noted_with_who_did_it_or_as_the_hosts(monkeypatch, said, by):
    done = []

    def noted(answer):
        return lambda *given, **more: done.append((*given, *more.values())) or answer

    for name, answer in (
        ("grade_by_form", None), ("relabel", SimpleNamespace(label="B2")), ("add_work", None),
        ("withdraw_making", None), ("find_plate", SimpleNamespace(id="p")),
    ):  # fmt: skip
        monkeypatch.setattr(plate_page, name, noted(answer))
    monkeypatch.setattr(plate_page, "new_id", lambda: "w")
    plate_page.grade(HOUSE, "m", {"grade": "good"}, said)
    assert plate_page.rename(HOUSE, "A1", "B2", said) == "B2"
    plate_page.polished_back(HOUSE, "A1", said)
    plate_page.withdraw(HOUSE, "m", "by mistake", said)
    assert done == [
        ("book", "m", {"grade": "good"}, by, NOON),
        ("book", "A1", "B2", by, NOON),
        ("book", "A1"),
        ("book", PlateWork("w", "p", "polished_back", NOON, by)),
        ("book", "m", "by mistake", by, NOON),
    ]


def read(kind, *more):
    return SimpleNamespace(kind=kind, answer=dict.fromkeys(("line", "width_px", *more)))


@pytest.mark.parametrize("kept", [None, SimpleNamespace(odds="odds", why="why")])
@pytest.mark.parametrize("fresh", [False, True])
def test_a_page_shows_what_was_worked_out_and_can_be_shown(monkeypatch, kept, fresh):
    outcomes = [SimpleNamespace(id=state, state=state) for state in ("going", "finished")]
    record = SimpleNamespace(id="p", outcomes=outcomes)
    reads = [read("coat", "height_px", "more"), read("coat"), read("other", "height_px"),
             read("ripening", "height_px")]  # fmt: skip
    monkeypatch.setattr(plate_page, "plate_record", lambda *_: record)
    monkeypatch.setattr(plate_page, "kept_plates", lambda folder: [folder])
    monkeypatch.setattr(plate_page, "kept_plate", lambda plates, label: kept)
    monkeypatch.setattr(plate_page, "is_fresh", lambda book, plates: fresh)
    monkeypatch.setattr(plate_page, "judged", lambda book, plate: reads)
    monkeypatch.setattr(plate_page, "grading_form", lambda one: f"form of {one.id}")
    page = plate_page.plate_page(HOUSE, "A1")
    assert page.forms == {"finished": "form of finished"}
    assert (page.odds, page.why) == ((None, None) if kept is None else ("odds", "why"))
    assert page.fresh == (kept is not None and fresh)
    assert page.seen == (reads[0], reads[3])
    assert page.zone.key == "Europe/Madrid"
