"""The studio file on a page: checked like the command, saved whole, its old versions kept."""

from __future__ import annotations

import os

import pytest

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.desk.house import open_house
from argentry.desk.pages.studio_file import mark_of, mistakes_in, save, studio_file, version_text
from argentry.errors import BadInput
from argentry.keeping.studio import check_studio, new_studio


@pytest.fixture
def house(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    yield open_house(folder, book)
    close_book(book)


def text_of(house):
    return (house.studio_dir / "studio.toml").read_text(encoding="utf-8")


def test_it_is_saved_the_old_one_kept_and_the_open_studio_follows(house):
    file = house.studio_dir / "studio.toml"
    first = text_of(house)
    os.utime(file, (1_780_000_000, 1_780_000_000))
    second = first.replace('name = "Yard"', 'name = "Garden"').replace(
        'start = "08:00"', 'start = "09:30"'
    )
    assert second != first
    assert save(house, second, mark_of(first)) == ()
    assert text_of(house) == second
    assert house.studio.name == house.live.now.studio.name == "Garden"
    shown = studio_file(house)
    [version] = shown.versions
    assert version.written == "2026-05-28 22:26"
    assert version_text(house, version.name) == first
    assert (shown.text, shown.mistakes) == (second, ())
    assert save(house, first, shown.was) == ()  # restored; what it took the place of is kept too
    assert house.studio.name == "Yard"
    assert [version_text(house, one.name) for one in studio_file(house).versions] == [second, first]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('start = "08:00"', 'start = "8 o\'clock"'), ("latitude_deg = ", "latitude_deg = 9"),
        ("[site]", "[sight]"), ("[site]", "[site"),
    ],
)  # fmt: skip
def test_a_mistake_is_the_commands_sentence_and_nothing_is_saved(house, old, new):
    first = text_of(house)
    wrong = first.replace(old, new, 1)
    assert wrong != first
    found = save(house, wrong, mark_of(first))
    assert text_of(house) == first
    assert house.studio.name == "Yard"
    (house.studio_dir / "studio.toml").write_text(wrong, encoding="utf-8")
    told = tuple(one.sentence for one in check_studio(house.studio_dir).mistakes)
    assert found
    assert [one.split(": ", 1)[1] for one in found] == [one.split(": ", 1)[1] for one in told]
    assert mistakes_in(house.studio_dir, wrong) == found


def test_a_change_made_elsewhere_meanwhile_is_not_lost(house):
    first = text_of(house)
    other = first.replace('"Yard"', '"Elsewhere"')
    (house.studio_dir / "studio.toml").write_text(other, encoding="utf-8")
    with pytest.raises(BadInput, match="has changed since this page was opened"):
        save(house, first.replace('"Yard"', '"Garden"'), mark_of(first))
    assert text_of(house) == other


@pytest.mark.parametrize("name", ["../studio.toml", "20260101T000000000000.toml", ""])
def test_only_a_version_of_the_list_is_shown(house, name):
    with pytest.raises(BadInput, match="there is no version"):
        version_text(house, name)
