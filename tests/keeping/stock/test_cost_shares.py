"""What each making bears: of gold and glass what it used at the bench, whatever its grade."""

from datetime import UTC, date, datetime

import pytest

from argentry.book.log import append
from argentry.book.lots import add_lots, use_lot
from argentry.book.materials.notes import add_notes
from argentry.book.plates import add_making, add_plate
from argentry.keeping.book import studio_book
from argentry.keeping.stock.cost import cost
from argentry.keeping.stock.cost_shares import came_to
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.material import LOT, RUN, Lot, MaterialNote
from argentry.records.plate import GivenUp, Making, Plate

DAY, NOON = date(2026, 6, 21), datetime(2026, 6, 21, 12, tzinfo=UTC)


def test_a_plate_that_was_gilded_bears_its_gold_and_one_that_was_not_bears_none(folder):
    """By grade and stage alone one given up at fixing bore gold, and a lost gilded one none.

    Of 40 for gold, three gilded plates bear a third each.
    """
    run = new_id()
    slipped = GivenUp("finish", "fault", "", None, "slipped in the tray")
    with studio_book(folder, None) as book:
        lot = Lot(new_id(), "Gold chloride", 1.0, "g", "", date(2026, 1, 1))
        add_lots(book, [lot])
        add_notes(book, [MaterialNote(LOT, lot.id, "price", "100.0", NOON)])
        use_lot(book, lot.id, 0.4, at=NOON)
        for name, grade, gilded, more in (
            ("slipped", None, False, {"stages": {"finish": "fault"}, "given_up": slipped}),
            ("lost", "lost", True, {}),
            ("good", "good", True, {}),
            ("not graded", None, True, {}),
        ):
            add_plate(book, plate := Plate(new_id(), name, "quarter", silver_um=10.0))
            made = Making(new_id(), plate.id, run, "s", 1, DAY, grade=grade, **more)
            add_making(book, made)
            for step in ("fix", "gild")[: 1 + gilded]:
                append(book, [Event(new_id(), run, "step_ended", NOON, plate.id, step, {}, "t")])
    found = cost(folder, first=DAY, last=DAY)
    by_grade = {one.grade: one for one in found.grades}
    assert by_grade["lost"].plates == 2, "given up for a fault is lost"
    begun = by_grade["good"].total - 40.0 / 3.0
    assert by_grade["lost"].total == pytest.approx(2.0 * begun + 40.0 / 3.0)
    assert by_grade["not graded"].total == pytest.approx(by_grade["good"].total)
    assert found.failures == pytest.approx(by_grade["lost"].total)


@pytest.mark.parametrize(
    ("reason", "grade", "came"),
    [("fault", None, "lost"), ("outward", None, None), ("fault", "study", "study")],
)
def test_given_up_for_a_fault_and_not_graded_is_lost(reason, grade, came):
    up = GivenUp("finish", reason, "", None, "")
    assert came_to(Making("m", "p", None, "s", 1, DAY, grade=grade, given_up=up)) == came


def test_hands_on_the_stage_a_plate_was_given_up_in_are_counted(folder):
    """Given up in its first stage it bore four; given up in a later one, none of that stage."""
    hours = {}
    for stage, stages in (
        ("polish", {}), ("coat", {"polish": "ok"}), ("", {"polish": "ok", "coat": "ok"}),
    ):  # fmt: skip
        day = date(2026, 6, 1 + len(hours))
        up = GivenUp(stage, "outward", None, "no_time", "")
        with studio_book(folder, None) as book:
            add_plate(book, plate := Plate(new_id(), str(day), "quarter", silver_um=10.0))
            making = Making(new_id(), plate.id, None, "s", 1, day, stages=stages, given_up=up)
            add_making(book, making)
        hours[stage] = cost(folder, first=day, last=day).hours
    assert 0.0 < hours["polish"] < hours["coat"] == pytest.approx(hours[""])


def test_what_a_run_took_after_midnight_is_of_the_day_its_plate_was_begun(folder):
    """Costs of the day before had the plate without its gold, those of the day after the gold."""
    after = date(2026, 6, 22)
    run = new_id()
    with studio_book(folder, None) as book:
        lot = Lot(new_id(), "Gold chloride", 1.0, "g", "", date(2026, 1, 1))
        add_lots(book, [lot])
        add_notes(book, [MaterialNote(LOT, lot.id, "price", "100.0", NOON)])
        for hour, remark in ((1, RUN.format(run=run)), (12, "")):  # and one by hand that day
            at = datetime(2026, 6, 22, hour, tzinfo=UTC)
            use_lot(book, lot.id, 0.1, at=at, remark=remark)
        for day, of in ((DAY, run), (after, None)):
            add_plate(book, plate := Plate(new_id(), str(day), "quarter", silver_um=10.0))
            add_making(book, Making(new_id(), plate.id, of, "s", 1, day, grade="good"))
    gold = [
        next(one.total for one in cost(folder, first=first, last=last).parts if one.part == "gold")
        for first, last in ((DAY, DAY), (after, after), (DAY, after))
    ]
    assert gold == pytest.approx([10.0, 10.0, 20.0])


def test_what_a_run_took_after_midnight_is_of_the_plate_whose_step_ended_then(folder):
    """Of plates begun on both sides of midnight the first one's gold was the later day's."""
    after, run = date(2026, 6, 22), new_id()
    plates = [Plate(new_id(), name, "quarter", silver_um=10.0) for name in ("before", "after")]
    with studio_book(folder, None) as book:
        lot = Lot(new_id(), "Gold chloride", 1.0, "g", "", date(2026, 1, 1))
        add_lots(book, [lot])
        add_notes(book, [MaterialNote(LOT, lot.id, "price", "100.0", NOON)])
        for plate, day, hour in zip(plates, (DAY, after), (1, 3), strict=True):
            at = datetime(2026, 6, 22, hour, tzinfo=UTC)
            add_plate(book, plate)
            add_making(book, Making(new_id(), plate.id, run, "s", 1, day, grade="good"))
            append(book, [Event(new_id(), run, "step_ended", at, plate.id, "gild", {}, "desk")])
            use_lot(book, lot.id, 0.1 * hour, at=at, remark=RUN.format(run=run))
    gold = [
        next(one.total for one in cost(folder, first=day, last=day).parts if one.part == "gold")
        for day in (DAY, after)
    ]
    assert gold == pytest.approx([10.0, 30.0])
