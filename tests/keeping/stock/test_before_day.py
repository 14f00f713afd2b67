"""A plan says which baths will not last it, and which plates are worn: before and after."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argentry.book.baths import add_bath, baths, discard_bath, use_bath
from argentry.book.plates import add_plate
from argentry.keeping.book import studio_book
from argentry.keeping.stock.before_day import said_of_materials, with_materials
from argentry.keeping.stock.lots import list_stock, new_lot, use_stock
from argentry.records.ids import new_id
from argentry.records.material import Bath
from argentry.records.plate import Plate
from argentry.trade.sizes import plate_size

ROOT = Path(__file__).resolve().parents[3]
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
QUARTER = plate_size("quarter").area_cm2


@dataclass(frozen=True)
class Plan:
    """As much of a day's plan as is said of materials."""

    plates_placed: int
    warnings: tuple[str, ...] = ()
    one_more: bool = False
    steps: tuple[object, ...] = ()
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    step: str
    end: datetime


def bath(book, name, recipe="fix", days=1.0, plates=0, ml=250.0):
    made = Bath(new_id(), name, recipe, NOW - timedelta(days=days), ml)
    add_bath(book, made)
    if plates:
        use_bath(book, made.id, plates, plates * QUARTER, "me", NOW)


def said(folder, plates=3):
    with studio_book(folder) as book:
        told = said_of_materials(book, folder, NOW, plates)
    return [*told.lacking, *told.others]


def test_nothing_is_said_of_what_lasts(folder):
    with studio_book(folder) as book:
        bath(book, "Fix")
        bath(book, "Words", recipe="weaker, my way", days=90.0)
        add_plate(book, Plate(new_id(), "P1", "quarter", None, 12.0))
        add_plate(book, Plate(new_id(), "P2", "quarter"))
    assert said(folder) == []


def test_a_bath_that_is_too_old_when_the_plates_come_is_renewed_before_them(folder):
    """The evening before, a gilding bath that keeps a day was to be renewed "soon"."""
    with studio_book(folder) as book:
        bath(book, "Gold", recipe="gild", days=0.5, ml=500.0)
        bath(book, "Fix", days=5.5)
    assert said(folder) == []
    noon = NOW + timedelta(hours=25)
    plan = Plan(2, steps=(Step("gild", noon), Step("seal", noon + timedelta(hours=9))))
    gold, mix = with_materials(plan, folder, None, NOW).warnings
    assert gold == (
        "Bath Gold: renew it before the first plate. At 13:00 it is 37 h old; it keeps about 24."
    )
    assert mix.startswith("The evening before, mix gilding bath")
    later = replace(plan, steps=(Step("gild", NOW + timedelta(days=30)),))
    assert with_materials(later, folder, None, NOW).warnings == (), "it will be another by then"


def test_salt_is_asked_of_the_lots_only_where_no_bath_stands_mixed(folder):
    new_lot(folder, "Hypo", 5.0, "g")
    assert said(folder) == [
        (
            "Hypo fixing bath (one tray for the session): 62.5 mL left of the 100 mL "
            "that the plan needs."
        )
    ]
    with studio_book(folder) as book:
        bath(book, "Fix")
    assert said(folder) == []


def test_gold_is_asked_of_the_lots_only_where_no_bath_stands_mixed(folder):
    new_lot(folder, "Gold chloride", 0.02, "g")
    assert said(folder)[0].startswith("Gold in the gilding bath: ")
    with studio_book(folder) as book:
        bath(book, "Gold", recipe="gild", days=0.1, ml=200.0)
    assert said(folder) == []


def test_a_tired_bath_a_bath_too_small_and_a_worn_plate(folder):
    with studio_book(folder) as book:
        for at in (0.5, 60.0):  # nothing is known of a bath in the maker's words
            bath(book, f"Words {at}", recipe="weaker, my way", days=at)
        bath(book, "Old", days=9.0)
        bath(book, "Gold", recipe="gild", days=0.1, ml=50.0)
        bath(book, "Small", plates=82)
        add_plate(book, Plate(new_id(), "P1", "quarter", None, 12.0))
        add_plate(book, Plate(new_id(), "P7", "quarter", None, 6.0, "", 14))
        add_plate(book, Plate(new_id(), "Thin as bought", "quarter", None, 1.3))
    old, small, gold, worn, mix = said(folder)
    assert old == (
        "Bath Old: renew it before the first plate. It is 9.0 days old; it keeps about 7."
    )
    assert gold.startswith("Bath Gold lasts for about 2 of the 3 plates planned.")
    assert small.startswith("Bath Small: renew it")
    assert mix == (
        "The evening before, mix fixing bath, gilding bath: argentry label mixing --plates 3"
    )
    assert worn == (
        "Do not take P7: another picture would wear the silver through. Take P1 in place of it."
    )
    assert any("Gold: renew it soon. About 2 more plates." in words for words in said(folder, 2))


def test_what_is_mixed_today_is_not_mixed_the_evening_before(folder):
    with studio_book(folder) as book:
        bath(book, "Old", days=9.0)
    for hours, when in ((3, "Before the first plate"), (21, "The evening before")):
        plan = Plan(2, steps=(Step("gild", NOW + timedelta(hours=hours)),))
        mix = with_materials(plan, folder, None, NOW).warnings[-1]
        assert mix.startswith(f"{when}, mix fixing bath")


def test_lots_that_are_too_little_for_the_plates_are_named_and_others_are_not(folder):
    new_lot(folder, "Cover glass", 2.0, "piece")
    new_lot(folder, "Iodine", 100.0, "g")
    assert said(folder, 3) == ["Cover glass: 2 pieces left of the 3 pieces that the plan needs."]
    one_more = with_materials(Plan(2, one_more=True), folder, None, NOW)
    assert one_more.warnings == tuple(said(folder, 3)), "the plate more is counted"
    assert one_more.lacking == one_more.warnings
    assert said(folder, 2) == []
    use_stock(folder, "Cover glass", 2.0)
    assert said(folder, 1) == ["Cover glass: 0 pieces left of the 1 piece that the plan needs."]
    assert said(folder, 0) == []


def test_glasses_cut_for_other_plates_do_not_count(folder):
    """The plates of this studio are quarter plates."""
    new_lot(folder, "Cover glass, half", 20.0, "pieces")
    assert new_lot(folder, "Deckglas viertel, quarter", 2.0, "pieces").plates_left == 2.0
    assert said(folder, 3) == ["Cover glass: 2 pieces left of the 3 pieces that the plan needs."]
    half, quarter = list_stock(folder).lots
    assert (half.plates_left, quarter.plates_left) == (None, 2.0)


def test_the_docs_show_a_day_before_and_after(folder):
    """A tired bath, a worn plate and an empty lot: the very lines of docs/materials.md."""
    with studio_book(folder) as book:
        bath(book, "Fix", plates=20)
        add_plate(book, Plate(new_id(), "P1", "quarter", None, 12.0))
        add_plate(book, Plate(new_id(), "P7", "quarter", None, 12.0))
    new_lot(folder, "Cover glass", 25.0, "piece")
    assert said(folder, 4) == []
    use_stock(folder, "Cover glass", 23.0)
    with studio_book(folder) as book:
        discard_bath(book, next(one.id for one in baths(book)), NOW)
        bath(book, "Fix", days=8.0)
        add_plate(book, Plate(new_id(), "P9", "quarter", None, 6.0, "", 14))
    after = said(folder, 4)
    assert len(after) == 4
    shown = (ROOT / "docs" / "materials.md").read_text(encoding="utf-8")
    block = shown[shown.index("## The day before and after") :].split("```")[1]
    assert block.removeprefix("text\n").splitlines() == after


def test_a_plan_keeps_what_it_said_and_says_this_too(folder):
    before = with_materials(Plan(2, ("hazy",)), folder, None, NOW)
    assert before.warnings == ("hazy",)
    with studio_book(folder) as book:
        bath(book, "Old", days=9.0)
        with_open = with_materials(Plan(2), folder, None, NOW, book)
    after = with_materials(Plan(2, ("hazy",)), folder, None, NOW)
    assert after.warnings[-1] == "hazy"  # a short screen may leave out what comes last
    assert after == replace(before, warnings=(*with_open.warnings, "hazy"))
    assert len(after.warnings) == 3


def test_a_book_that_cannot_be_read_keeps_nobody_from_planning(folder):
    (folder / "book.sqlite").write_bytes(b"no book")
    assert with_materials(Plan(2, ("hazy",)), folder, None, NOW).warnings == ("hazy",)
