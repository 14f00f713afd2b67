"""Our archives beside the Library of Congress's own reader and writer of bags, and RFC 8493.

Sources: RFC 8493, The BagIt File Packaging Format (V1.0), October 2018; the library ``bagit`` of
the Library of Congress (its validator and its writer), which is not part of argentry.
"""

import bagit
import pytest

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.plates import add_plate
from argentry.errors import BadInput
from argentry.exchange.archive.archive import export_book
from argentry.exchange.archive.bag import open_bag, seal_bag
from argentry.records.ids import new_id
from argentry.records.plate import Plate


@pytest.fixture
def exported(tmp_path):
    book = open_book(tmp_path)
    for i in range(5):
        add_plate(book, Plate(new_id(), f"Plate {i}, größer"))
    export_book(book, tmp_path / "bag")
    close_book(book)
    return tmp_path / "bag"


def test_their_validator_finds_our_archive_whole(exported):
    bag = bagit.Bag(str(exported))
    bag.validate()
    assert bag.version_info == (1, 0)
    assert bag.info["Argentry-Archive-Form"] == "3"
    assert list(bag.missing_optional_tagfiles()) == []


def test_their_validator_and_ours_find_the_same_damage(exported):
    path = exported / "data" / "records" / "plate.jsonl"
    path.write_bytes(path.read_bytes().replace(b"Plate 3", b"Plate 4"))
    assert not bagit.Bag(str(exported)).is_valid()
    with pytest.raises(BadInput, match=r"plate\.jsonl' was changed or damaged"):
        open_bag(exported)


def test_we_read_a_bag_that_they_wrote(tmp_path):
    (tmp_path / "theirs").mkdir()
    (tmp_path / "theirs" / "100% of it.txt").write_text("a")
    bagit.make_bag(str(tmp_path / "theirs"), {"Label": "value"}, checksums=["sha256"])
    opened = open_bag(tmp_path / "theirs")
    assert list(opened.files) == ["data/100% of it.txt"]
    assert opened.info["Label"] == "value"


def test_the_rfcs_own_example_of_a_payload_size(tmp_path):
    # RFC 8493 section 2.2.2: Payload-Oxum is OctetCount.StreamCount
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "a").write_bytes(bytes(1000))
    (tmp_path / "data" / "b").write_bytes(bytes(234))
    seal_bag(tmp_path, [])
    assert "Payload-Oxum: 1234.2\n" in (tmp_path / "bag-info.txt").read_text()


def test_the_declaration_is_the_rfcs(tmp_path):
    # RFC 8493 section 2.1.1: exactly these two lines, in this order, in UTF-8
    (tmp_path / "data").mkdir()
    seal_bag(tmp_path, [])
    want = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    assert (tmp_path / "bagit.txt").read_bytes() == want
