"""What plates cost: from what was really taken, shared out by stages and area."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from argentry import trade
from argentry.book.lots import add_lots, use_lot
from argentry.book.materials.notes import add_notes
from argentry.book.plates import add_making, add_plate
from argentry.cli.main import main
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.stock.cost import cost, cost_of
from argentry.keeping.stock.cost_shares import PARTS
from argentry.keeping.stock.waste import waste
from argentry.keeping.studio import load_studio
from argentry.records.ids import new_id
from argentry.records.material import LOT, Lot, MaterialNote
from argentry.records.plate import Making, Plate

DAY, NOON = date(2026, 6, 21), datetime(2026, 6, 21, 12, tzinfo=UTC)
QUARTER = 89.112725  # cm2, 3.25 by 4.25 in


def put(book, name, amount, unit, price, used):
    lot = Lot(new_id(), name, amount, unit, "", date(2026, 1, 1))
    add_lots(book, [lot])
    if price is not None:
        add_notes(book, [MaterialNote(LOT, lot.id, "price", repr(price), NOON)])
    if used:
        use_lot(book, lot.id, used, at=NOON)


def made(book, grade, stages=None, day=DAY, size="quarter"):
    plate = Plate(new_id(), f"{size} {new_id()[-8:]}", size, silver_um=10.0)
    add_plate(book, plate)
    add_making(
        book, Making(new_id(), plate.id, None, "s", 1, day, grade=grade, stages=stages or {})
    )


def test_days_that_are_left_out_are_the_year_until_the_last(folder):
    """The year has 365 days, its last one with them."""
    with studio_book(folder, None) as book:
        for day in (date(2025, 6, 21), date(2025, 6, 22), DAY, date(2026, 6, 22)):
            made(book, "good", day=day)
    told = cost(folder, last=DAY)
    assert (told.first, told.last) == (date(2025, 6, 22), DAY)
    assert sum(one.plates for one in told.grades) == 2


def test_money_is_what_was_taken_times_what_the_lot_cost(folder):
    with studio_book(folder, None) as book:
        put(book, "Iodine", 100.0, "g", 60.0, 10.0)  # 6
        put(book, "Gold chloride", 1.0, "g", 90.0, 0.5)  # 45
        put(book, "Cover glass", 20.0, "piece", 40.0, 4.0)  # 8
        put(book, "Silvered plates", 10.0, "piece", 250.0, 2.0)  # 50
        put(book, "Rouge", 5.0, "g", None, 1.0)
        for grade in ("good", "fine", "lost", "study"):
            made(book, grade)
    found = cost(folder, first=DAY, last=DAY)
    parts = {one.part: (one.total, one.basis) for one in found.parts}
    assert parts == {
        "silver": (50.0, "booked"),
        "gold": (45.0, "booked"),
        "glass": (8.0, "booked"),
        "other materials": (6.0, "booked"),
        "hours": (0.0, "estimated"),
    }
    assert (found.total, found.plates, found.good) == (pytest.approx(109.0), 4, 2)
    assert found.per_plate == pytest.approx(27.25)
    assert found.per_good == pytest.approx(54.5)
    assert found.not_priced == ("Rouge",)
    assert sum(one.total for one in found.grades) == pytest.approx(found.total)
    # one failure less in ten: 2.4 good ones in place of 2
    assert found.one_less_saves_per_good == pytest.approx(54.5 - 109.0 / 2.4)
    assert found.one_less_saves == pytest.approx(2.4 * (54.5 - 109.0 / 2.4))
    each = (found.one_less_saves_per_good_low, found.one_less_saves_per_good_high)
    assert each[0] < found.one_less_saves_per_good < each[1]
    assert found.one_less_saves_low < found.one_less_saves < found.one_less_saves_high


def test_a_plate_that_failed_early_took_no_gold_and_no_glass(folder):
    with studio_book(folder, None) as book:
        put(book, "Gold chloride", 1.0, "g", 100.0, 0.4)
        made(book, "lost", {"polish": "fault"})
        made(book, "good", {"polish": "ok", "finish": "ok"})
    found = cost(folder, first=DAY, last=DAY)
    by_grade = {one.grade: one.total for one in found.grades}
    begun = sum(one.total for one in found.parts if one.part in {"silver", "other materials"}) / 2
    assert by_grade["lost"] == pytest.approx(begun)
    assert by_grade["good"] == pytest.approx(begun + 40.0)
    assert found.failures == pytest.approx(begun)


def test_silver_and_gold_without_a_price_are_estimated_and_said_so(folder):
    with studio_book(folder, None) as book:
        made(book, "good")
        made(book, None, {"polish": "ok"})
    found = cost(folder, first=DAY, last=DAY)
    parts = {one.part: one for one in found.parts}
    # 10 um of silver at 10.49 g/cm3 on both plates
    grams = 2 * QUARTER * 10.0e-4 * 10.49
    assert parts["silver"].basis == "estimated"
    assert parts["silver"].total == pytest.approx(
        grams * trade.value("decide", "silver_price"), rel=1e-3
    )
    gold = trade.value("materials", "gold") * 1e-3 * trade.value("decide", "gold_price")
    assert parts["gold"].total == pytest.approx(gold)  # one of the two was finished
    # copper, glass and baths as `argentry need` counts them
    assert parts["other materials"].basis == "estimated"
    assert parts["other materials"].total == 2 * trade.value("decide", "sundries_price")
    assert sum("estimated" in note for note in found.notes) == 3
    assert {one.grade for one in found.grades} == {"good", "not graded"}


def test_hours_cost_what_the_studio_says_an_hour_is_worth(folder):
    file = folder / "studio.toml"
    with studio_book(folder, None) as book:
        made(book, "good")
    free = cost(folder, first=DAY, last=DAY)
    assert any("[prices] hour" in note for note in free.notes)
    file.write_text(file.read_text().replace("# hour = 25.0", "hour = 20.0"))
    paid = cost(folder, first=DAY, last=DAY)
    hours = next(one for one in paid.parts if one.part == "hours")
    assert hours.total == pytest.approx(20.0 * paid.hours)
    assert 1.0 < paid.hours < 8.0


def test_larger_plates_bear_more_and_other_days_are_left_out(folder):
    with studio_book(folder, None) as book:
        put(book, "Iodine", 100.0, "g", 100.0, 9.0)
        made(book, "good", size="whole")
        made(book, "lost", {"finish": "fault"})
        made(book, "lost", day=date(2026, 6, 20))
    found = cost(folder, first=DAY, last=DAY)
    other = {one.grade: one.total for one in found.grades}
    assert found.plates == 2
    assert other["good"] > 3.0 * other["lost"]


def test_what_was_taken_before_any_plate_is_money_too(folder):
    with studio_book(folder, None) as book:
        put(book, "Iodine", 100.0, "g", 60.0, 10.0)
        put(book, "Rouge", 5.0, "g", 12.0, 0.0)  # nothing was taken of it
        put(book, "Tripoli", 5.0, "g", None, 0.0)
    found = cost(folder, first=DAY, last=DAY)
    assert found.not_priced == ()
    assert (found.total, found.per_plate, found.failures) == (pytest.approx(6.0), None, 0)


def test_without_plates_nothing_is_divided_by_nothing(folder, capsys):
    found = cost(folder, first=DAY, last=DAY)
    assert (found.total, found.per_plate, found.per_good, found.grades) == (0.0, None, None, ())
    assert [one.part for one in found.parts] == list(PARTS)
    with pytest.raises(SystemExit):
        main(["cost", "--studio", str(folder), "--from", str(DAY), "--until", str(DAY)])
    assert capsys.readouterr().out.split() == f"No plate was made from {DAY} to {DAY}.".split()
    with pytest.raises(BadInput, match="--from: it is after the last day"):
        cost(folder, first=DAY, last=date(2026, 6, 20))


def test_plates_of_before_the_first_priced_lots_are_estimated(folder):
    early = date(2025, 12, 21)  # the lots came in on the first of January
    with studio_book(folder, None) as book:
        for grade in ("good", "lost"):
            made(book, grade, day=early)
        alone = cost(folder, first=early, last=DAY)
        put(book, "Silvered plates", 10.0, "piece", 250.0, 2.0)  # 50
        put(book, "Gold chloride", 1.0, "g", 90.0, 0.5)  # 45
        put(book, "Iodine", 100.0, "g", 60.0, 10.0)  # 6
        made(book, "good")
    found = cost(folder, first=early, last=DAY)
    before, after = ({one.part: one.total for one in told.parts} for told in (alone, found))
    for part, taken in (("silver", 50.0), ("gold", 45.0), ("other materials", 6.0)):
        assert after[part] == pytest.approx(before[part] + taken)
        assert before[part] > 0.0
    assert {one.part: one.basis for one in found.parts}["silver"] == "partly estimated"
    assert any("before 2026-01-01" in note for note in found.notes)
    by_grade = {one.grade: one.total for one in found.grades}
    assert by_grade["lost"] == pytest.approx(alone.failures)  # nothing of what was bought since
    assert sum(by_grade.values()) == pytest.approx(found.total)
    # lots that came in later take nothing from days before
    assert cost(folder, first=early, last=early).total == pytest.approx(alone.total)


def test_what_was_gone_when_a_lot_was_noted_is_no_cost_of_that_day(folder):
    """A year's use, noted today from the shelf, is the cost of the plates of that year."""
    with studio_book(folder, None) as book:
        lot = Lot(new_id(), "Silvered plates", 10.0, "piece", "", date(2026, 1, 1), 8.0)
        add_lots(book, [lot])
        add_notes(book, [MaterialNote(LOT, lot.id, "price", "250.0", NOON)])
        for day in (*[date(2026, 2, 1)] * 6, *[DAY] * 2):
            made(book, "good", day=day)
    silver = {one.part: one.total for one in cost(folder, first=DAY, last=DAY).parts}["silver"]
    assert silver == pytest.approx(250.0 * 0.8 * 2 / 8)
    year = cost(folder, first=date(2026, 1, 1), last=DAY)
    assert {one.part: one.per_plate for one in year.parts}["silver"] == pytest.approx(25.0)


def test_a_studio_that_is_read_already_is_not_read_again(folder):
    """The page of materials read its file three times for the costs alone."""
    dollars = replace(load_studio(folder).units, currency="USD")
    with studio_book(folder, None) as book:
        read_before = replace(load_studio(folder), units=dollars)
        assert cost_of(book, folder, studio=read_before).currency == "USD"
        assert cost_of(book, folder).currency == "EUR"


@pytest.mark.parametrize("day", [date(9999, 12, 31), date(1, 1, 1)])
def test_a_day_at_the_end_of_the_calendar_is_refused(folder, day):
    """The day after it, or the year before it, ended in a traceback."""
    for asked in (cost, waste):
        with pytest.raises(BadInput, match=r"--until: the year .* is out of range"):
            asked(folder, last=day)
        with pytest.raises(BadInput, match="--from: "):
            asked(folder, first=day)
