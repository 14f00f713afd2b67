"""Stock of a studio: which lot is meant, what is left, what runs out."""

from datetime import date

import pytest

from argentry import trade
from argentry.book.lots import add_lots, lots
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.plates.grades import grade_plate
from argentry.keeping.plates.plates import new_plates
from argentry.keeping.stock.lots import find_lot, list_stock, new_lot, stock_of, use_stock
from argentry.records.ids import new_id
from argentry.records.material import Lot

DAY = date(2026, 1, 2)


def lot(name, used=0.0, key=None):
    return Lot(key or new_id(), name, 10.0, "g", "", DAY, used)


def test_of_several_lots_of_a_name_the_one_with_something_left_is_meant():
    there = [lot("Iodine", used=10.0), lot("iodine", key="b"), lot("Rouge")]
    assert find_lot(there, " IODINE ").id == "b"
    assert find_lot(there, there[0].id) is there[0]


def test_an_empty_lot_may_be_put_right():
    there = [lot("Iodine", used=10.0)]
    assert find_lot(there, "Iodine") is there[0]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Iodine", "2 lots are named 'Iodine'; give one id: a .* or b .received 2026-01-02"),
        ("iod", "no lot is named 'iod'; did you mean 'Iodine'"),
        ("Rugue", "did you mean 'Rouge'"),
        ("", "see: argentry stock list"),
        ("xyz", "see: argentry stock list"),
    ],
)
def test_an_unknown_or_ambiguous_name_is_one_sentence_with_a_near_one(name, words):
    with pytest.raises(BadInput, match=words) as told:
        find_lot([lot("Iodine", key="a"), lot("Iodine", key="b"), lot("Rouge")], name)
    assert "\n" not in str(told.value)


def test_looks_as_far_ahead_as_a_usual_day(folder):
    new_lot(folder, "Rouge", 2.0, "g")  # 0.5 g a plate: four plates
    found = list_stock(folder)
    assert found.ahead == trade.value("stock", "plates_ahead")
    assert found.lots[0].runs_out
    labels = ["A1", "A2", "A3", "A4"]
    new_plates(folder, labels)
    for label in labels:
        grade_plate(folder, label, grade="good", day=DAY)
    found = list_stock(folder)
    assert found.ahead == 4
    assert found.lots[0].plates_left == pytest.approx(4.0, rel=1e-3)
    use_stock(folder, "rouge", 0.5)
    assert list_stock(folder).lots[0].runs_out


def test_what_is_used_up_is_named_unless_another_lot_is_there(folder):
    new_lot(folder, "Rouge", 2.0, "g")
    use_stock(folder, "Rouge", 2.0)
    found = list_stock(folder)
    assert (found.lots, found.used_up) == ((), ("rouge",))
    (empty,) = list_stock(folder, all_of_them=True).lots
    assert (empty.left, empty.runs_out, empty.expired) == (0.0, False, False)
    with studio_book(folder) as book:
        assert stock_of(book, folder).lots == ()
    new_lot(folder, "Rouge", 5.0, "g")  # the old one is used up: the name is free
    assert list_stock(folder).used_up == ()
    with pytest.raises(BadInput, match="tell them apart, for example"):
        new_lot(folder, " rouge", 5.0, "g")
    assert len(list_stock(folder).lots) == 1


def test_another_lot_of_the_same_material_is_named(folder):
    new_lot(folder, "Rouge", 1.0, "g")
    new_lot(folder, "Rouge, new", 9.0, "g")
    for other in ("Iodine", "Moon dust", "Star dust"):  # the last two are no material of the trade
        new_lot(folder, other, 9.0, "g")
    then = {one.name: one.then for one in list_stock(folder).lots}
    assert then.pop("Rouge") == ("Rouge, new",)
    assert then.pop("Rouge, new") == ("Rouge",)
    assert set(then.values()) == {()}


def test_a_known_material_in_a_unit_that_says_nothing_is_listed_without_plates(folder):
    new_lot(folder, "Iodine", 3.0, "box")
    (lot,) = list_stock(folder).lots
    assert (lot.key, lot.each, lot.plates_left) == ("iodine", 0.0, None)


def test_a_refused_lot_changes_nothing(folder):
    with pytest.raises(BadInput, match="is refused"):
        new_lot(folder, "Quickstuff", 5.0, "mL")
    with pytest.raises(BadInput, match="in the future"):
        new_lot(folder, "Iodine", 5.0, "g", received_on=date(2999, 1, 1))
    assert list_stock(folder, all_of_them=True).lots == ()


def test_the_dust_of_decimals_is_nothing_left(folder):
    new_lot(folder, "Rouge", 0.3, "g")
    for _ in range(3):
        use_stock(folder, "Rouge", 0.1)
    assert list_stock(folder).used_up == ("rouge",)


def test_a_mistake_is_put_right_and_both_words_are_kept(folder):
    new_lot(folder, "Rouge", 10.0, "g")
    use_stock(folder, "Rouge", 4.0, by="Ana", remark="scales wrong")
    assert use_stock(folder, "Rouge", -3.0).left == pytest.approx(9.0)
    with pytest.raises(BadInput, match="nothing is taken"):
        use_stock(folder, "Rouge", 0.0)
    with pytest.raises(BadInput, match="only 1 g were taken"):
        use_stock(folder, "Rouge", -1.5)
    with studio_book(folder) as book:
        assert lots(book)[0].used == pytest.approx(1.0)


def test_lots_of_an_older_hand_may_share_a_name(folder):
    with studio_book(folder) as book:
        add_lots(book, [lot("Iodine")])
        add_lots(book, [lot("Iodine")])
    with pytest.raises(BadInput, match="2 lots are named"):
        use_stock(folder, "Iodine", 1.0)
    first = list_stock(folder).lots[0].id
    assert use_stock(folder, first, 1.0).left == pytest.approx(9.0)


def test_two_lots_of_one_name_noted_at_the_same_time_are_told_apart(folder, monkeypatch):
    inner = []

    def looked(book):
        found = lots(book)
        if not inner:
            inner.append(True)
            new_lot(folder, "Rouge", 5.0, "g")
        return found

    monkeypatch.setattr("argentry.book.lots.lots", looked)
    with pytest.raises(BadInput, match="5 g of lot 'Rouge' are left"):
        new_lot(folder, "Rouge", 5.0, "g")
    assert len(list_stock(folder).lots) == 1
