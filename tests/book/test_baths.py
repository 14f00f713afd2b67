"""Baths, lots and pictures, on both stores."""

import hashlib
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from tests.edges import is_taken_within

from argentry.book import baths, lots
from argentry.book.care.doctor import check
from argentry.book.pictures import kept as pictures
from argentry.book.plates import add_plate
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.material import Bath, Lot
from argentry.records.plate import Plate

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
PNG = b"\x89PNG\r\n\x1a\n" + bytes(100)


def fixer(**more):
    return Bath(new_id(), "Fixer 3", "fixer", NOON, 500.0, **more)


def iodine(**more):
    return Lot(new_id(), "Iodine", 100.0, "g", "Shop", date(2026, 1, 3), **more)


def test_a_bath_counts_what_goes_through_it(book):
    bath = fixer()
    baths.add_bath(book, bath)
    assert baths.baths(book) == [bath]
    baths.use_bath(book, bath.id, 2, 180.0, "M", NOON)
    baths.use_bath(book, bath.id, 1, 90.0)
    baths.use_bath(book, bath.id, -1, -90.0)
    (now,) = baths.baths(book)
    assert (now.plates_through, now.area_cm2_through) == (2, 180.0)
    with pytest.raises(BadInput, match="less than nothing would remain"):
        baths.use_bath(book, bath.id, -3, 0.0)
    baths.discard_bath(book, bath.id, NOON + timedelta(days=3))
    (now,) = baths.baths(book)
    assert now.discarded_at == NOON + timedelta(days=3)
    assert baths.baths(book, all_of_them=False) == []
    with pytest.raises(BadInput, match="discarded before"):
        baths.discard_bath(book, bath.id)


def test_a_bath_may_come_with_a_past(book):
    bath = fixer(plates_through=4, area_cm2_through=360.0, discarded_at=NOON)
    baths.add_bath(book, bath)
    assert baths.baths(book) == [bath]
    with pytest.raises(BadInput, match="already"):
        baths.add_bath(book, bath)


def test_a_lot_counts_what_is_taken(book):
    lot = iodine(used=10.0)
    lots.add_lots(book, [lot])
    assert lots.lots(book) == [lot]
    assert lots.use_lot(book, lot.id, 0.5, "M", NOON, "box 2") == pytest.approx(89.5)
    assert lots.use_lot(book, lot.id, -0.5) == pytest.approx(90.0)
    with pytest.raises(BadInput, match=r"lot Iodine: 90\.1 g cannot be taken; 90 g are left"):
        lots.use_lot(book, lot.id, 90.1)
    with pytest.raises(BadInput, match="lot Iodine: 11 g cannot be put back; only 10 g were taken"):
        lots.use_lot(book, lot.id, -11.0)
    assert lots.use_lot(book, lot.id, 90.0) == 0.0
    assert lots.lots(book) == [replace(lot, used=pytest.approx(100.0))]


@pytest.mark.parametrize(
    "call",
    [
        lambda b: baths.add_bath(b, replace(fixer(), volume_ml=0.0)),
        lambda b: baths.add_bath(b, replace(fixer(), volume_ml=float("nan"))),
        lambda b: baths.add_bath(b, replace(fixer(), name="\0")),
        lambda b: baths.use_bath(b, "nobody", 1, 1.0),
        lambda b: baths.discard_bath(b, "nobody"),
        lambda b: lots.add_lots(b, [replace(iodine(), amount=-1.0)]),
        lambda b: lots.add_lots(b, [replace(iodine(), used=101.0)]),
        lambda b: lots.use_lot(b, "nobody", 1.0),
        lambda b: lots.use_lot(b, "nobody", float("inf")),
    ],
)
def test_bad_numbers_and_strangers_are_refused(book, call):
    with pytest.raises(BadInput):
        call(book)
    assert baths.baths(book) == []
    assert lots.lots(book) == []


@pytest.fixture
def plate(book):
    made = Plate(new_id(), "A 1")
    add_plate(book, made)
    return made


def test_a_picture_is_kept_by_its_content(book, plate):
    made = pictures.add_picture(book, plate.id, "coat", NOON, PNG)
    assert made.sha256 == hashlib.sha256(PNG).hexdigest()
    assert (made.media_type, made.bytes) == ("image/png", len(PNG))
    assert pictures.picture_file(book, made.sha256).read_bytes() == PNG
    again = pictures.add_picture(book, plate.id, "coat", NOON, PNG)
    assert again == made
    assert pictures.pictures(book) == pictures.pictures(book, plate.id) == [made]
    assert [path.name for path in (book.folder / "pictures").iterdir()] == [made.sha256]
    assert check(book) == []


def test_a_lost_or_damaged_picture_is_found(book, plate):
    made = pictures.add_picture(book, plate.id, "coat", NOON, PNG)
    file = pictures.picture_file(book, made.sha256)
    file.write_bytes(PNG[:-1] + b"x")
    assert check(book) == [f"the picture {made.sha256} is damaged."]
    file.unlink()
    assert check(book) == [f"the picture {made.sha256} is missing."]


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "0" * 64, "/" + "0" * 63, "", "0" * 63 + "\0"]
)
def test_no_name_leads_out_of_the_folder(book, name):
    with pytest.raises(BadInput):
        pictures.picture_file(book, name)


def test_what_is_no_picture_is_refused(book, plate):
    with pytest.raises(BadInput, match="not a JPEG"):
        pictures.add_picture(book, plate.id, "coat", NOON, b"<svg onload=1>")
    with pytest.raises(BadInput, match="not in the book"):
        pictures.add_picture(book, "nobody", "coat", NOON, PNG)
    assert not (book.folder / "pictures").exists()


def test_numbers_of_baths_and_lots_go_so_far(book):
    is_taken_within(
        lambda x: baths.add_bath(book, replace(fixer(), volume_ml=x)), 0.0, 1e6, open_low=True
    )
    is_taken_within(
        lambda x: lots.add_lots(book, [replace(iodine(), amount=x)]), 0.0, 1e9, open_low=True
    )
    is_taken_within(lambda x: lots.add_lots(book, [iodine(used=x)]), 0.0, 100.0)
    bath = fixer()
    baths.add_bath(book, bath)
    baths.use_bath(book, bath.id, 10**9, 1e9)
    for plates_, area in ((10**9 + 1, 0.0), (-(10**9) - 1, 0.0), (0, 1.1e9), (0, -1.1e9)):
        with pytest.raises(BadInput, match=f"bath {bath.id} (plates|area)"):
            baths.use_bath(book, bath.id, plates_, area)


def test_what_was_used_on_some_days_is_of_those_days(book):
    bath, lot = fixer(), iodine()
    baths.add_bath(book, bath)
    lots.add_lots(book, [lot])
    midnight = datetime(2026, 6, 21, tzinfo=UTC)
    for n, after in enumerate((-1e-6, 0.0, 86_399.0, 86_400.0)):  # seconds
        at = midnight + timedelta(seconds=after)
        baths.use_bath(book, bath.id, 10**n, 100.0 * 10**n, at=at)
        lots.use_lot(book, lot.id, 0.01 * 10**n, at=at)
    day, next_day = midnight.date(), midnight.date() + timedelta(days=1)
    assert baths.bath_uses(book, day, day) == {bath.id: (110, pytest.approx(11_000.0))}
    assert baths.bath_uses(book, day, next_day) == {bath.id: (1110, pytest.approx(111_000.0))}
    assert lots.lot_uses(book, day, day) == {lot.id: pytest.approx(1.1)}
    assert lots.lot_uses(book, next_day, next_day) == {lot.id: pytest.approx(10.0)}


def test_what_was_taken_until_a_lot_was_last_weighed(book):
    """A weighing that was taken back is none; what is taken after the last is not counted."""
    first, other, unweighed = (iodine() for _ in range(3))
    for lot in (first, other, unweighed):
        lots.add_lots(book, [lot])

    def use(lot, amount, remark="", days=0):
        lots.use_lot(book, lot.id, amount, at=NOON + timedelta(days=days), remark=remark)

    use(first, 1.0)
    use(other, 2.0)
    use(first, 4.0, "weighed", 1)
    use(other, 8.0)
    assert lots.last_use(book, other.id) == (8.0, NOON, "")
    use(other, 16.0, "weighed", 2)
    use(other, -16.0, "taken back", 3)
    use(unweighed, 32.0)
    assert lots.last_use(book, iodine().id) is None
    groups = [[first.id, other.id], [other.id], [unweighed.id], [first.id]]
    told = lots.used_until(book, groups, "weighed")
    day = (NOON + timedelta(days=1)).date()
    assert told == [({first.id: 5.0, other.id: 2.0}, day), None, None, ({first.id: 5.0}, day)]
    east = ZoneInfo("Pacific/Auckland")  # noon at Greenwich is the next day there
    assert lots.used_until(book, [[first.id]], "weighed", east)[0][1] == day + timedelta(days=1)
