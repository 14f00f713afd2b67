"""What was read out of pictures, on each store: the last word counts, old ones stay."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from argentry.book.makings import what_teaches
from argentry.book.pictures.judged import add_judged, confirm, confirmed, judged
from argentry.book.pictures.kept import MOST_BYTES, add_picture, picture_content
from argentry.book.plates import add_plate
from argentry.desk.numbers.making_facts import with_strips
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import Judged, Making, Plate

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
STRIPS = {"line": "", "strips": [{"stops": -1.0, "verdict": "under"}]}


def kept(book, label, content):
    plate = Plate(new_id(), label)
    add_plate(book, plate)
    picture = add_picture(book, plate.id, "wedge", NOON, b"\x89PNG\r\n\x1a\n" + content)
    return Judged(picture.sha256, plate.id, "wedge", NOON, "1", STRIPS)


def test_the_last_word_on_each_picture_counts_and_may_be_taken_back(book):
    first, second = kept(book, "W-1", b"one"), kept(book, "W-2", b"one")
    assert first.picture == second.picture  # the same picture of two plates is two readings
    add_judged(book, first)
    add_judged(book, second)
    assert confirmed(book, "wedge") == []
    mark = what_teaches(book)
    confirm(book, second.plate, second.picture, "wedge", NOON)
    assert what_teaches(book) != mark
    (one,) = confirmed(book, "wedge")
    assert (one.plate, one.confirmed_at) == (second.plate, NOON)
    assert judged(book, first.plate)[0].confirmed_at is None
    confirm(book, second.plate, second.picture, "wedge", None)
    assert confirmed(book, "wedge") == []
    # a newer program reads it again: the word on the old answer does not go over to the new one
    confirm(book, second.plate, second.picture, "wedge", NOON)
    add_judged(book, replace(second, version="2"))
    assert confirmed(book, "wedge") == []
    assert confirmed(book, "coat") == []


def test_what_was_never_read_cannot_be_confirmed(book):
    one = kept(book, "W-1", b"one")
    with pytest.raises(BadInput, match="nothing was read out"):
        confirm(book, one.plate, one.picture, "wedge", NOON)
    with pytest.raises(BadInput, match="not known"):
        add_judged(book, replace(one, kind="moon"))
    other = kept(book, "W-2", b"two")  # a picture of another plate is not kept with this one
    with pytest.raises(BadInput, match="keep it with the plate first"):
        add_judged(book, replace(one, picture=other.picture))


def test_a_wedge_belongs_to_the_newest_making_of_its_day():
    def making(key, day):
        return Making(key, "p", None, "s", 1, day)

    old, new = making("a", date(2026, 6, 1)), making("b", date(2026, 6, 20))
    later, other = making("c", date(2026, 8, 1)), replace(making("d", date(2026, 6, 20)), plate="q")
    word = Judged("x" * 64, "p", "wedge", NOON, "1", STRIPS, confirmed_at=NOON)
    told = {one.id: one.strips for one in with_strips([old, new, later, other], [word])}
    assert told == {"a": (), "b": ((-1.0, "under"),), "c": (), "d": ()}
    odd = {"strips": [None, {"stops": "x", "verdict": "right"}, {"stops": 1, "verdict": "moon"},
                      {"stops": 2, "verdict": "over"}]}  # fmt: skip
    assert with_strips([new], [replace(word, answer=odd)])[0].strips == ((2.0, "over"),)
    assert with_strips([new], [replace(word, answer={})])[0].strips == ()
    early = replace(word, confirmed_at=NOON - timedelta(days=60))
    assert all(not one.strips for one in with_strips([old, new, later, other], [early]))


def test_a_picture_that_is_not_there_is_not_called_too_large(tmp_path):
    with pytest.raises(BadInput) as no:
        picture_content(tmp_path / "none.jpg")
    assert "there is no" in str(no.value)
    large = tmp_path / "large.jpg"
    with large.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(BadInput, match="100 MB"):
        picture_content(large)
