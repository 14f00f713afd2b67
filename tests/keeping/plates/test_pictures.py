"""Pictures come into the book untouched; what is shown of them is made again."""

import io
import os
from datetime import UTC, datetime, timedelta

import pytest
from PIL import Image
from tests.book import hostile_pictures as hostile

from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures import reading as picture_reading
from argentry.book.pictures.kept import clean_name, keep_file, picture_content, pictures
from argentry.book.plates import add_plate
from argentry.errors import ArgentryError, BadInput
from argentry.keeping.book_transfer import export_archive
from argentry.keeping.plates import pictures as desk
from argentry.keeping.studio import new_studio
from argentry.records.ids import new_id
from argentry.records.plate import Plate

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
TELLING = hostile.saved(hostile.plain(), "JPEG", exif=hostile.exif(6, place=True, owner="Invented"))


@pytest.fixture
def folder(tmp_path):
    new_studio(tmp_path / "studio", {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    return tmp_path / "studio"


@pytest.fixture
def book(folder):
    opened = open_book(folder)
    add_plate(opened, Plate(new_id(), "P-1"))
    yield opened
    close_book(opened)


def keep(book, content, now=NOON, **more):
    came = desk.place_for(book)
    try:
        for start in range(0, len(content), 1000):
            came.write(content[start : start + 1000])
        return desk.keep_picture(book, came, "P-1", now, **more)
    finally:
        came.drop()


def test_a_picture_is_kept_as_it_came_with_what_it_says(book, folder):
    made = keep(book, TELLING, kind="coat", named="C:\\me\\IMG\x1b[2J 1.jpg", said={"light": "led"})
    one = made.picture
    assert (one.width_px, one.height_px, one.media_type) == (200, 300, "image/jpeg")
    assert (one.taken_at, one.taken_from) == (datetime(2026, 6, 1, 8, tzinfo=UTC), "file")
    assert (one.carries, one.said, one.kind) == ("place and names", {"light": "led"}, "coat")
    assert one.named == "IMG[2J 1.jpg"
    assert pictures(book) == [one]
    assert (folder / "pictures" / one.sha256).read_bytes() == TELLING
    assert [file.name for file in (folder / "pictures").iterdir()] == [one.sha256]
    assert check(book) == []
    again = keep(book, TELLING, NOON + timedelta(days=1), kind="plate")
    assert again.known
    assert again.picture == one
    assert not made.known
    made = export_archive(folder, folder.parent / "out")
    assert (made.pictures_that_tell, made.pictures_not_looked_into) == (1, 0)


@pytest.mark.parametrize("when", [NOON, datetime(2026, 5, 30, 6, tzinfo=UTC)])
def test_a_time_without_zone_or_from_tomorrow_is_not_believed(book, when):
    own = hostile.exif()
    if when == NOON:
        del own[0x8769][0x9011]
    one = keep(book, hostile.saved(hostile.plain(), "JPEG", exif=own), when).picture
    assert (one.taken_at, one.taken_from, one.carries) == (when, "upload", "")


def test_a_raw_file_is_kept_and_looked_into_but_not_shown(book, folder):
    one = keep(book, hostile.dng()).picture
    assert (one.media_type, one.width_px, one.carries) == ("image/x-adobe-dng", 300, "")
    with pytest.raises(BadInput, match="kept but not read; send a JPEG"):
        desk.shown_picture(book, folder, one.sha256, 320)


@pytest.mark.parametrize("why", ["library", "heic"])
def test_a_machine_that_cannot_read_pictures_keeps_them(book, why, monkeypatch):
    def cannot(*_):
        raise picture_reading.UnfitPicture(why, [])

    monkeypatch.setattr(desk, "read_picture", cannot)
    one = keep(book, TELLING).picture
    assert (one.width_px, one.carries, one.taken_at) == (None, None, NOON)


def test_what_is_no_picture_leaves_nothing_behind(book, folder):
    for content, said in (
        (b"<svg onload=1>", "not a JPEG, PNG, TIFF, HEIC or DNG"),
        (TELLING[:700], "damaged, cut short or packed"),
        (hostile.HOSTILE["one pixel"][0], "it has 1 x 1 pixels"),
    ):
        with pytest.raises(BadInput, match=said):
            keep(book, content)
    with pytest.raises(BadInput, match="'cat' is not a kind"):
        keep(book, TELLING, kind="cat")
    assert list((folder / "pictures").iterdir()) == []
    assert pictures(book) == []
    came = desk.place_for(book, 5)
    came.write(b"12345")
    with pytest.raises(BadInput, match="it is larger than 0 MB; save it smaller"):
        came.write(b"6")
    came.drop()
    assert not came.half.exists()


def test_a_full_disk_is_one_sentence(book):
    came = desk.place_for(book)
    came.half.unlink()
    came.half.mkdir()  # nothing can be written there
    with pytest.raises(ArgentryError, match="cannot be kept"):
        came.write(b"x")


def test_a_file_and_its_name_are_on_the_disk_when_it_is_kept(tmp_path, monkeypatch):
    """The folder is synced too, else a power cut may leave a file without its name."""
    synced, sync = [], os.fsync
    monkeypatch.setattr(os, "fsync", lambda at: (synced.append(os.fstat(at).st_ino), sync(at)))
    kept = tmp_path / "kept"
    for text, again in ((b"one", False), (b"two", True), (b"six", False)):
        keep_file(kept, "name", text, again=again)
    assert (kept / "name").read_bytes() == b"two"
    assert synced[1::2] == [kept.stat().st_ino] * 2
    assert synced[2] == (kept / "name").stat().st_ino


def test_what_is_shown_is_made_again_and_carries_nothing(book, folder):
    one = keep(book, TELLING).picture
    first = desk.shown_picture(book, folder, one.sha256, 320)
    shown = Image.open(io.BytesIO(first))
    assert shown.size == (200, 300)
    assert not shown.getexif()
    assert b"Invented" in TELLING
    assert b"Invented" not in first
    cache = folder / desk.CACHE / f"{one.sha256}-320.jpg"
    assert cache.read_bytes() == first
    cache.write_bytes(b"kept")  # it is not made twice
    assert desk.shown_picture(book, folder, one.sha256, 320) == b"kept"
    cache.unlink()
    assert desk.shown_picture(book, folder, one.sha256, 320) == first
    for sha256, size in (("../../x", 320), (one.sha256, 5000), ("0" * 64, 320)):
        with pytest.raises(BadInput):
            desk.shown_picture(book, folder, sha256, size)


@pytest.mark.parametrize(
    ("name", "clean"),
    [
        ("/etc/passwd", "passwd"),
        ("a\\b\\..\\c.jpg", "c.jpg"),
        ("x\n\x1b]0;y\x07.png", "x]0;y.png"),
        ("\u202egpj.exe", "gpj.exe"),
        ("ä" * 300, "ä" * 120),
        ("", ""),
    ],
)
def test_a_name_is_data(name, clean):
    assert clean_name(name) == clean


def test_a_file_that_is_too_long_is_told_so_as_a_picture(tmp_path):
    file = tmp_path / "long.jpg"
    with file.open("wb") as out:
        out.truncate(100_000_001)
    with pytest.raises(BadInput, match=r"long\.jpg: it is larger than 100 MB; save it smaller"):
        picture_content(file)
